import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { WATER_20 } from '../../server/buckets/gravity.ts';
import { solidsKg } from '../../server/buckets/slurry.ts';
import {
  type ContainerEvent,
  type ContainerFacts,
  type ContainerPayload,
  containerGravity,
  contentsOf,
  foldContainer,
  needsPermission,
  ORDINARY_SOLIDS,
  takenOut,
} from '../../server/safety/container.ts';
import { containerWords, contentWords } from '../../server/safety/container-words.ts';

const FERN = { id: 1, version: 2 };
const CHALK = { id: 2, version: 1 };
const S = 2.6;

let at = 0;
const rows = (...payloads: ContainerPayload[]): ContainerEvent[] =>
  payloads.map((payload, i) => ({ number: i + 1, happenedAt: ++at, ...payload }));
const fold = (...payloads: ContainerPayload[]): ContainerFacts => foldContainer(rows(...payloads), 20);

const into = (
  litres: number,
  specificGravity: number | null = null,
  recipe: typeof FERN | null = FERN,
): ContainerPayload => ({ kind: 'in', how: 'tools', litres, recipe, solidsDensity: S, specificGravity });
const back = (litres: number, solids: number | null = null): ContainerPayload => ({
  kind: 'sieved-back',
  litres,
  solidsKg: solids,
});
const level = (litres: number, specificGravity: number | null = null): ContainerPayload => ({
  kind: 'level',
  litres,
  specificGravity,
  recipe: FERN,
  solidsDensity: S,
});
const sum = (
  portions: { [K in 'litres' | 'solidsKg' | 'unmeasuredL']: number }[],
  what: 'litres' | 'solidsKg' | 'unmeasuredL',
) => portions.reduce((total, portion) => total + portion[what], 0);
const codes = ({ doubts }: ContainerFacts) => doubts.map(({ number, what }) => `${number} ${what}`);

describe('what is in a container', () => {
  it('is nothing before anything went in', () => {
    expect(fold()).toMatchObject({ litres: 0, portions: [], waitingSince: null, doubts: [], lastNumber: 0 });
    expect(containerGravity(fold())).toBeNull();
  });

  it('is kept by recipe, with the solids that its gravity gives', () => {
    const facts = fold(into(4, 1.1), into(2, 1.05, CHALK), into(4, 1.1));
    expect(facts.litres).toBeCloseTo(10, 12);
    expect(facts.portions).toHaveLength(2);
    expect(facts.portions[0]?.solidsKg).toBeCloseTo(solidsKg(8, 1.1, S), 12);
    expect(facts.portions[1]?.solidsKg).toBeCloseTo(solidsKg(2, 1.05, S), 12);
    expect(containerGravity(facts)).toBeCloseTo((8 * 1.1 + 2 * 1.05) / 10, 9);
  });

  it('keeps two versions of a recipe apart', () => {
    expect(fold(into(1, 1.1), into(1, 1.1, { id: 1, version: 3 })).portions).toHaveLength(2);
  });

  it('has no gravity once something came in unmeasured', () => {
    const facts = fold(into(4, 1.1), into(1));
    expect(containerGravity(facts)).toBeNull();
    expect(sum(facts.portions, 'unmeasuredL')).toBe(1);
  });

  it('holds no gravity outside water and solids', () => {
    expect(fold(into(4, 0.2)).portions[0]?.solidsKg).toBe(0);
    expect(fold(into(4, 9)).portions[0]?.solidsKg).toBeCloseTo(4 * S, 9);
    expect(containerGravity(fold(into(4, WATER_20)))).toBeCloseTo(WATER_20, 12);
  });

  it('leaves mixed: of every glaze the same part', () => {
    const facts = fold(into(6, 1.2), into(2, null, CHALK), back(2));
    expect(facts.portions.map(({ litres }) => litres)).toEqual([4.5, 1.5]);
    expect(facts.portions[0]?.solidsKg).toBeCloseTo(0.75 * solidsKg(6, 1.2, S), 12);
    expect(facts.portions[1]?.unmeasuredL).toBeCloseTo(1.5, 12);
  });

  it('keeps its solids when only clear water leaves, to the last drop', () => {
    const before = fold(into(6, 1.2), into(1));
    for (const litres of [3, 7]) {
      const facts = fold(into(6, 1.2), into(1), back(litres, 0));
      expect(facts.litres).toBeCloseTo(7 - litres, 12);
      expect(sum(facts.portions, 'solidsKg')).toBeCloseTo(sum(before.portions, 'solidsKg'), 12);
      expect(sum(facts.portions, 'unmeasuredL')).toBe(1);
    }
  });

  it('gives back the solids that were weighed with it, where all are known', () => {
    const facts = fold(into(10, 1.1), back(2, 0.5));
    expect(sum(facts.portions, 'solidsKg')).toBeCloseTo(solidsKg(10, 1.1, S) - 0.5, 12);
  });

  it('doubts more than was in it, in litres and in solids', () => {
    expect(codes(fold(into(2, 1.1), back(3)))).toEqual(['2 emptied']);
    expect(fold(into(2, 1.1), back(3)).litres).toBe(0);
    expect(codes(fold(into(10, 1.01), back(2, 2)))).toEqual(['2 more-solids']);
    expect(codes(fold(back(1)))).toEqual(['1 emptied']);
  });

  it('doubts no slip of a jug', () => {
    expect(codes(fold(into(2, 1.1), back(2.04)))).toEqual([]);
    expect(codes(fold(into(20.4)))).toEqual([]);
  });

  it('keeps what is above its capacity, and says so once', () => {
    const facts = fold(into(15), into(10), into(1));
    expect(facts.litres).toBe(26);
    expect(codes(facts)).toEqual(['2 over-capacity']);
  });

  it('waits from the first that went in, anew after each that was sieved back, and not while empty', () => {
    const events = rows(into(2), into(2), back(1), into(1), back(4));
    const since = (n: number) => foldContainer(events.slice(0, n), 20).waitingSince;
    expect([1, 2, 3, 4, 5].map(since)).toEqual([
      events[0]?.happenedAt,
      events[0]?.happenedAt,
      events[2]?.happenedAt,
      events[2]?.happenedAt,
      null,
    ]);
  });
});

describe('a level that is seen', () => {
  it('below the books: water dried off, the solids stay', () => {
    const before = fold(into(10, 1.1));
    const facts = fold(into(10, 1.1), level(4));
    expect(facts.litres).toBeCloseTo(4, 12);
    expect(sum(facts.portions, 'solidsKg')).toBeCloseTo(sum(before.portions, 'solidsKg'), 12);
  });

  it('at nothing leaves the residue, which a disposal of nothing but it takes', () => {
    const facts = fold(into(10, 1.1), level(0));
    expect(facts.litres).toBe(0);
    expect(sum(facts.portions, 'solidsKg')).toBeGreaterThan(1);
    expect(containerGravity(facts)).toBeNull();
    expect(fold(into(10, 1.1), level(0), back(0)).portions).toEqual([]);
  });

  it('above the books: something of its glaze that nobody wrote down', () => {
    const facts = fold(into(4, 1.1), level(6));
    expect(facts.portions).toHaveLength(1);
    expect(facts.portions[0]).toMatchObject({ litres: 6, unmeasuredL: 2 });
  });

  it('with a gravity says anew how much is in it, and of what where that was known', () => {
    const facts = fold(into(6, 1.1), into(4, null, CHALK), level(8, 1.2));
    const solids = solidsKg(8, 1.2, S);
    expect(sum(facts.portions, 'solidsKg')).toBeCloseTo(solids, 9);
    expect(facts.portions[0]?.solidsKg).toBeCloseTo(solidsKg(6, 1.1, S), 9);
    expect(containerGravity(facts)).toBeCloseTo(1.2, 9);
    const thinner = fold(into(6, 1.3), into(4, 1.1, CHALK), level(10, 1.1));
    expect(sum(thinner.portions, 'solidsKg')).toBeCloseTo(solidsKg(10, 1.1, S), 9);
    const [a, b] = thinner.portions;
    expect((a?.solidsKg ?? 0) / (b?.solidsKg ?? 1)).toBeCloseTo(solidsKg(6, 1.3, S) / solidsKg(4, 1.1, S), 9);
  });

  it('settles the doubts', () => {
    expect(codes(fold(into(2), back(3), level(5)))).toEqual([]);
    expect(codes(fold(into(2), level(25)))).toEqual(['2 over-capacity']);
  });
});

describe('voids', () => {
  it('leave the container as if the row had not been written', () => {
    const events = rows(into(6, 1.2), into(3, 1.1, CHALK), back(2));
    const struck = [...events, { number: 4, happenedAt: 99, kind: 'void' as const, voids: 2 }];
    const without = events.filter(({ number }) => number !== 2);
    expect({ ...foldContainer(struck, 20), lastNumber: 0 }).toEqual({
      ...foldContainer(without, 20),
      lastNumber: 0,
    });
    expect(foldContainer(struck, 20).lastNumber).toBe(4);
  });
});

const recipe = fc.constantFrom(FERN, CHALK, null);
const litres = fc.double({ min: 0, max: 30, noNaN: true });
const gravity = fc.option(fc.double({ min: 1, max: 2.5, noNaN: true }));
const solids = fc.option(fc.oneof(fc.constant(0), fc.double({ min: 0, max: 10, noNaN: true })));
const anyPayload: fc.Arbitrary<ContainerPayload> = fc.oneof(
  fc.tuple(litres, gravity, recipe).map(([l, g, r]) => into(l, g, r)),
  fc.tuple(litres, solids).map(([l, kg]) => back(l, kg)),
  fc.tuple(litres, gravity).map(([l, g]) => level(l, g)),
);

describe('whatever was written', () => {
  it('nothing is negative or no number, and the portions add up to the litres', () => {
    fc.assert(
      fc.property(fc.array(anyPayload, { maxLength: 25 }), (payloads) => {
        const facts = fold(...payloads);
        expect(sum(facts.portions, 'litres')).toBeCloseTo(facts.litres, 6);
        for (const portion of facts.portions)
          for (const value of [portion.litres, portion.solidsKg, portion.unmeasuredL]) {
            expect(value).toBeGreaterThanOrEqual(0);
            expect(Number.isFinite(value)).toBe(true);
          }
        const G = containerGravity(facts);
        if (G !== null) expect(G).toBeGreaterThanOrEqual(WATER_20 - 1e-9);
      }),
    );
  });

  it('what leaves and what stays are together what was there, material by material', () => {
    const before = fc.array(
      fc.tuple(litres, gravity, recipe).map(([l, g, r]) => into(l, g, r)),
      { maxLength: 8 },
    );
    const recipes = new Map([
      [
        '1.2',
        {
          name: 'Fern',
          lines: [
            { material: 'frit', parts: 80 },
            { material: 'clay', parts: 24 },
          ],
        },
      ],
      ['2.1', { name: 'Chalk', lines: [] }],
    ]);
    fc.assert(
      fc.property(before, litres, solids, (payloads, out, kg) => {
        const facts = fold(...payloads);
        const leaving = { litres: out, solidsKg: kg };
        const gone = takenOut(facts, leaving);
        const after = fold(...payloads, { kind: 'sieved-back', ...leaving });
        for (const what of ['litres', 'solidsKg', 'unmeasuredL'] as const)
          expect(sum(gone, what) + sum(after.portions, what)).toBeCloseTo(sum(facts.portions, what), 6);
        const total = (of: typeof gone) => {
          const { materials, unlisted } = contentsOf(of, recipes);
          return [...materials, ...unlisted].reduce((all, line) => all + line.kg, 0);
        };
        expect(total(gone) + total(after.portions)).toBeCloseTo(sum(facts.portions, 'solidsKg'), 6);
      }),
    );
  });

  it('a move takes from one exactly what comes into the other', () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(litres, gravity, recipe), { minLength: 1, maxLength: 6 }),
        litres,
        (filled, out) => {
          const source = rows(...filled.map(([l, g, r]) => into(l, g, r)));
          const facts = foldContainer(source, 500);
          const leaving = { litres: Math.min(out, facts.litres), solidsKg: null };
          const other = { containerId: 2, number: 1 };
          const portions = takenOut(facts, leaving);
          const target = foldContainer(
            rows({ kind: 'moved-in', litres: leaving.litres, portions, other }),
            500,
          );
          const left = foldContainer(
            [...source, { number: 99, happenedAt: ++at, kind: 'moved-out', ...leaving, other }],
            500,
          );
          for (const what of ['litres', 'solidsKg', 'unmeasuredL'] as const)
            expect(sum(left.portions, what) + sum(target.portions, what)).toBeCloseTo(
              sum(facts.portions, what),
              6,
            );
        },
      ),
    );
  });

  it('the order of writing does not matter, only that of happening', () => {
    fc.assert(
      fc.property(fc.array(anyPayload, { maxLength: 12 }), fc.nat(), (payloads, by) => {
        const events = rows(...payloads);
        const turned = events.map((_, i) => events[(i + by) % events.length] as ContainerEvent);
        expect(foldContainer(turned, 20)).toEqual(foldContainer(events, 20));
      }),
    );
  });
});

describe('contents', () => {
  const recipes = new Map([
    [
      '1.2',
      {
        name: 'Fern',
        lines: [
          { material: 'frit', parts: 80 },
          { material: 'copper carbonate', parts: 4 },
        ],
      },
    ],
  ]);

  it('share the solids out by the parts of the recipe, the most first', () => {
    const facts = fold(into(4, 1.2), into(1));
    const kg = solidsKg(4, 1.2, S);
    const { materials, unlisted } = contentsOf(facts.portions, recipes);
    expect(unlisted).toEqual([]);
    expect(materials.map(({ name, more }) => [name, more])).toEqual([
      ['frit', true],
      ['copper carbonate', true],
    ]);
    expect(materials[1]?.kg).toBeCloseTo((kg * 4) / 84, 12);
  });

  it('name a recipe without lines, and what nobody knows', () => {
    const facts = fold(into(4, 1.2, CHALK), into(1, null, null));
    const named = contentsOf(facts.portions, new Map([['2.1', { name: 'Chalk', lines: [] }]]));
    expect(named.materials).toEqual([]);
    expect(named.unlisted.map(({ name, more }) => [name, more])).toEqual([
      ['Chalk', false],
      ['Mixed glazes, not known which', true],
    ]);
  });

  it('read as somebody would say them', () => {
    const words = (kg: number, more: boolean) => contentWords({ name: 'frit', kg, more }, 'metric');
    expect(words(0.312, false)).toBe('0.31 kg');
    expect(words(0.312, true)).toBe('0.31 kg and an unknown amount');
    expect(words(0, true)).toBe('an unknown amount');
    expect(words(0.0001, false)).toBe('under 1 g');
    expect(words(0, false)).toBe('only what dissolved');
  });
});

describe('down a drain', () => {
  const harmless = { classes: [], signalWord: null, pictograms: [], classified: [], unknown: [] };
  it.each([
    [harmless, false],
    [{ ...harmless, classes: ['STOT RE 2 H373'] }, true],
    [{ ...harmless, classified: ['copper carbonate'] }, true],
    [{ ...harmless, unknown: ['found frit'] }, true],
  ])('%j', (inIt, expected) => expect(needsPermission(inIt)).toBe(expected));
});

describe('a row in words', () => {
  const hg = { code: 'HG', name: 'Harbour Grey' };
  const words = (entry: ContainerPayload, other: { code: string; name: string } | null = null) =>
    containerWords({ entry, bucket: hg, other }, 'metric');

  it('says what happened', () => {
    expect(words(into(2))).toBe('Tools with Harbour Grey HG rinsed in it, 2 L, SG not checked');
    expect(words({ ...into(2, WATER_20), how: 'draw-off' } as ContainerPayload)).toBe(
      'Drawn off from Harbour Grey HG, 2 L, clear water',
    );
    expect(words(back(1.5))).toBe('Sieved back into Harbour Grey HG, 1.5 L');
    expect(words(level(3, 1.1))).toBe('Level seen: 3 L, SG 1.10');
    const other = { containerId: 1, number: 1 };
    expect(
      words({ kind: 'moved-out', litres: 2, solidsKg: 0, other }, { code: 'MX', name: 'Blue tub' }),
    ).toBe('Moved to Blue tub MX, 2 L of clear water');
    expect(
      words({
        kind: 'disposal',
        litres: 8,
        solidsKg: null,
        how: 'carrier',
        byWhom: 'Weir Carting',
        manifest: 'M-12',
        contents: { materials: [], unlisted: [] },
        classes: [],
        permittedBy: null,
        logEntry: 1,
      }),
    ).toBe('Disposed of, 8 L; fetched by a licensed carrier, by Weir Carting; number M-12');
    expect(words({ kind: 'void', voids: 3 })).toBe('Row 3 struck out');
  });

  it('reckons what nobody gave a density with an ordinary one', () => {
    const [portion] = fold({ ...into(1, 1.1), solidsDensity: 0 } as ContainerPayload).portions;
    expect(portion?.solidsDensity).toBe(ORDINARY_SOLIDS);
  });
});
