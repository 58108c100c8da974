import { DAY, type Instant } from '../core/clock.ts';
import { isBeyond, mmFigure } from './coat-bands.ts';
import { compareCones, coneWithin } from './cone.ts';
import type { Firing } from './firing.ts';
import type { CoatFace } from './route.ts';
import type { WareSettings } from './settings.ts';
import { daysWords } from './words.ts';

export type GateName =
  | 'dry'
  | 'thick'
  | 'hole'
  | 'foot'
  | 'clay-cone'
  | 'glaze-cone'
  | 'unknown'
  | 'mixed-coat'
  | 'flag';

/** Something that must hold before a piece goes into a firing. */
export interface Gate {
  gate: GateName;
  ok: boolean;
  /** What holds, or what is to be done. */
  words: string;
  /** Who settles it. */
  who: 'owner' | 'technician';
}

/** A coat of glaze that is on a piece. */
export interface GlazeFacts {
  bucket: { code: string; name: string } | null;
  own: { name: string } | null;
  coneFrom: string | null;
  coneTo: string | null;
  isRunny: boolean;
  face: CoatFace;
  /** Dry thickness: as it was worked out, and as somebody scratched it, which counts before that. */
  coatMm: number | null;
  scratchMm: number | null;
  /** Codes of the glazes that it is known to run with where they overlap. */
  runsWith: readonly string[];
  /** The load it was fired in; null while it is raw. */
  load: number | null;
}

/** What the gates look at; a PieceNow is all of it. */
export interface GateFacts {
  isBisqued: boolean;
  /** Bone dry by a technician's hand. */
  dryAt: Instant | null;
  thickestMm: number;
  isClosed: boolean;
  hasHole: boolean;
  footAt: Instant | null;
  clay: { name: string; maxCone: string } | null;
  ownClay: string | null;
  glazes: readonly GlazeFacts[];
  /** A technician's yes to what nobody here knows and to coats that may run, for the firing it goes into next. */
  yesAt: Instant | null;
  /** Of the tray that it stands on in that firing, all round; 0 for none. */
  trayMm: number;
  flag: string | null;
}

/**
 * Every gate between a piece and a firing, open ones first; `ok` is false while it keeps the piece out. The clay's
 * hottest cone must not lie below the firing's, nor must that of any glaze on it; what carries glaze is never bisqued.
 * The softest cone of a glaze counts while it is raw, but for lustre and decals, which go over what is fired. A clay or
 * glaze that nobody here knows takes a technician's yes instead, and so do raw coats that are thicker together than the
 * studio's most or run with one another, unless a tray catches them. Times are Instants, lengths mm. Throws RangeError
 * for a cone that is none.
 */
export function gatesFor(piece: GateFacts, firing: Firing, settings: WareSettings, now: Instant): Gate[] {
  const all = [
    ...flagGate(piece),
    ...clayGate(piece, firing),
    ...glazeGates(piece, firing),
    ...unknownGate(piece, firing),
    ...mixedGate(piece, firing, settings),
    ...dryGates(piece, settings, now),
    ...holeGate(piece),
    ...footGate(piece, firing, settings),
  ];
  return [...all.filter(({ ok }) => !ok), ...all.filter(({ ok }) => ok)];
}

/** Whether this gate keeps it out. */
export const isOpen = (gates: readonly Gate[], gate: GateName): boolean =>
  gates.some((one) => one.gate === gate && !one.ok);

const flagGate = ({ flag }: GateFacts): Gate[] =>
  flag === null ? [] : [{ gate: 'flag', ok: false, words: `Kept back: ${flag}`, who: 'technician' }];

function clayGate({ clay }: GateFacts, { cone }: Firing): Gate[] {
  if (!clay) return [];
  const ok = compareCones(clay.maxCone, cone) >= 0;
  const words = ok
    ? `${clay.name} stands cone ${cone}.`
    : `${clay.name} stands cone ${clay.maxCone} at most and would melt at cone ${cone}: choose a cooler firing.`;
  return [{ gate: 'clay-cone', ok, words, who: 'owner' }];
}

/** Whether a raw glaze must melt in a firing of this kind: bisque takes none, and lustre goes over what is fired. */
const mustMelt = (kind: Firing['kind']): boolean => kind !== 'bisque' && kind !== 'lustre';

/** Whether a firing suits what is put on a piece for it; a glaze whose cones nobody wrote down does not. */
export const suits = (cones: { from: string; to: string } | null, { kind, cone }: Firing): boolean =>
  !mustMelt(kind) || (cones !== null && coneWithin(cone, cones.from, cones.to));

/** What glazes that were just put on do not go with, for whoever put them there; null where they go with the firing. */
export function misfitWords(
  glazes: GateFacts['glazes'],
  { kind, cone }: Firing,
  howMany: number,
): string | null {
  if (!mustMelt(kind)) return null;
  const wrong = glazes.flatMap(({ bucket, own, coneFrom, coneTo, load }) =>
    coneFrom === null || coneTo === null || load !== null || coneWithin(cone, coneFrom, coneTo)
      ? []
      : [`${bucket?.name ?? own?.name ?? 'The glaze'} is for ${rangeWords(coneFrom, coneTo)}`],
  );
  if (wrong.length === 0) return null;
  const asks = howMany === 1 ? 'this piece asks' : 'these pieces ask';
  const it = wrong.length === 1 ? 'it' : 'them';
  return `${wrong.join(', ')}; ${asks} for cone ${cone}: choose another firing or wipe ${it} off.`;
}

const rangeWords = (from: string, to: string) => (from === to ? `cone ${from}` : `cone ${from} to ${to}`);

function glazeGates({ glazes }: GateFacts, { kind, cone }: Firing): Gate[] {
  if (kind === 'bisque')
    return glazes.length === 0
      ? []
      : [
          {
            gate: 'glaze-cone',
            ok: false,
            words: 'It carries glaze, and only bare clay is bisqued: choose its glaze firing.',
            who: 'owner',
          },
        ];
  return glazes.flatMap(({ bucket, own, coneFrom, coneTo, load }): Gate[] => {
    if (coneFrom === null || coneTo === null) return [];
    const name = bucket?.name ?? own?.name ?? 'The glaze';
    const ok =
      load === null && mustMelt(kind)
        ? coneWithin(cone, coneFrom, coneTo)
        : compareCones(hotEnd(coneFrom, coneTo), cone) >= 0;
    const words = ok
      ? `${name} takes cone ${cone}.`
      : `${name} is for ${rangeWords(coneFrom, coneTo)}, not cone ${cone}: ${
          load === null ? 'choose another firing or glaze' : 'choose a cooler firing'
        }.`;
    return [{ gate: 'glaze-cone', ok, words, who: 'owner' }];
  });
}

const hotEnd = (one: string, other: string): string => (compareCones(one, other) >= 0 ? one : other);

/** What nobody here can vouch for in this firing: a clay off the list, a glaze from outside, a range not written down. */
export function unknownsOf(
  { clay, ownClay, glazes }: Pick<GateFacts, 'clay' | 'ownClay' | 'glazes'>,
  { kind }: Pick<Firing, 'kind'>,
): string[] {
  const strange = clay ? [] : [`the clay (${ownClay ?? 'not said'})`];
  if (kind === 'bisque') return strange;
  const outside = glazes.flatMap(({ bucket, own, coneFrom, coneTo }) => {
    if (own) return [`the glaze from outside (${own.name})`];
    return coneFrom === null || coneTo === null ? [`the cones of ${bucket?.name ?? 'a glaze'}`] : [];
  });
  return [...strange, ...new Set(outside)];
}

function unknownGate(piece: GateFacts, firing: Firing): Gate[] {
  const unknown = unknownsOf(piece, firing);
  if (unknown.length === 0) return [];
  const what = unknown.join(' and ');
  const ok = piece.yesAt !== null;
  const words = ok
    ? `A technician said yes to ${what}, on a tray.`
    : `Nobody here knows ${what}: a technician says yes to it first, and it stands on a tray.`;
  return [{ gate: 'unknown', ok, words, who: 'technician' }];
}

type RawCoat = Omit<GlazeFacts, 'own' | 'coneFrom' | 'coneTo' | 'isRunny'>;

/**
 * What may run off a piece, as a colleague says it: raw coats over one another that come to more than the studio's most,
 * as far as their thickness is known, and glazes that are known to run where they overlap. Thickness in mm.
 */
export function mixedOf(
  { glazes }: { glazes: readonly RawCoat[] },
  { mostCoatMm }: Pick<WareSettings, 'mostCoatMm'>,
): string[] {
  const raw = glazes.filter(({ load }) => load === null);
  const on = (side: 'inside' | 'outside') => ({
    side,
    over: raw.filter(
      ({ face }) => face === 'all' || face === side || (face === 'over' && side === 'outside'),
    ),
  });
  const sides = raw.every(({ face }) => face === 'all')
    ? [{ side: 'all over', over: raw }]
    : [on('inside'), on('outside')];
  const found = sides.flatMap(({ side, over }) => {
    const known = over.flatMap(({ scratchMm, coatMm }) => scratchMm ?? coatMm ?? []);
    const mm = known.reduce((sum, one) => sum + one, 0);
    const least = known.length < over.length ? 'at least ' : '';
    const thick =
      over.length > 1 && isBeyond(mm, mostCoatMm)
        ? [
            `${over.length} coats ${side} come to ${least}${mmFigure(mm)} mm, and ${mostCoatMm} mm is the most`,
          ]
        : [];
    const runs = over.flatMap(({ bucket, runsWith }, at) =>
      over
        .slice(at + 1)
        .flatMap((upper) =>
          bucket && upper.bucket && runsWith.includes(upper.bucket.code)
            ? [`${upper.bucket.name} over ${bucket.name} runs`]
            : [],
        ),
    );
    return [...thick, ...runs];
  });
  return [...new Set(found)];
}

/** What may run with these coats on that did not before: a yes to the old ones was not about it. */
export function newlyMixed(
  before: readonly RawCoat[],
  after: readonly RawCoat[],
  settings: Pick<WareSettings, 'mostCoatMm'>,
): string[] {
  const known = new Set(mixedOf({ glazes: before }, settings));
  return mixedOf({ glazes: after }, settings).filter((words) => !known.has(words));
}

function mixedGate(piece: GateFacts, { kind }: Firing, settings: WareSettings): Gate[] {
  const mixed = kind === 'bisque' ? [] : mixedOf(piece, settings);
  if (mixed.length === 0) return [];
  const what = mixed.join('; ');
  const ok = piece.yesAt !== null || piece.trayMm > 0;
  const words =
    piece.yesAt !== null
      ? `${what}: a technician said yes to it, on a tray.`
      : ok
        ? `${what}: it stands on a tray of ${piece.trayMm} mm all round.`
        : `${what}: a technician says yes to it first, and a tray catches what runs.`;
  return [{ gate: 'mixed-coat', ok, words, who: 'technician' }];
}

/** Gates that a technician's yes settles. */
const YES_GATES: readonly GateName[] = ['unknown', 'mixed-coat'];

/** Whether a technician's yes is a word on this piece, said already or not. */
export const asksYes = (gates: readonly Pick<Gate, 'gate'>[]): boolean =>
  gates.some(({ gate }) => YES_GATES.includes(gate));

function dryGates({ isBisqued, dryAt, thickestMm }: GateFacts, settings: WareSettings, now: Instant): Gate[] {
  if (isBisqued) return [];
  const dry: Gate =
    dryAt === null
      ? { gate: 'dry', ok: false, words: 'A technician feels whether it is bone dry.', who: 'technician' }
      : { gate: 'dry', ok: true, words: "Bone dry, by a technician's hand.", who: 'technician' };
  const { thickAboveMm, thickWaitDays } = settings;
  if (thickestMm <= thickAboveMm) return [dry];
  const left = dryAt === null ? thickWaitDays : Math.ceil((dryAt + thickWaitDays * DAY - now) / DAY);
  const since = `Thicker than ${thickAboveMm} mm: it dries ${daysWords(thickWaitDays)} more`;
  const words =
    left <= 0
      ? `Thicker than ${thickAboveMm} mm, and has dried ${daysWords(thickWaitDays)} more.`
      : dryAt === null
        ? `${since} once it feels dry.`
        : `${since}, ${left} to go.`;
  return [dry, { gate: 'thick', ok: left <= 0, words, who: 'technician' }];
}

function holeGate({ isClosed, hasHole }: GateFacts): Gate[] {
  if (!isClosed) return [];
  const words = hasHole
    ? 'The closed form has a hole.'
    : 'A closed form needs a hole, or it bursts: make one, then say so.';
  return [{ gate: 'hole', ok: hasHole, words, who: 'owner' }];
}

function footGate({ glazes, footAt }: GateFacts, { kind }: Firing, settings: WareSettings): Gate[] {
  if (kind === 'bisque' || glazes.length === 0) return [];
  const ok = footAt !== null;
  const far = `${heldBackMm(glazes, settings)} mm`;
  const words = ok
    ? `Foot wiped, glaze held back ${far}.`
    : `Wipe the foot and hold the glaze back ${far}, then say so.`;
  return [{ gate: 'foot', ok, words, who: 'owner' }];
}

/** Whether it is asked, as a piece is handed in, that the foot is wiped: not of what had it wiped since it was glazed. */
export const asksFoot = ({
  glazes,
  footAt,
}: Pick<GateFacts, 'footAt'> & { glazes: readonly unknown[] }): boolean =>
  glazes.length > 0 && footAt === null;

/** How far above the foot the glaze must end, mm: further where one of the glazes runs. */
export const heldBackMm = (
  glazes: readonly { isRunny: boolean }[],
  settings: Pick<WareSettings, 'heldBackMm' | 'heldBackRunnyMm'>,
): number => (glazes.some(({ isRunny }) => isRunny) ? settings.heldBackRunnyMm : settings.heldBackMm);
