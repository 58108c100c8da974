import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DAY } from '../../server/core/clock.ts';
import type { Problem } from '../../server/kilns/packing/problem.ts';
import {
  chamberLitres,
  compatible,
  ownerWord,
  packerPieces,
  pinFault,
  prospect,
  type Queued,
  type Rule,
  usualShare,
} from '../../server/kilns/queue.ts';
import { daysUntil, footprintMm2, urgency, type Waiter, worthOf } from '../../server/kilns/queue-value.ts';
import { KILN_DEFAULTS } from '../../server/kilns/settings.ts';

const NOW = Date.UTC(2026, 2, 14, 12);
const ZONE = 'Europe/London';
const CUP = { footprint: { shape: 'circle', diameterMm: 90 }, heightMm: 100 } as const;

const waiter = (more: Partial<Waiter> = {}): Waiter => ({
  number: 1,
  owner: 'person 1',
  waitingSince: NOW - 5 * DAY,
  wantedBy: null,
  ...CUP,
  ...more,
});

let serial = 0;
const queued = (more: Partial<Queued> = {}): Queued => ({
  number: ++serial,
  owner: { kind: 'person', id: 1 },
  waitingSince: NOW - 5 * DAY,
  wantedBy: null,
  asPacked: CUP,
  measured: { byTechnician: false },
  kg: null,
  clay: { id: 3 },
  ownClay: null,
  stack: 'none',
  trayMm: 0,
  tags: [],
  ...more,
});

const days = fc.integer({ min: 0, max: 400 });
const date = fc.option(
  fc.integer({ min: -20, max: 60 }).map((n) => new Date(NOW + n * DAY).toISOString().slice(0, 10)),
);
const anyWaiter = (number: number) =>
  fc
    .record({
      owner: fc.constantFrom('person 1', 'person 2', 'group 1', 'nobody'),
      waited: days,
      wantedBy: date,
      diameterMm: fc.integer({ min: 20, max: 500 }),
      heightMm: fc.integer({ min: 5, max: 600 }),
    })
    .map(
      ({ owner, waited, wantedBy, diameterMm, heightMm }): Waiter => ({
        number,
        owner,
        waitingSince: NOW - waited * DAY,
        wantedBy,
        footprint: { shape: 'circle', diameterMm },
        heightMm,
      }),
    );
const someWaiters = fc
  .integer({ min: 1, max: 12 })
  .chain((n) => fc.tuple(...Array.from({ length: n }, (_, i) => anyWaiter(i + 1))));

describe('what a waiting piece is worth', () => {
  it('is never lowered by having waited longer, whoever else waits', () => {
    fc.assert(
      fc.property(someWaiters, fc.nat(), days, (waiters, pick, more) => {
        const one = waiters[pick % waiters.length] as Waiter;
        const older = waiters.map((w) =>
          w === one ? { ...w, waitingSince: w.waitingSince - more * DAY } : w,
        );
        const before = worthOf(waiters, NOW, ZONE).get(one.number) as number;
        expect(worthOf(older, NOW, ZONE).get(one.number) as number).toBeGreaterThanOrEqual(before);
      }),
    );
  });

  it('grows without end, so that everything goes in some day', () => {
    const flood = Array.from({ length: 200 }, (_, i) => waiter({ number: i + 2, owner: `person ${i + 2}` }));
    const last = waiter({ number: 1, waitingSince: NOW - 3000 * DAY });
    const worth = worthOf([last, ...flood], NOW, ZONE);
    const others = flood.reduce((sum, { number }) => sum + (worth.get(number) as number), 0);
    expect(worth.get(1) as number).toBeGreaterThan(others / 2);
  });

  it('rises as the date it is wanted by nears, and fades once that day is over', () => {
    const on = (day: number) =>
      urgency(
        { waitingSince: NOW, wantedBy: new Date(NOW + day * DAY).toISOString().slice(0, 10) },
        NOW,
        ZONE,
      );
    for (let day = 27; day > 5; day--) expect(on(day - 1)).toBeGreaterThan(on(day));
    expect(on(0)).toBe(on(2));
    for (let day = -1; day > -15; day--) expect(on(day)).toBeLessThan(on(day + 1));
    expect(on(-15)).toBe(on(90));
    expect(on(-400)).toBe(on(90));
    expect(on(90)).toBe(urgency({ waitingSince: NOW, wantedBy: null }, NOW, ZONE));
    expect(urgency({ waitingSince: NOW, wantedBy: 'soon' }, NOW, ZONE)).toBe(1);
  });

  it('counts days as the studio’s clock does', () => {
    expect(daysUntil('2026-03-15', NOW, ZONE)).toBe(0.5);
    // Half past nine in the morning of the 15th there, while it is the evening of the 14th in London.
    const evening = Date.UTC(2026, 2, 14, 20, 30);
    expect(daysUntil('2026-03-15', evening, 'Pacific/Auckland')).toBeCloseTo(-9.5 / 24, 9);
    expect(daysUntil('2026-03-15', evening, 'America/New_York')).toBeCloseTo(7.5 / 24, 9);
    expect(daysUntil('soon', NOW, ZONE)).toBeNaN();
  });

  it("is less for an owner's second than for another's first that waited as long", () => {
    fc.assert(
      fc.property(days, fc.integer({ min: 1, max: 40 }), (waited, flood) => {
        const since = NOW - waited * DAY;
        const many = Array.from({ length: flood + 1 }, (_, i) =>
          waiter({ number: i + 1, waitingSince: since }),
        );
        const other = waiter({ number: 99, owner: 'person 2', waitingSince: since });
        const worth = worthOf([...many, other], NOW, ZONE);
        const own = many.map(({ number }) => worth.get(number) as number);
        expect(worth.get(99)).toBe(own[0]);
        for (const value of own.slice(1)) expect(value).toBeLessThan(worth.get(99) as number);
      }),
    );
  });

  it('counts the pieces of a class per head', () => {
    const one = (number: number, heads: number) => waiter({ number, owner: 'group 1', heads });
    const alone = worthOf([one(1, 1), one(2, 1), one(3, 1)], NOW, ZONE);
    const twelve = worthOf([one(1, 12), one(2, 12), one(3, 12)], NOW, ZONE);
    expect(alone.get(3) as number).toBeLessThan(alone.get(1) as number);
    expect(twelve.get(3)).toBe(twelve.get(1));
  });

  it('is above 0 and finite', () => {
    fc.assert(
      fc.property(someWaiters, (waiters) => {
        for (const value of worthOf(waiters, NOW, ZONE).values()) {
          expect(value).toBeGreaterThan(0);
          expect(Number.isFinite(value)).toBe(true);
        }
      }),
    );
  });
});

describe('what the packer is asked', () => {
  const setting = { kind: 'glaze', settings: KILN_DEFAULTS, now: NOW, timeZone: ZONE } as const;

  it('packs what no technician measured larger by half the difference of the gaps all round', () => {
    const [unsure, sure] = packerPieces([queued(), queued({ measured: { byTechnician: true } })], setting);
    expect(unsure?.footprint).toEqual({ shape: 'circle', diameterMm: 94 });
    expect(sure?.footprint).toEqual({ shape: 'circle', diameterMm: 90 });
    const box = { footprint: { shape: 'rectangle', widthMm: 120, depthMm: 80 }, heightMm: 90 } as const;
    const [piece] = packerPieces([queued({ asPacked: box })], setting);
    expect(piece?.footprint).toEqual({ shape: 'rectangle', widthMm: 124, depthMm: 84 });
  });

  it('lets bisque touch and stack with its own clay, and nothing else stack', () => {
    const bowl = queued({ stack: 'nest' });
    const strange = queued({ stack: 'nest', clay: null, ownClay: 'From home' });
    const [known, own] = packerPieces([bowl, strange], { ...setting, kind: 'bisque' });
    expect(known).toMatchObject({ stack: { kind: 'nest', like: 'clay 3' }, footprint: CUP.footprint });
    expect(own?.stack).toEqual({ kind: 'nest', like: 'own From home' });
    expect(packerPieces([bowl], setting)[0]?.stack).toBeUndefined();
  });

  it('stacks no two of a clay that nobody named: each may be another', () => {
    const nameless = () => queued({ stack: 'nest', clay: null });
    const likes = packerPieces([nameless(), nameless()], { ...setting, kind: 'bisque' }).map(({ stack }) =>
      typeof stack === 'object' ? stack.like : stack,
    );
    expect(likes).not.toContain(undefined);
    expect(new Set(likes).size).toBe(2);
  });

  it('carries trays, pins and weights, and estimates the weight of what nobody weighed', () => {
    const piece = queued({ trayMm: 20, kg: 1.2 });
    const [asked, guessed] = packerPieces([piece, queued()], { ...setting, pins: { [piece.number]: 2 } });
    expect(asked).toMatchObject({ id: String(piece.number), tray: 20, kg: 1.2, level: 2 });
    expect(guessed?.kg).toBeGreaterThan(0.1);
    expect(guessed).not.toHaveProperty('tray');
    expect(guessed).not.toHaveProperty('level');
  });
});

describe('a pin', () => {
  const chamber: Omit<Problem, 'pieces'> = {
    shelf: { shape: 'round', diameterMm: 500 },
    usableHeightMm: 500,
    floorPostMm: 20,
    shelfThicknessMm: 15,
    pieceGapMm: 6,
    clearanceMm: 12,
    topClearanceMm: 40,
    posts: [
      { heightMm: 150, count: 6 },
      { heightMm: 100, count: 4 },
    ],
    shelves: { full: 3, half: 0 },
  };
  const tall = (heightMm: number) => ({ id: '7', footprint: CUP.footprint, heightMm });

  it('needs shelves, posts and height: on the lowest posts the third level stands 315 mm up', () => {
    const fault = (heightMm: number, level: number, more: object = {}) =>
      pinFault({ ...chamber, ...more }, tall(heightMm), level);
    expect(fault(425, 1)).toBeNull();
    expect(fault(426, 1)).toContain('too tall for level 1');
    expect(fault(145, 3)).toBeNull();
    expect(fault(146, 3)).toBe('Piece 7 is too tall for level 3: it would stand 315 mm up.');
    expect(fault(10, 4)).toBe('This kiln has no level 4.');
    expect(fault(10, 4, { halves: true, shelves: { full: 3, half: 2 }, usableHeightMm: 900 })).toBeNull();
    expect(fault(10, 2, { posts: [{ heightMm: 100, count: 2 }] })).toBe('This kiln has no level 2.');
    expect(fault(10, 3, { maxLevels: 2 })).toBe('This kiln has no level 3.');
  });
});

describe('conflicting glazes', () => {
  const rules: Rule[] = [{ tagA: 'chromium', tagB: 'tin white', why: 'blushes pink' }];
  const worth = (queue: Queued[], value: (q: Queued) => number) =>
    new Map(queue.map((one) => [String(one.number), value(one)]));

  it('never share a load, and nothing without a conflict is left', () => {
    const tags = fc.subarray(['chromium', 'tin white', 'iron']);
    fc.assert(
      fc.property(fc.array(fc.tuple(tags, fc.integer({ min: 1, max: 9 })), { maxLength: 20 }), (list) => {
        const queue = list.map(([some]) => queued({ tags: some }));
        const values = new Map(queue.map((one, i) => [String(one.number), list[i]?.[1] ?? 1]));
        const chosen = compatible(queue, values, rules);
        const green = chosen.filter((one) => one.tags.includes('chromium'));
        const white = chosen.filter((one) => one.tags.includes('tin white'));
        const both = (a: Queued[], b: Queued[]) => a.some((x) => b.some((y) => x !== y));
        expect(both(green, white)).toBe(false);
        const free = queue.filter((one) => !one.tags.some((tag) => tag !== 'iron'));
        for (const one of free) expect(chosen).toContain(one);
        if (queue.length > 0) expect(chosen.length).toBeGreaterThan(0);
      }),
    );
  });

  it('one that is worth less than all it would shut out waits, unless it waited too long', () => {
    const green = queued({ tags: ['chromium'] });
    const white = [1, 2, 3].map(() => queued({ tags: ['tin white'] }));
    const queue = [green, ...white];
    const values = worth(queue, (one) => (one === green ? 2 : 1));
    expect(compatible(queue, values, rules)).toEqual(white);
    expect(compatible(queue, values, rules, new Set([green.number]))).toEqual([green]);
  });
});

describe('when a load is proposed', () => {
  const setting = { kind: 'glaze', settings: KILN_DEFAULTS, now: NOW, timeZone: ZONE } as const;
  const round = { shelf: { shape: 'round', diameterMm: 550 }, usableHeightMm: 680 } as const;

  it('knows the room of a chamber', () => {
    expect(chamberLitres(round)).toBeCloseTo(161.56, 1);
    expect(
      chamberLitres({ shelf: { shape: 'rectangle', widthMm: 500, depthMm: 400 }, usableHeightMm: 500 }),
    ).toBe(100);
    // A hexagon of 500 mm across flats covers 500² · √3 / 2.
    const hexagon = {
      shelf: { shape: 'polygon', sides: 6, acrossFlatsMm: 500 },
      usableHeightMm: 1000,
    } as const;
    expect(chamberLitres(hexagon)).toBeCloseTo(216.506, 2);
    expect(footprintMm2({ shape: 'rectangle', widthMm: 10, depthMm: 20 })).toBe(200);
  });

  it('takes a kiln to hold 35 % until three firings have shown what it holds', () => {
    expect(usualShare([])).toBe(0.35);
    expect(usualShare([0.5, 0.6])).toBe(0.35);
    expect(usualShare([0.5, 0.6, 0.4])).toBe(0.5);
    expect(usualShare([0.5, 0.6, 0.4, 0.3])).toBeCloseTo(0.45);
    expect(usualShare([0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.9, 0.9, 0.9])).toBe(0.5);
    expect(usualShare([0, 0, 0])).toBeGreaterThan(0);
  });

  const words = (queue: Queued[], kind: 'glaze' | 'bisque' = 'glaze') =>
    prospect(queue, chamberLitres(round), 0.35, { ...setting, kind }).reasons.map(({ because }) => because);

  it('asks for it by share, by waiting and by date', () => {
    expect(words([])).toEqual([]);
    expect(words([queued()])).toEqual([]);
    expect(words([queued({ waitingSince: NOW - 14 * DAY })])).toEqual(['waited']);
    expect(words([queued({ waitingSince: NOW - 13 * DAY })])).toEqual([]);
    expect(words([queued({ waitingSince: NOW - 10 * DAY })], 'bisque')).toEqual(['waited']);
    expect(words([queued({ wantedBy: '2026-03-21' })])).toEqual(['date']);
    expect(words([queued({ wantedBy: '2026-03-01' })])).toEqual(['date']);
    expect(words([queued({ wantedBy: '2026-02-20' })])).toEqual([]);
    expect(words([queued({ wantedBy: '2026-04-21' })])).toEqual([]);
    // 161.6 L · 0.35 · 0.85 = 48.06 L: 75.5 cups of 0.636 L.
    const cups = (n: number) => Array.from({ length: n }, () => queued());
    expect(words(cups(75))).toEqual([]);
    expect(words(cups(76))).toEqual(['share']);
  });

  it('says of more than one load how many', () => {
    const { share, reasons } = prospect(
      Array.from({ length: 270 }, () => queued()),
      chamberLitres(round),
      0.35,
      setting,
    );
    expect(share).toBeGreaterThan(3);
    expect(reasons[0]?.words).toBe('Enough for 3 loads.');
  });

  it('knows owners by one word each', () => {
    expect(ownerWord({ kind: 'group', id: 4 })).toBe('group 4');
    expect(ownerWord(null)).toBe('nobody');
  });
});
