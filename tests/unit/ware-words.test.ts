import { describe, expect, it } from 'vitest';
import { DAY } from '../../server/core/clock.ts';
import { conflictsAmong } from '../../server/ware/conflicts.ts';
import type { Firing } from '../../server/ware/firing.ts';
import type { Gate } from '../../server/ware/gates.ts';
import { arrangeOwn, fetchWords, nextAct, type Shown, sectionOf } from '../../server/ware/mine.ts';
import { nextFiring } from '../../server/ware/next-firing.ts';
import { OUTCOMES, stageAfter } from '../../server/ware/outcome.ts';
import { FORMS, formWords, PRESETS, piecesWords } from '../../server/ware/presets.ts';
import { sizeWords, whereWords } from '../../server/ware/sentences.ts';
import { WARE_DEFAULTS } from '../../server/ware/settings.ts';
import { STAGES } from '../../server/ware/stage.ts';

const glaze6: Firing = { kind: 'glaze', cone: '6', atmosphere: 'reduction' };
const clay = { bisqueCone: '04' };

describe('the firing a piece needs next', () => {
  const piece = { stage: 'made' as const, isBisqued: false, isOnce: false, final: glaze6 };

  it('is bisque at its own clay’s cone until it is bisqued, then what is wanted', () => {
    const bisque = { kind: 'bisque', cone: '04', atmosphere: 'oxidation' };
    expect(nextFiring(piece, clay, WARE_DEFAULTS)).toEqual(bisque);
    expect(nextFiring(piece, null, WARE_DEFAULTS)?.cone).toBe(WARE_DEFAULTS.bisqueCone);
    expect(nextFiring({ ...piece, isBisqued: true, stage: 'in-load' }, clay, WARE_DEFAULTS)).toEqual(glaze6);
  });

  it('is the wanted one at once for what is glazed raw, or wanted bisqued', () => {
    expect(nextFiring({ ...piece, isOnce: true }, clay, WARE_DEFAULTS)).toEqual(glaze6);
    const final: Firing = { kind: 'bisque', cone: '08', atmosphere: 'oxidation' };
    expect(nextFiring({ ...piece, final }, clay, WARE_DEFAULTS)).toEqual(final);
  });

  it('is none for what is through or gone', () => {
    for (const stage of ['fired', 'picked-up', 'left-behind', 'no-name', 'lost'] as const)
      expect(nextFiring({ ...piece, isBisqued: true, stage }, clay, WARE_DEFAULTS)).toBeNull();
  });
});

describe('where a piece is after a firing', () => {
  it('goes on to glazing out of a bisque, unless it is beyond that', () => {
    expect(stageAfter('bisque', glaze6, 'good')).toBe('bisqued');
    expect(stageAfter('bisque', glaze6, 'crack')).toBe('bisqued');
    expect(stageAfter('bisque', glaze6, 'crack', true)).toBe('fired');
    expect(stageAfter('bisque', glaze6, 'burst')).toBe('fired');
    expect(stageAfter('bisque', { ...glaze6, kind: 'bisque' }, 'good')).toBe('fired');
  });

  it('is fired out of every other, however it looks', () => {
    for (const outcome of OUTCOMES)
      for (const kind of ['glaze', 'lustre', 'other'] as const)
        expect(stageAfter(kind, glaze6, outcome)).toBe('fired');
  });
});

describe('glazes that must not share a load', () => {
  const rule = { tagA: 'chromium', tagB: 'tin white', why: 'blushes pink' };

  it('are named with the pieces that carry them', () => {
    const pieces = [
      { number: 9, tags: ['tin white'] },
      { number: 2, tags: ['chromium', 'blue'] },
      { number: 5, tags: [] },
    ];
    expect(conflictsAmong(pieces, [rule])).toEqual([{ numbers: [2, 9], why: 'blushes pink' }]);
    expect(conflictsAmong([...pieces].reverse(), [{ ...rule, tagA: 'tin white', tagB: 'chromium' }])).toEqual(
      [{ numbers: [2, 9], why: 'blushes pink' }],
    );
  });

  it('are none on one piece alone, nor where one of the two is missing', () => {
    expect(conflictsAmong([{ number: 1, tags: ['chromium', 'tin white'] }], [rule])).toEqual([]);
    expect(
      conflictsAmong(
        [
          { number: 1, tags: ['chromium'] },
          { number: 2, tags: ['chromium'] },
        ],
        [rule],
      ),
    ).toEqual([]);
    expect(conflictsAmong([], [rule])).toEqual([]);
  });
});

describe('words', () => {
  it('numbers of pieces are said as a colleague says them', () => {
    expect(piecesWords([12])).toBe('piece 12');
    expect(piecesWords([13, 12])).toBe('pieces 12 and 13');
    expect(piecesWords([14, 12, 13])).toBe('pieces 12 to 14');
    expect(piecesWords([15, 12, 14])).toBe('pieces 12, 14 and 15');
    expect(piecesWords([9, 10, 100])).toBe('pieces 9, 10 and 100');
    expect(piecesWords([63, 46, 44, 45, 80, 81, 82])).toBe('pieces 44 to 46, 63 and 80 to 82');
  });

  it('forms have a word for one and for several; what its owner named keeps its name', () => {
    expect(formWords('cup', 1)).toBe('1 cup');
    expect(formWords('cup', 6)).toBe('6 cups');
    expect(formWords('teapot', 1)).toBe('teapot');
    expect(formWords('teapot', 2)).toBe('2 × teapot');
  });

  it('sizes are never said smaller than they are', () => {
    expect(
      sizeWords({ footprint: { shape: 'rectangle', widthMm: 117.5, depthMm: 79.9 }, heightMm: 94 }),
    ).toBe('118 × 80, 94 mm high');
    expect(sizeWords({ footprint: { shape: 'circle', diameterMm: 85.00000000001 }, heightMm: 110 })).toBe(
      'ø 85, 110 mm high',
    );
  });

  it('what the kilns say of a load is told with its number', () => {
    const piece = {
      stage: 'in-load' as const,
      load: 214,
      isAsked: false,
      isReady: false,
      next: glaze6,
      reason: null,
    };
    expect(whereWords(piece, 'firing now, expected out Saturday 09:30', 'today')).toBe(
      'In load 214: firing now, expected out Saturday 09:30',
    );
    expect(whereWords(piece, undefined, 'today')).toBe('In load 214');
    expect(whereWords({ ...piece, stage: 'fired', load: null }, undefined, 'today')).toBe(
      'Out of the kiln today',
    );
  });
});

describe('usual forms', () => {
  it('have the sizes that are common practice (no source)', () => {
    expect(PRESETS.cup.footprint).toEqual({ shape: 'rectangle', widthMm: 125, depthMm: 85 });
    expect(PRESETS.cup.heightMm).toBe(100);
    expect(PRESETS.bowl.footprint).toEqual({ shape: 'circle', diameterMm: 150 });
    expect(PRESETS.plate.footprint).toEqual({ shape: 'circle', diameterMm: 260 });
    expect([PRESETS.bowl.stack, PRESETS.cup.stack, PRESETS.plate.stack]).toEqual([
      'nest',
      'rim-to-rim',
      'pile',
    ]);
  });

  it('are none so thick that they would wait, and none flat as paper', () => {
    for (const form of FORMS) {
      expect(PRESETS[form].thickestMm).toBeLessThanOrEqual(WARE_DEFAULTS.thickAboveMm);
      expect(PRESETS[form].heightMm).toBeGreaterThanOrEqual(PRESETS[form].thickestMm);
    }
  });
});

describe('a member’s own page', () => {
  const gate = (name: Gate['gate'], ok: boolean): Gate => ({ gate: name, ok, words: name, who: 'owner' });
  const shown = (more: Partial<Shown> = {}): Shown => ({
    number: 1,
    batch: 1,
    stage: 'made',
    stageSince: 0,
    load: null,
    isAsked: false,
    isBisqued: false,
    isOnce: false,
    isClosed: false,
    hasHole: false,
    final: glaze6,
    gates: [],
    flag: null,
    reason: null,
    outcome: null,
    glazes: ['one'],
    nextCoat: null,
    ...more,
  });

  it('offers what only its owner can do now', () => {
    const path = (more: Partial<Shown>) => nextAct(shown(more))?.path ?? null;
    expect(path({})).toBe('ask-dry');
    expect(path({ stage: 'drying', isAsked: true })).toBeNull();
    expect(path({ stage: 'drying', isAsked: true, gates: [gate('hole', false)] })).toBe('hole');
    expect(path({ stage: 'bisqued', isBisqued: true })).toBe('glazing');
    expect(path({ stage: 'bisqued', isBisqued: true, final: { ...glaze6, kind: 'lustre' } })).toBe('hand-in');
    expect(path({ stage: 'bisqued', isBisqued: true, final: { ...glaze6, kind: 'bisque' } })).toBe('edit');
    expect(path({ stage: 'glazed', isBisqued: true })).toBe('hand-in');
    expect(path({ stage: 'waiting-glaze', isBisqued: true, gates: [gate('clay-cone', false)] })).toBe('edit');
    expect(path({ stage: 'waiting-glaze', isBisqued: true })).toBeNull();
    expect(path({ stage: 'returned' })).toBe('ask-dry');
    expect(path({ stage: 'returned', isBisqued: true })).toBe('hand-in');
    expect(path({ stage: 'returned', isBisqued: true, glazes: [] })).toBe('glazing');
    const coming = { nextCoat: { face: 'outside', glaze: 'HG' } } as const;
    for (const stage of ['bisqued', 'glazed', 'returned'] as const)
      expect(nextAct(shown({ stage, isBisqued: true, ...coming }))).toEqual({
        path: 'glazing',
        label: 'Coat the outside',
        isTap: false,
      });
    expect(path({ stage: 'made', isOnce: true, ...coming })).toBe('glazing');
    expect(path({ stage: 'waiting-glaze', isBisqued: true, ...coming })).toBeNull();
    expect(path({ stage: 'drying', isOnce: true, isAsked: true, ...coming })).toBeNull();
    expect(path({ stage: 'fired', isBisqued: true })).toBe('pick-up');
  });

  it('puts every piece into exactly one part, pieces of a batch at the same point together', () => {
    const pieces = STAGES.flatMap((stage, at) => [
      shown({ stage, number: 10 * at + 1, batch: at, load: stage === 'in-load' ? 3 : null }),
      shown({ stage, number: 10 * at + 2, batch: at, load: stage === 'in-load' ? 3 : null }),
    ]);
    const parts = arrangeOwn(pieces, WARE_DEFAULTS, 0);
    const numbers = Object.values(parts)
      .flat(2)
      .map(({ number }) => number);
    expect(numbers.sort((a, b) => a - b)).toEqual(pieces.map(({ number }) => number));
    expect(
      Object.values(parts)
        .flat()
        .every((bunch) => bunch.length === 2),
    ).toBe(true);
    expect(sectionOf(shown({ stage: 'fired' }))).toBe('ready');
    expect(sectionOf(shown({ stage: 'lost' }))).toBe('gone');
  });

  it('keeps one of a batch apart that something keeps back', () => {
    const all = [shown(), shown({ number: 2 }), shown({ number: 3, flag: 'a crack?' })];
    const parts = arrangeOwn(all, WARE_DEFAULTS, 0);
    expect(parts['needs-you'].map((bunch) => bunch.map(({ number }) => number))).toEqual([[1, 2], [3]]);
  });

  it('what should have been fetched long ago comes first, with its days, apart from the rest of its batch', () => {
    const now = 100 * DAY;
    const fired = (number: number, ago: number) =>
      shown({ number, batch: 1, stage: 'fired', stageSince: now - ago * DAY });
    const left = shown({ number: 9, batch: 9, stage: 'left-behind', stageSince: now - 60 * DAY });
    const settings = { uncollectedDays: 21 };
    const { ready } = arrangeOwn([left, fired(1, 2), fired(2, 22.5), fired(3, 21)], settings, now);
    expect(ready.map((bunch) => bunch.map(({ number }) => number))).toEqual([[2], [9], [3, 1]]);
    expect(fetchWords(fired(2, 22.5), settings, now)).toBe('Fired 22 days ago: fetch it.');
    expect(fetchWords(fired(3, 21), settings, now)).toBeNull();
    expect(fetchWords(left, settings, now)).toBeNull();
  });
});
