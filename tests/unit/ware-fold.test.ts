import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fold, PIECE_EVENTS, type PieceEvent, step } from '../../server/ware/fold.ts';
import { STAGES, type Stage, WAITING } from '../../server/ware/stage.ts';

let clock = 0;
const event = (kind: PieceEvent['kind'], more: Partial<PieceEvent> = {}): PieceEvent => {
  clock += 1000;
  return { kind, at: clock, by: 7, stage: null, load: null, payload: {}, ...more };
};
const registered = (stage: Stage = 'made') => event('registered', { stage });
const asked = () => event('asked-dry', { stage: 'drying' });
const dry = () => event('dry', { stage: 'waiting-bisque', by: 9 });
const entered = (load = 3) => event('entered-load', { stage: 'in-load', load });

describe('where a piece stands by its events', () => {
  it('is nowhere before it was registered', () => expect(fold([])).toBeNull());

  it('waits since it was handed in, not since a technician found the time', () => {
    const hand = asked();
    expect(fold([registered(), hand])).toMatchObject({ stage: 'drying', waitingSince: hand.at, dryAt: null });
    const felt = dry();
    expect(fold([registered(), hand, felt])).toMatchObject({
      stage: 'waiting-bisque',
      waitingSince: hand.at,
      dryAt: felt.at,
      dryBy: 9,
    });
    expect(fold([registered(), hand, asked()])?.waitingSince).toBe(hand.at);
    const alone = dry();
    expect(fold([registered(), alone])).toMatchObject({ waitingSince: alone.at });
  });

  it('goes back to its place in the queue when a load comes to nothing', () => {
    const start = [registered(), asked(), dry()];
    const before = fold(start);
    const back = fold([...start, entered(), event('left-load', { stage: 'waiting-bisque', load: 3 })]);
    expect(back).toMatchObject({ stage: 'waiting-bisque', load: null, waitingSince: before?.waitingSince });
  });

  it('a coat asks for its foot anew unless it was wiped with it, and raw ware is felt anew', () => {
    const wiped = event('coated', { stage: 'glazed', payload: { heldBack: true } });
    expect(fold([registered('bisqued'), wiped])).toMatchObject({ stage: 'glazed', footAt: wiped.at });
    expect(fold([registered('bisqued'), wiped, event('coated')])).toMatchObject({
      stage: 'glazed',
      footAt: null,
    });
    expect(fold([registered(), dry(), event('coated', { stage: 'glazed' })])).toMatchObject({ dryAt: null });
  });

  it('a yes ends with a coat or a scratch that is a new question, and with no other', () => {
    const said = [registered('bisqued'), event('yes', { payload: { trayMm: 15 } })];
    for (const kind of ['coated', 'scratched'] as const) {
      expect(fold([...said, event(kind, { payload: { endsYes: true } })])).toMatchObject({
        yesAt: null,
        trayMm: 0,
      });
      expect(fold([...said, event(kind, { payload: { endsYes: false } })])).toMatchObject({ trayMm: 15 });
    }
    for (const kind of ['planned', 'waxed', 'weighed', 'weighing-struck', 'inside-dry'] as const)
      expect(fold([...said, event(kind)])).toEqual(fold(said));
  });

  it('remembers where it was before its load and before it was taken away', () => {
    const start = [registered('bisqued'), event('refire', { stage: 'refire' })];
    expect(fold([...start, entered(5)])).toMatchObject({ before: 'refire', load: 5 });
    const gone = [...start, event('picked-up', { stage: 'picked-up' })];
    expect(fold(gone)).toMatchObject({ before: 'refire' });
    expect(fold([...gone, event('lost', { stage: 'lost' })])).toMatchObject({
      stage: 'lost',
      before: 'refire',
    });
  });

  it('is hard once it came out of a kiln, and waits for nothing then', () => {
    const out = fold([
      registered(),
      dry(),
      entered(),
      event('came-out', { stage: 'bisqued', load: 3, payload: { outcome: 'good' } }),
    ]);
    expect(out).toMatchObject({ stage: 'bisqued', isBisqued: true, waitingSince: null, load: null });
  });

  it('a yes is to one firing: it ends when the piece comes out, or is another piece than it was', () => {
    const yes = event('yes', { payload: { trayMm: 15 }, by: 9 });
    const start = [registered(), dry(), yes];
    expect(fold(start)).toMatchObject({ yesAt: yes.at, yesBy: 9, trayMm: 15 });
    const out = event('came-out', { stage: 'bisqued', load: 3 });
    expect(fold([...start, entered(), out])).toMatchObject({ yesAt: null, yesBy: null, trayMm: 0 });
    expect(fold([...start, event('edited', { payload: { endsYes: true } })])).toMatchObject({ yesAt: null });
    expect(fold([...start, event('edited', { payload: { endsYes: false } })])).toMatchObject({
      yesAt: yes.at,
    });
  });

  it('given back for being wet it is not dry any more; given back for its foot, the foot is not wiped', () => {
    const back = (reason: string) => event('returned', { stage: 'returned', payload: { reason } });
    expect(fold([registered(), dry(), back('not-dry')])).toMatchObject({ dryAt: null, waitingSince: null });
    expect(fold([registered(), dry(), back('crack')])?.dryAt).not.toBeNull();
    const handed = event('handed-in', { stage: 'waiting-glaze', payload: { heldBack: true } });
    expect(fold([registered('bisqued'), handed])?.footAt).toBe(handed.at);
    expect(fold([registered('bisqued'), handed, back('foot')])?.footAt).toBeNull();
    expect(fold([registered('bisqued'), handed, back('crack')])?.footAt).toBe(handed.at);
    expect(fold([registered('bisqued'), handed, event('glazed', { stage: 'glazed' })])?.footAt).toBeNull();
  });

  it('mended and handed in again it is felt anew, however dry it was before', () => {
    const back = event('returned', { stage: 'returned', payload: { reason: 'crack' } });
    expect(fold([registered(), dry(), back, asked()])).toMatchObject({
      stage: 'drying',
      dryAt: null,
      dryBy: null,
    });
  });

  it('glazed raw it is wet again and felt anew; bisqued it stays as dry as it was', () => {
    const glazed = () => event('glazed', { stage: 'glazed' });
    expect(fold([registered(), event('dry', { by: 9 }), glazed()])).toMatchObject({
      dryAt: null,
      dryBy: null,
    });
    const felt = dry();
    const out = event('came-out', { stage: 'bisqued', load: 3 });
    expect(fold([registered(), felt, entered(), out, glazed()])).toMatchObject({ dryAt: felt.at, dryBy: 9 });
  });

  it('is fresh out of its load until something moves it', () => {
    const out = [registered(), dry(), entered(8), event('came-out', { stage: 'bisqued', load: 8 })];
    expect(fold(out)?.outOf).toBe(8);
    expect(fold([...out, event('measured')])?.outOf).toBe(8);
    expect(fold([...out, event('outcome', { stage: 'fired', load: 8 })])).toMatchObject({
      stage: 'fired',
      outOf: 8,
    });
    expect(fold([...out, event('glazed', { stage: 'glazed' })])?.outOf).toBeNull();
  });

  it('what cannot be changes nothing', () => {
    const made = fold([registered()]);
    if (!made) throw new Error('It was registered.');
    expect(step(made, entered())).toBe(made);
    const inside = step(step(made, dry()), entered(3));
    expect(step(inside, event('left-load', { stage: 'waiting-bisque', load: 4 }))).toBe(inside);
    expect(step(inside, event('picked-up', { stage: 'picked-up' }))).toBe(inside);
    expect(step(inside, entered(4))).toBe(inside);
    expect(step(inside, event('flagged')).isFlagged).toBe(true);
  });
});

const anyEvent = fc.record({
  kind: fc.constantFrom(...PIECE_EVENTS),
  at: fc.integer({ min: 1, max: 1_000_000 }),
  by: fc.integer({ min: 1, max: 5 }),
  stage: fc.option(fc.constantFrom(...STAGES), { nil: null }),
  load: fc.option(fc.integer({ min: 1, max: 3 }), { nil: null }),
  payload: fc.constantFrom({}, { endsYes: true }, { reason: 'not-dry' }, { heldBack: true }, { trayMm: 10 }),
});

/** Only entering a load puts anything into one: that is what every use case appends. */
const wellFormed = ({ kind, stage, load }: PieceEvent): boolean =>
  (stage === 'in-load') === (kind === 'entered-load') && (stage !== 'in-load' || load !== null);

it('is in exactly one place after any events whatever: in a load with its number, or not and without', () => {
  fc.assert(
    fc.property(fc.array(anyEvent, { maxLength: 30 }), (events) => {
      const standing = fold([registered(), ...events.filter(wellFormed)]);
      if (!standing) throw new Error('It was registered.');
      expect(STAGES).toContain(standing.stage);
      expect(standing.stage === 'in-load').toBe(standing.load !== null);
      if (WAITING.includes(standing.stage)) expect(standing.waitingSince).not.toBeNull();
      if (standing.stage === 'in-load') expect(WAITING).toContain(standing.before);
    }),
  );
});
