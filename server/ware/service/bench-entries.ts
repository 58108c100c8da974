import { z } from 'zod';
import { type BucketNow, recordAct } from '../../buckets/service/index.ts';
import { solidsKg, solidsMassFraction } from '../../buckets/slurry.ts';
import type { Act } from '../../core/actor.ts';
import { MINUTE } from '../../core/clock.ts';
import { Conflict, Doubtful } from '../../core/errors.ts';
import { choice, code, flag, quantity } from '../../core/forms.ts';
import { glazedAreaCm2 } from '../area.ts';
import { FACE_WORDS } from '../bench-step.ts';
import { heldBackMm, newlyMixed } from '../gates.ts';
import { piecesWords } from '../presets.ts';
import {
  COAT_FACES,
  COAT_WAYS,
  type CoatFace,
  type CoatPut,
  drinkingFaces,
  goesOverWet,
  isThrough,
  type Route,
  routeOf,
  type WeighingMoment,
  type Wetness,
  wetnessOf,
} from '../route.ts';
import type { WareSettings } from '../settings.ts';
import * as store from '../store/pieces.ts';
import { coatByTiles, coatThickness, type DippedWall } from './coat.ts';
import { type Entry, numberedEvent, routeFor, routesOf } from './ledger.ts';
import { note } from './move.ts';
import { bucketFor, refuse } from './move-entries.ts';
import { benchCoats, type PieceNow, runsWithIn } from './now.ts';
import { wareSettings } from './settings.ts';

// What acts at the bench append that takes a look at buckets, weights and tiles first.

/** Why others cannot go along. */
export const ONE_ONLY = 'One piece at a time: leave the others out.';

/** A coat that outweighs its piece is a slip of the finger: common practice, no source. */
const MOST_GAIN = 1;
/** What the bucket's ledger takes a piece for where nobody can tell, litres. */
const USUAL_LITRES = 0.1;

/** So long after another person put the same coat on, it is asked whether this is one more. No source. */
const JUST_NOW = 10 * MINUTE;

/** A piece on the scale. */
export const grams = () => quantity(1, 100_000, 'g');

export const coatForm = z.strictObject({
  bucket: code(),
  face: choice(COAT_FACES),
  way: choice(COAT_WAYS).default('dip'),
  /** In the glaze, or the glaze in it. */
  seconds: quantity(0.5, 600, 's').optional(),
  beforeGrams: grams().optional(),
  afterGrams: grams().optional(),
  /** The foot is wiped and the glaze line checked. */
  heldBack: flag().optional(),
  note,
  /** It is one more coat, though another person just put the same on. */
  confirm: flag().optional(),
});

type Put = z.output<typeof coatForm>;

/** What acts at the bench look at: where each piece is on its way, and what the studio chose. */
export async function atBench(act: Act, pieces: readonly PieceNow[]) {
  const [routes, settings] = await Promise.all([
    routesOf(
      act,
      pieces.map(({ id }) => id),
    ),
    wareSettings(act),
  ]);
  return { routes, settings };
}

/**
 * One coat on each of these pieces, and one dipping in the bucket's ledger for all of them. Throws Invalid beside the
 * field; Doubtful where another person just put the same coat on one of them.
 */
export async function coated(act: Act, put: Put, pieces: PieceNow[]): Promise<(piece: PieceNow) => Entry> {
  if (pieces.length > 1 && put.beforeGrams !== undefined) throw refuse('beforeGrams', ONE_ONLY);
  if (pieces.length > 1 && put.afterGrams !== undefined) throw refuse('afterGrams', ONE_ONLY);
  const bucket = await bucketFor(act, put.bucket, 'bucket');
  if (!put.confirm) await askAboutSame(act, bucket.code, put.face, pieces);
  const [{ routes, settings }, runsWith] = await Promise.all([atBench(act, pieces), runsWithIn(act)]);
  const coats = new Map<number, CoatPut>();
  const byTiles = askedOnce(act);
  const isUsable = bucket.verdict.state !== 'do-not-use';
  for (const piece of pieces) {
    const coat = await coatOn(act, piece, put, {
      bucket,
      route: routeFor(routes, piece),
      settings,
      byTiles,
    });
    coats.set(piece.id, isUsable ? coat : { ...coat, unbooked: true });
  }
  // What was done is not forgotten because nobody should have done it; notices that must be read first still are.
  if (isUsable) await writeDipping(act, bucket, put, [...coats.values()], pieces);
  return (piece) => {
    const coat = coats.get(piece.id) as CoatPut;
    const route = routeFor(routes, piece);
    const row = {
      bucketId: bucket.id,
      gravity: coat.gravity,
      reading: coat.reading,
      batchNumber: coat.batch,
      face: coat.face,
      way: coat.way,
      seconds: coat.seconds,
      coatMm: coat.mm,
      coatFrom: coat.from,
      at: act.now,
    };
    const after = [
      ...piece.glazes,
      {
        bucket: { code: bucket.code, name: bucket.name },
        face: coat.face,
        coatMm: coat.mm,
        scratchMm: null,
        runsWith: runsWith(bucket.code),
        load: null,
      },
    ];
    const isOn = isThrough({ plan: route.plan, coats: [...route.coats, coat] });
    const isGlazed = piece.stage !== 'glazed' && (isOn || piece.stage === 'waiting-glaze');
    const onWet = !goesOverWet(route, coat.face) && wetnessOf(route, settings, act.now).state === 'wet';
    return {
      kind: 'coated',
      stage: isGlazed ? 'glazed' : undefined,
      payload: {
        coat,
        heldBack: put.heldBack ?? false,
        endsYes: bucket.cones === null || newlyMixed(piece.glazes, after, settings).length > 0,
        ...(onWet && { onWet }),
      },
      coat: row,
    };
  };
}

/** Two who stand at one piece both write down what was done once. */
async function askAboutSame(act: Act, glaze: string, face: CoatFace, pieces: PieceNow[]): Promise<void> {
  const same = await store.sameCoat(
    act.tx,
    pieces.map(({ id }) => id),
    {
      glaze,
      face,
      since: act.now - JUST_NOW,
      notBy: act.actor.id,
    },
  );
  if (same)
    throw new Doubtful(
      '',
      `${same.by} just put ${glaze} on piece ${same.number}, ${FACE_WORDS[face]}. Is this one more coat?`,
    );
}

interface Bench {
  bucket: BucketNow;
  route: Route;
  settings: WareSettings;
  byTiles: (ask: Parameters<typeof coatByTiles>[1]) => ReturnType<typeof coatByTiles>;
}

/** Of a batch nearly every piece asks the tiles the same. */
function askedOnce(act: Act): Bench['byTiles'] {
  const known = new Map<string, ReturnType<typeof coatByTiles>>();
  return (ask) => {
    const key = JSON.stringify(ask);
    const found = known.get(key) ?? coatByTiles(act, ask);
    known.set(key, found);
    return found;
  };
}

const shapeOf = ({ form, asPacked, thickestMm }: PieceNow) => ({ form, size: asPacked, thickestMm });

const areaOf = (piece: PieceNow, face: CoatFace, settings: WareSettings): number =>
  glazedAreaCm2(shapeOf(piece), face, heldBackMm(piece.glazes, settings));

/**
 * What tiles are asked for of a piece that takes this coat next: its wall, and the water in g/cm² that each of its
 * glazed faces still holds, where that is known and any.
 */
export function wallAtBench(
  piece: PieceNow,
  route: Route,
  { waterGrams }: Pick<Wetness, 'waterGrams'>,
  face: CoatFace,
  settings: WareSettings,
): { wall: DippedWall; heldGramsPerCm2?: number } {
  const faces = drinkingFaces(route, face);
  return {
    wall: { thicknessMm: piece.thickestMm, glazedFaces: faces === 'all' ? 2 : 1 },
    ...(waterGrams !== null &&
      waterGrams > 0 && { heldGramsPerCm2: waterGrams / areaOf(piece, faces, settings) }),
  };
}

/** What one piece took, by its weight, else by the tiles of its clay and this bucket. */
async function coatOn(
  act: Act,
  piece: PieceNow,
  put: Put,
  { bucket, route, settings, byTiles }: Bench,
): Promise<CoatPut> {
  const { face, way, seconds = null } = put;
  const { gravity, readingNumber: reading, batch, solidsDensity } = bucket.facts;
  const beforeGrams = put.beforeGrams ?? (route.coats.length === 0 ? route.bareGrams : null);
  const afterGrams = put.afterGrams ?? null;
  if (beforeGrams !== null && afterGrams !== null) mustGain('afterGrams', beforeGrams, afterGrams);
  const solidsFraction = fractionOf(gravity, solidsDensity);
  const areaCm2 = areaOf(piece, face, settings);
  const coat: CoatPut = {
    glaze: bucket.code,
    face,
    way,
    seconds,
    gravity,
    reading,
    batch,
    mm: null,
    from: null,
    // The bare weight stands in its own event, and may be struck out there.
    beforeGrams: put.beforeGrams ?? null,
    afterGrams,
    solidsFraction,
    litres: null,
  };
  if (beforeGrams !== null && afterGrams !== null) {
    const gain = afterGrams - beforeGrams;
    const mm =
      solidsFraction === null ? null : await coatThickness(act, bucket.id, (gain * solidsFraction) / areaCm2);
    return {
      ...coat,
      mm,
      from: mm === null ? null : 'weighed',
      litres: gravity === null ? null : gain / 1000 / gravity,
    };
  }
  if (seconds === null || !piece.clay || gravity === null) return coat;
  const found = await byTiles({
    clayId: piece.clay.id,
    bucket: bucket.code,
    seconds,
    ...wallAtBench(piece, route, wetnessOf(route, settings, act.now), face, settings),
  });
  if (!found) return coat;
  const kgPerLitre = solidsKg(1, gravity, solidsDensity);
  return {
    ...coat,
    mm: found.mm,
    from: 'tiles',
    litres: kgPerLitre > 0 ? (areaCm2 * found.gramsPerCm2) / 1000 / kgPerLitre : null,
  };
}

function fractionOf(gravity: number | null, solidsDensity: number): number | null {
  if (gravity === null || gravity >= solidsDensity) return null;
  const fraction = solidsMassFraction(gravity, solidsDensity);
  return fraction > 0 && fraction < 1 ? fraction : null;
}

function mustGain(path: string, before: number, after: number): void {
  if (after <= before) throw refuse(path, `With its glaze it must weigh more than before: ${before} g.`);
  if (after - before > MOST_GAIN * before)
    throw refuse(path, `Before it weighed ${before} g: no coat is as heavy as its piece.`);
}

/** One line in the bucket's ledger; litres only where they are known of every piece. */
async function writeDipping(
  act: Act,
  { code: bucketCode, capacityLitres }: BucketNow,
  put: Put,
  coats: readonly CoatPut[],
  pieces: readonly PieceNow[],
): Promise<void> {
  const known = coats.flatMap(({ litres }) => litres ?? []);
  const isKnown = known.length === coats.length;
  const usual = coats.length * USUAL_LITRES;
  const litres = isKnown ? known.reduce((sum, one) => sum + one, 0) : usual;
  // No more can have gone than it holds.
  const isGiven = isKnown || litres > capacityLitres;
  await recordAct(act, bucketCode, 'dippings', {
    pieces: coats.length,
    ...(isGiven && { litres: Math.min(litres, capacityLitres) }),
    stirred: false,
    note: `${piecesWords(pieces.map(({ number }) => number))}, ${FACE_WORDS[put.face]}`,
  });
}

/** Just glazed, it says how thick the coat is that was recorded without a weight. */
export async function weighed(
  act: Act,
  weighing: { grams: number; moment: WeighingMoment },
  [piece]: PieceNow[],
): Promise<() => Entry> {
  if (!piece) throw new Error('Nothing is weighed.');
  const { routes, settings } = await atBench(act, [piece]);
  const route = routeFor(routes, piece);
  const last = route.coats.at(-1);
  if (weighing.moment === 'bare' && last) throw refuse('moment', 'It has glaze on it: it is not bare.');
  if (weighing.moment === 'glazed' && !last)
    throw refuse('moment', 'Say first what was put on it; then weigh it.');
  const moment = last ? weighing.moment : 'bare';
  const entry: Entry = { kind: 'weighed', payload: { weighing: { ...weighing, moment } } };
  const isJustGlazed = moment === 'glazed' && last?.afterGrams === null && route.weighings.length === 0;
  if (!isJustGlazed || !last || last.beforeGrams === null) return () => entry;
  mustGain('grams', last.beforeGrams, weighing.grams);
  const row = benchCoats(piece.glazes).at(-1);
  if (!row?.bucket || last.solidsFraction === null) return () => entry;
  const perCm2 =
    ((weighing.grams - last.beforeGrams) * last.solidsFraction) / areaOf(piece, last.face, settings);
  const coatMm = await coatThickness(act, row.bucket.id, perCm2);
  return () => ({
    kind: 'weighed',
    payload: { weighing: { ...weighing, moment, mm: coatMm } },
    thickness: { position: row.position, change: { coatMm, coatFrom: 'weighed' } },
  });
}

/** A weighing that is struck out takes along the thickness that followed from it; what tiles said before is back. */
export async function struck(
  act: Act,
  { event }: { event: number },
  [piece]: PieceNow[],
): Promise<() => Entry> {
  if (!piece) throw new Error('Nothing is struck out.');
  const events = (await store.ledgersOf(act.tx, [piece.id])).map(numberedEvent);
  const found = events.find(({ number }) => number === event);
  const { weighing, coat } = found?.payload ?? {};
  const isWeighing =
    (found?.kind === 'weighed' && weighing !== undefined) ||
    (found?.kind === 'coated' && (coat?.afterGrams ?? coat?.beforeGrams ?? null) !== null);
  if (!isWeighing) throw refuse('event', 'There is no weighing with this number.');
  if (events.some(({ kind, payload }) => kind === 'weighing-struck' && payload.voids === event))
    throw new Conflict('This weighing was struck out already.');
  const strike = { kind: 'weighing-struck' as const, payload: { voids: event } };
  const after = routeOf([
    ...events,
    { ...strike, number: piece.lastEvent + 1, at: act.now, by: act.actor.id, stage: null, load: null },
  ]);
  const [thickness] = benchCoats(piece.glazes).flatMap(({ position, coatFrom, coatMm }, at) => {
    const now = after.coats[at];
    return now && (now.from !== coatFrom || now.mm !== coatMm)
      ? [{ position, change: { coatMm: now.mm, coatFrom: now.from } }]
      : [];
  });
  return () => ({ ...strike, thickness });
}
