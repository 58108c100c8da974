import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  ENTRY_KINDS,
  FULL_BUCKET_KG,
  figureWords,
  isLate,
  KINDS,
  type LogRow,
  standingOf,
  TOPIC_WORDS,
  TOPICS,
} from '../../server/safety/log.ts';

const row = (number: number, kind: LogRow['kind'], more: Partial<LogRow> = {}): LogRow => ({
  number,
  kind,
  owner: null,
  dueOn: null,
  payload: {},
  ...more,
});
const followUp = (number: number, owner = 'Wren', dueOn = '2026-03-09') =>
  row(number, 'follow-up', { owner, dueOn });
const strike = (number: number) => row(number, 'amendment', { payload: { strikes: true } });
const spill = { kind: 'spill', payload: {} } as const;
const filter = { kind: 'ventilation', payload: { outcome: 'in-order' } } as const;

describe('the kinds of entry', () => {
  it('are all described, and what is about a body is never open to all', () => {
    for (const kind of ENTRY_KINDS) expect(KINDS[kind].words).not.toBe('');
    const always = ENTRY_KINDS.filter((kind) => KINDS[kind].restricted === 'always');
    expect(always).toEqual(['exposure', 'first-aid', 'respirator-fit']);
  });

  it('what anybody may have to write at once is written by everybody', () => {
    const everyone = ENTRY_KINDS.filter((kind) => KINDS[kind].everyone);
    expect(everyone).toEqual(['incident', 'near-miss', 'exposure', 'spill', 'first-aid', 'wet-cleaning']);
  });

  it('every everyday caution says what helps', () => {
    for (const topic of TOPICS) expect(TOPIC_WORDS[topic].advice).toMatch(/\.$/);
  });

  it('a full bucket is its slurry and itself', () => {
    // common practice, no source: 25 L at 1.45 kg/L in a bucket of about a kilogram
    expect(Math.round(25 * 1.45 + 1)).toBe(FULL_BUCKET_KG);
  });
});

describe('how an entry stands', () => {
  it('trouble is open, a check in order is only noted, one that found something is open', () => {
    expect(standingOf(spill, []).state).toBe('open');
    expect(standingOf(filter, []).state).toBe('noted');
    expect(standingOf({ ...filter, payload: { outcome: 'needs-work' } }, []).state).toBe('open');
  });

  it('a follow-up gives it an owner and a day, a closing ends that, a later follow-up opens it again', () => {
    const taken = standingOf(spill, [followUp(2)]);
    expect(taken).toEqual({ state: 'to-do', owner: 'Wren', dueOn: '2026-03-09' });
    expect(standingOf(spill, [followUp(2), row(3, 'closing')])).toEqual({
      state: 'closed',
      owner: null,
      dueOn: null,
    });
    const again = standingOf(spill, [followUp(2), row(3, 'closing'), followUp(4, 'Maro', '2026-04-01')]);
    expect(again).toEqual({ state: 'to-do', owner: 'Maro', dueOn: '2026-04-01' });
  });

  it('words that put it right change nothing of how it stands', () => {
    expect(standingOf(spill, [row(2, 'amendment')]).state).toBe('open');
    expect(standingOf(spill, [row(2, 'closing'), row(3, 'amendment')]).state).toBe('closed');
  });

  it('is late from the day after its day', () => {
    const taken = standingOf(spill, [followUp(2)]);
    expect(isLate(taken, '2026-03-09')).toBe(false);
    expect(isLate(taken, '2026-03-10')).toBe(true);
    expect(isLate(standingOf(spill, [followUp(2), row(3, 'closing')]), '2026-03-10')).toBe(false);
  });

  const anyLater = fc.array(
    fc.constantFrom<(n: number) => LogRow>(
      (n) => followUp(n),
      (n) => row(n, 'closing'),
      (n) => row(n, 'amendment'),
      strike,
    ),
    { maxLength: 12 },
  );

  it('does not depend on the order in which the rows come', () => {
    fc.assert(
      fc.property(anyLater, fc.nat(), (makers, seed) => {
        const rows = makers.map((make, i) => make(i + 2));
        const turned = rows.map((_, i) => rows[(i + seed) % rows.length] as LogRow);
        expect(standingOf(spill, turned)).toEqual(standingOf(spill, rows));
        expect(standingOf(spill, rows.toReversed())).toEqual(standingOf(spill, rows));
      }),
    );
  });

  it('what is struck out stays so, whatever is written later', () => {
    fc.assert(
      fc.property(anyLater, anyLater, (before, after) => {
        const rows = [...before, strike, ...after].map((make, i) => make(i + 2));
        expect(standingOf(spill, rows).state).toBe('struck');
      }),
    );
  });
});

describe('figures in words', () => {
  it('a measurement says what, how much, over how long and how', () => {
    const measured = {
      substance: 'respirable crystalline silica',
      value: 0.012,
      unit: 'mg/m³',
      below: true,
      method: 'pump and filter',
      minutes: 240,
    };
    expect(figureWords({ measured })).toBe(
      'less than 0.012 mg/m³ of respirable crystalline silica over 240 min, by pump and filter',
    );
  });

  it('a check without a figure says its result, waste how it left', () => {
    expect(figureWords({ outcome: 'needs-work' })).toBe('Needs work');
    expect(figureWords({ waste: { quantity: 12, unit: 'kg', way: 'collected', reference: 'M-4711' } })).toBe(
      '12 kg. Collected by a waste contractor, M-4711',
    );
    expect(figureWords({})).toBe('');
  });
});
