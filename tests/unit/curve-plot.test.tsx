import { render } from 'preact-render-to-string';
import { describe, expect, it, test } from 'vitest';
import { plan } from '../../server/kilns/schedule.ts';
import { CurvePlot } from '../../views/kilns/curve-plot.tsx';

const measured = [0, 300, 580, 1000, 1222, 560, 90].map((c, i) => ({ atS: i * 7200, c: Math.max(c, 20) }));
const planned = plan([{ rateCPerH: 150, toC: 1222, holdMin: 15 }]).points;
const html = (more: object = {}) =>
  render(<CurvePlot measured={[{ label: 'Measured', points: measured }]} planned={planned} {...more} />);
const path = (out: string, look: string) => new RegExp(`class="${look}" d="([^"]+)"`).exec(out)?.[1] ?? '';
const numbers = (d: string) =>
  Array.from(d.matchAll(/[ML]([\d.-]+) ([\d.-]+)/g), ([, x, y]) => [Number(x), Number(y)]);

describe('the plot of a firing', () => {
  it('says in words what it shows', () => {
    expect(/aria-label="([^"]+)"/.exec(html())?.[1]).toBe(
      'Temperature of the firing over time. Measured: highest 1222 °C after 8 h, last 90 °C after 12 h. ' +
        'Schedule: 1222 °C after 8 h 1 min.',
    );
  });

  it('draws hotter higher and later further right, all of it inside', () => {
    const points = numbers(path(html(), 'line'));
    expect(points).toHaveLength(measured.length);
    for (const [i, [x = -1, y = -1]] of points.entries()) {
      expect(x).toBeCloseTo((100 * i) / 6, 1);
      expect(y).toBeGreaterThanOrEqual(1);
      expect(y).toBeLessThanOrEqual(15.2);
    }
    expect(Math.min(...points.map(([, y]) => y as number))).toBe(points[4]?.[1]);
  });

  it('joins readings typed by hand only where they are close, and marks each of them', () => {
    const points = [0, 30, 75, 121, 3000].map((minutes, i) => ({ atS: minutes * 60, c: 100 * i }));
    const typed = { measured: [{ label: 'Typed by hand', isByHand: true, points }] };
    const commands = (d: string) => d.replace(/[^A-Za-z]/g, '');
    expect(commands(path(html(typed), 'line'))).toBe('MLLMM');
    expect(commands(path(html(typed), 'typed'))).toBe('MhMhMhMhMh');
    const logged = html({ measured: [{ label: 'Log', points }] });
    expect(commands(path(logged, 'line'))).toBe('MLLLL');
    expect(path(logged, 'typed')).toBe('');
  });

  it('marks 573 °C, names the axes and keys both lines by their pattern', () => {
    const out = html();
    expect(out).toContain('quartz 573 °C');
    expect(out).toContain('°C over hours since the start');
    expect(path(out, 'plan')).not.toBe('');
    expect(out).toContain('Schedule');
  });

  it('breaks the line at a gap', () => {
    const out = html({ gaps: [{ fromS: 14_000, toS: 21_700 }] });
    expect(path(out, 'line').match(/M/g)).toHaveLength(1);
    const edge = html({ gaps: [{ fromS: 14_400, toS: 21_600 }] });
    expect(path(edge, 'line').match(/M/g)).toHaveLength(2);
    expect(edge).toContain('One gap in the log');
  });

  it('shows two places in the kiln, and only the schedule before there is a reading', () => {
    const two = html({ measured: ['Top', 'Bottom'].map((label) => ({ label, points: measured })) });
    expect(path(two, 'line second')).not.toBe('');
    expect(two).toContain('Bottom');
    expect(path(html({ measured: [{ label: 'Measured', points: [] }] }), 'plan')).not.toBe('');
  });

  it('without anything says so instead of an empty plot', () => {
    const out = html({ measured: [], planned: [] });
    expect(out).toContain('No readings yet');
    expect(out).not.toContain('<svg');
  });

  test.each([0, 1, 1800, 3600 * 14, 3600 * 72, 3600 * 24 * 30])(
    'a log of %i s has few figures under it',
    (atS) => {
      const out = html({
        planned: [],
        measured: [
          {
            label: 'Measured',
            points: [
              { atS: 0, c: 20 },
              { atS, c: 25 },
            ],
          },
        ],
      });
      expect(out.match(/y="16.9em"/g)?.length).toBeLessThanOrEqual(7);
      expect(out).not.toContain('NaN');
    },
  );

  it('has no style attribute and escapes labels', () => {
    const out = html({ measured: [{ label: '<b>"', points: measured }] });
    expect(out).not.toContain('style=');
    expect(out).not.toContain('<b>');
  });
});
