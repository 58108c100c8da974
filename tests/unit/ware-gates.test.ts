import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DAY } from '../../server/core/clock.ts';
import { compareCones } from '../../server/ware/cone.ts';
import type { Firing } from '../../server/ware/firing.ts';
import { type GateFacts, type GateName, gatesFor, heldBackMm, unknownsOf } from '../../server/ware/gates.ts';
import { WARE_DEFAULTS } from '../../server/ware/settings.ts';

const NOW = Date.UTC(2026, 2, 14, 10);
const bisque: Firing = { kind: 'bisque', cone: '06', atmosphere: 'oxidation' };
const glaze6: Firing = { kind: 'glaze', cone: '6', atmosphere: 'oxidation' };

/** A cup of a known clay, bone dry, nothing against it. */
const green: GateFacts = {
  isBisqued: false,
  dryAt: NOW - DAY,
  thickestMm: 6,
  isClosed: false,
  hasHole: false,
  footAt: null,
  clay: { name: 'Buff', maxCone: '7' },
  ownClay: null,
  glazes: [],
  yesAt: null,
  flag: null,
};
const harbour = { bucket: { name: 'Harbour Grey' }, own: null, coneFrom: '5', coneTo: '6', isRunny: false };
const glazed: GateFacts = { ...green, isBisqued: true, glazes: [harbour], footAt: NOW };
const outside = { bucket: null, own: { name: 'Blue from home' }, coneFrom: '5', coneTo: '7', isRunny: false };

const open = (piece: GateFacts, firing: Firing, now = NOW): GateName[] =>
  gatesFor(piece, firing, WARE_DEFAULTS, now)
    .filter(({ ok }) => !ok)
    .map(({ gate }) => gate);

describe('before bisque', () => {
  it('nothing keeps dry ware of a known clay', () => expect(open(green, bisque)).toEqual([]));

  it('bone dry is a technician’s hand, whatever its owner thinks', () => {
    expect(open({ ...green, dryAt: null }, bisque)).toEqual(['dry']);
    const [gate] = gatesFor({ ...green, dryAt: null }, bisque, WARE_DEFAULTS, NOW);
    expect(gate?.who).toBe('technician');
  });

  it('thicker than 12 mm waits 7 days more from when it was felt dry (common practice, no source)', () => {
    const thick = { ...green, thickestMm: 12.1, dryAt: NOW };
    expect(open({ ...thick, thickestMm: 12 }, bisque)).toEqual([]);
    expect(open(thick, bisque)).toEqual(['thick']);
    expect(open(thick, bisque, NOW + 7 * DAY - 1)).toEqual(['thick']);
    expect(open(thick, bisque, NOW + 7 * DAY)).toEqual([]);
    expect(open({ ...thick, dryAt: null }, bisque)).toEqual(['dry', 'thick']);
    const [left] = gatesFor(thick, bisque, WARE_DEFAULTS, NOW + 4 * DAY + 1);
    expect(left?.words).toContain('3 to go');
  });

  it('a closed form has a hole', () => {
    expect(open({ ...green, isClosed: true }, bisque)).toEqual(['hole']);
    expect(open({ ...green, isClosed: true, hasHole: true }, bisque)).toEqual([]);
    expect(open({ ...glazed, isClosed: true }, glaze6)).toEqual(['hole']);
  });

  it('glazes, the foot and their cones are no matter of bisque', () => {
    expect(open({ ...green, glazes: [{ ...harbour, coneFrom: '9', coneTo: '10' }] }, bisque)).toEqual([]);
  });
});

describe('before a glaze firing', () => {
  it('nothing keeps ware whose clay and glazes take the cone', () =>
    expect(open(glazed, glaze6)).toEqual([]));

  it('drying is over once it is bisqued', () => {
    expect(open({ ...glazed, dryAt: null, thickestMm: 30 }, glaze6)).toEqual([]);
  });

  it('a clay that melts below the cone stays out, whoever says yes', () => {
    const lowFire = { ...glazed, clay: { name: 'Terracotta', maxCone: '02' }, yesAt: NOW };
    expect(open(lowFire, glaze6)).toEqual(['clay-cone']);
    expect(open(lowFire, { ...glaze6, cone: '02' })).toContain('glaze-cone');
  });

  it('one glaze of several that does not take the cone is enough', () => {
    expect(
      open({ ...glazed, glazes: [harbour, { ...harbour, coneFrom: '9', coneTo: '10' }] }, glaze6),
    ).toEqual(['glaze-cone']);
    expect(open(glazed, { ...glaze6, cone: '7' })).toEqual(['glaze-cone']);
  });

  it('an unknown clay or a glaze from outside takes a technician’s yes, and says so', () => {
    const strange = { ...glazed, clay: null, ownClay: 'from the river', glazes: [outside] };
    expect(open(strange, glaze6)).toEqual(['unknown']);
    expect(open({ ...strange, yesAt: NOW }, glaze6)).toEqual([]);
    const words = gatesFor(strange, glaze6, WARE_DEFAULTS, NOW)[0]?.words;
    expect(words).toContain('from the river');
    expect(words).toContain('Blue from home');
    expect(words).toContain('tray');
  });

  it('a yes does not widen the cones that a glaze from outside takes', () => {
    expect(open({ ...glazed, glazes: [outside], yesAt: NOW }, { ...glaze6, cone: '9' })).toEqual([
      'clay-cone',
      'glaze-cone',
    ]);
  });

  it('a bucket whose cones nobody wrote down is as unknown', () => {
    const silent = { ...harbour, coneFrom: null, coneTo: null };
    expect(open({ ...glazed, glazes: [silent, silent] }, glaze6)).toEqual(['unknown']);
    expect(unknownsOf({ ...glazed, glazes: [silent, silent] }, glaze6)).toEqual([
      'the cones of Harbour Grey',
    ]);
  });

  it('foot wiped and glaze held back 6 mm, a runny one 12 mm (common practice, no source)', () => {
    expect(open({ ...glazed, footAt: null }, glaze6)).toEqual(['foot']);
    expect(open({ ...glazed, footAt: null, glazes: [] }, glaze6)).toEqual([]);
    expect(heldBackMm([harbour], WARE_DEFAULTS)).toBe(6);
    expect(heldBackMm([harbour, { ...harbour, isRunny: true }], WARE_DEFAULTS)).toBe(12);
  });

  it('lustre goes over the glaze: only the clay is asked', () => {
    expect(
      open({ ...glazed, footAt: null }, { kind: 'lustre', cone: '018', atmosphere: 'oxidation' }),
    ).toEqual([]);
  });
});

it('a flag keeps everything out, and open gates come first', () => {
  const gates = gatesFor({ ...glazed, flag: 'Hairline at the rim' }, glaze6, WARE_DEFAULTS, NOW);
  expect(gates[0]).toMatchObject({ gate: 'flag', ok: false, who: 'technician' });
  expect(gates[0]?.words).toContain('Hairline at the rim');
  const firstOk = gates.findIndex(({ ok }) => ok);
  expect(gates.slice(firstOk).every(({ ok }) => ok)).toBe(true);
});

const CONES = ['022', '010', '06', '04', '01', '1', '5½', '6', '10', '14'];

it('no clay softer than the firing ever passes, whatever else is so', () => {
  fc.assert(
    fc.property(
      fc.record({
        maxCone: fc.constantFrom(...CONES),
        cone: fc.constantFrom(...CONES),
        kind: fc.constantFrom('bisque' as const, 'glaze' as const, 'lustre' as const, 'other' as const),
        isBisqued: fc.boolean(),
        yes: fc.boolean(),
        dry: fc.boolean(),
      }),
      ({ maxCone, cone, kind, isBisqued, yes, dry }) => {
        const piece = {
          ...glazed,
          isBisqued,
          yesAt: yes ? NOW : null,
          dryAt: dry ? NOW : null,
          clay: { name: 'A clay', maxCone },
        };
        const passes = open(piece, { kind, cone, atmosphere: 'reduction' }).length === 0;
        if (compareCones(maxCone, cone) < 0) expect(passes).toBe(false);
      },
    ),
  );
});
