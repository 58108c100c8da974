import { render } from 'preact-render-to-string';
import { describe, expect, it } from 'vitest';
import { label } from '../../server/materials/hazards.ts';
import { GHS_SIZES, GhsLabel } from '../../views/safety/ghs-label.tsx';
import { PICTOGRAM_WORDS, Pictogram, Pictograms } from '../../views/safety/pictogram.tsx';

const CODES = Object.keys(PICTOGRAM_WORDS);
const html = (code: string, more: object = {}) => render(<Pictogram code={code} {...more} />);

describe('a pictogram', () => {
  it('of each of the nine has a name, a red frame on its point and no style of its own', () => {
    expect(CODES).toHaveLength(9);
    for (const code of CODES) {
      const out = html(code);
      expect(out).toMatch(/role="img" aria-label="[A-Z][a-z ]+"/);
      expect(out).toContain('<path class="ghs-frame" d="M50 3.5L96.5 50 50 96.5 3.5 50z"');
      expect(out).not.toContain('style=');
    }
    expect(new Set(CODES.map((code) => html(code))).size).toBe(9);
  });

  it('is hidden from a reader that has the words beside it', () =>
    expect(html('GHS07', { named: false })).toContain('aria-hidden="true"'));

  it('stands on its point: a side of 23 mm is 32.5 mm across', () =>
    expect(html('GHS07', { sideMm: 23 })).toContain('width="32.5mm" height="32.5mm"'));

  it('of no known code is nothing', () => {
    expect(html('GHS10')).toBe('');
    expect(html('toString')).toBe('');
    expect(render(<Pictograms codes={[]} />)).toBe('');
  });
});

// Regulation (EC) 1272/2008, Annex I, table 1.3, and that a pictogram covers a fifteenth of its label.
describe('the size of a label', () => {
  it.each([
    ['label', 74, 105, 23],
    ['a5', 148, 210, 46],
  ] as const)('%s: %i × %i mm with pictograms of %i mm', (size, short, long, side) => {
    const { widthMm, heightMm, pictogramMm } = GHS_SIZES[size];
    expect([Math.min(widthMm, heightMm), Math.max(widthMm, heightMm), pictogramMm]).toEqual([
      short,
      long,
      side,
    ]);
    expect(side ** 2).toBeGreaterThanOrEqual((short * long) / 15);
  });

  it('a wall sheet of A4 has pictograms as large as the largest label asks for', () =>
    expect(GHS_SIZES.a4.pictogramMm).toBe(46));
});

it('a label carries all that the layout asks for', () => {
  const of = label([
    { hazardClass: 'STOT RE 2', hCode: 'H373' },
    { hazardClass: 'Aquatic Chronic 1', hCode: 'H410' },
  ]);
  const out = render(
    <GhsLabel
      size="label"
      product="Harbour Grey HG"
      signalWord={of.signalWord}
      pictograms={of.pictograms}
      hStatements={[{ code: 'H373', text: 'May cause damage to organs' }]}
      pStatements={[{ code: 'P260', text: 'Do not breathe dust' }]}
      supplemental={['Not tested: not for food.']}
      responsible="Millrace Clay Commons"
      address="http://glaze.millrace.example/buckets/HG"
    />,
  );
  for (const part of [
    'Harbour Grey HG',
    'Warning',
    'aria-label="Health hazard"',
    'aria-label="Environment"',
    '<b>H373</b> May cause damage to organs',
    '<b>P260</b> Do not breathe dust',
    'Not tested: not for food.',
    'Millrace Clay Commons, glaze.millrace.example/buckets/HG',
    'aria-label="QR code of',
  ])
    expect(out).toContain(part);
  expect(out).not.toContain('style=');
});
