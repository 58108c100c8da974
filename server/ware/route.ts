import { HOUR, type Instant } from '../core/clock.ts';
import { dryingTime, isDryEnough, shareOfWaterGone } from './drying.ts';
import type { PieceEvent, PieceEventPayload } from './fold.ts';
import type { WareSettings } from './settings.ts';

// How a piece is glazed: what goes where, what was done of it, and whether its wall is dry enough for the next coat.

/** Where a coat is: in the piece, outside, over another one, or all over it at once. */
export const COAT_FACES = ['inside', 'outside', 'over', 'all'] as const;
export type CoatFace = (typeof COAT_FACES)[number];

export const COAT_WAYS = ['dip', 'pour'] as const;
export type CoatWay = (typeof COAT_WAYS)[number];

/** When in its life a piece was weighed: before any glaze, just glazed, or while it dries. */
export const WEIGHING_MOMENTS = ['bare', 'glazed', 'later'] as const;
export type WeighingMoment = (typeof WEIGHING_MOMENTS)[number];

/** How somebody told that the inside is dry: not cold to the cheek, or by the scale. */
export const DRY_HOWS = ['cheek', 'scale'] as const;
export type DryHow = (typeof DRY_HOWS)[number];

/** What goes where, by the codes of buckets; overlaps in the order they go on. */
export interface Plan {
  inside: string | null;
  outside: string | null;
  over: string[];
}

/** One coat as it went on, for the ledger. */
export interface CoatPut {
  glaze: string;
  face: CoatFace;
  way: CoatWay;
  /** So long in the glaze, or the glaze in it; null where nobody counted. */
  seconds: number | null;
  /** What the bucket held then. */
  gravity: number | null;
  reading: number | null;
  batch: number | null;
  /** Dry thickness, and what it follows from. */
  mm: number | null;
  from: 'weighed' | 'tiles' | null;
  /** The piece before and just after it; null where it was not weighed. */
  beforeGrams: number | null;
  afterGrams: number | null;
  /** Mass fraction of solids of the slurry. */
  solidsFraction: number | null;
  /** Slurry it took; null where nobody can tell. */
  litres: number | null;
  /** The bucket's ledger has no line of it: the bucket was not to be used. */
  unbooked?: boolean | undefined;
}

export interface Coat extends CoatPut {
  /** The number of its event. */
  event: number;
  at: Instant;
}

/** Where a piece is on its way from bisque to the kiln, by its ledger since it was last fired or glazed otherwise. */
export interface Route {
  plan: Plan | null;
  waxedAt: Instant | null;
  coats: Coat[];
  /** Since the last coat, not struck out, in order of time: the one just after it first, where there is one. */
  weighings: { event: number; at: Instant; grams: number }[];
  /** Its weight before any glaze. */
  bareGrams: number | null;
  /** Somebody said that it is dry after its last coat. */
  insideDryAt: Instant | null;
  /** Foot wiped and glaze line checked after its last coat. */
  footAt: Instant | null;
}

/** Whether the wall may take its next coat. */
export interface Wetness {
  /** Nothing on it; too wet; dry by the scale or the clock; said to be dry by a person. */
  state: 'bare' | 'wet' | 'dry' | 'said-dry';
  /** What says so. */
  by: 'scale' | 'clock' | 'hand' | null;
  /** When it will be ready, where it is not: by its drying curve, else by the clock. */
  readyAt: Instant | null;
  range: { low: Instant; high: Instant } | null;
  /** Share of the water gone by the last weighing. */
  shareGone: number | null;
  /** Water in the wall a coat later, g; 0 where it is dry or nothing is on it; null where nobody can tell. */
  waterGrams: number | null;
  /** Wet, and its next coat is one that waits for it: an overlap over what was just dipped does not. */
  asksWait: boolean;
}

/** One line of the poster. */
export interface RouteStep {
  words: string;
  /** One of the three things that are ticked. */
  tick: 'waxed' | 'inside-dry' | 'outside' | null;
  isDone: boolean;
}

const START: Route = {
  plan: null,
  waxedAt: null,
  coats: [],
  weighings: [],
  bareGrams: null,
  insideDryAt: null,
  footAt: null,
};

/**
 * Where a piece is on its way, by its events in the order of their numbers: since it last came out of a kiln, was sent
 * to another firing, or somebody said otherwise what it was glazed with. Grams and Instants. Weighings that were struck
 * out count nowhere, those of a coat neither. Total: every ledger has its route.
 */
export function routeOf(events: readonly (PieceEvent & { number: number })[]): Route {
  const struck = new Set(
    events.flatMap(({ kind, payload }) => (kind === 'weighing-struck' ? (payload.voids ?? []) : [])),
  );
  return events.reduce((route, event) => step(route, event, struck.has(event.number)), START);
}

function step(route: Route, event: PieceEvent & { number: number }, isStruck: boolean): Route {
  const { kind, at, number, payload } = event;
  switch (kind) {
    case 'planned':
      return payload.plan ? { ...route, plan: isEmpty(payload.plan) ? null : payload.plan } : route;
    case 'waxed':
      return { ...route, waxedAt: at };
    case 'coated':
      return payload.coat ? coated(route, event, payload.coat, isStruck) : route;
    case 'weighed':
      return payload.weighing && !isStruck ? weighed(route, { event: number, at }, payload.weighing) : route;
    case 'inside-dry':
      return { ...route, insideDryAt: at };
    case 'handed-in':
      return payload.heldBack ? { ...route, footAt: at } : route;
    case 'returned':
      return payload.reason === 'foot' ? { ...route, footAt: null } : route;
    case 'glazed':
    case 'came-out':
    case 'another-firing':
      return START;
    default:
      return route;
  }
}

/** Whether nothing is planned anywhere. */
export const isEmpty = ({ inside, outside, over }: Plan): boolean =>
  inside === null && outside === null && over.length === 0;

function coated(
  route: Route,
  { number, at, payload }: PieceEvent & { number: number },
  put: CoatPut,
  isStruck: boolean,
): Route {
  const isFirst = route.coats.length === 0;
  const beforeGrams = isStruck ? null : (put.beforeGrams ?? (isFirst ? route.bareGrams : null));
  const afterGrams = isStruck ? null : put.afterGrams;
  // Its bare weight may be struck out by itself.
  const isUnweighed = put.from === 'weighed' && (beforeGrams === null || afterGrams === null);
  const thickness = isUnweighed ? { mm: null, from: null } : {};
  const coat: Coat = { ...put, ...thickness, beforeGrams, afterGrams, event: number, at };
  return {
    ...route,
    coats: [...route.coats, coat],
    weighings: afterGrams === null ? [] : [{ event: number, at, grams: afterGrams }],
    bareGrams: isFirst ? (coat.beforeGrams ?? route.bareGrams) : route.bareGrams,
    insideDryAt: null,
    footAt: payload.heldBack ? at : null,
  };
}

function weighed(
  route: Route,
  when: { event: number; at: Instant },
  { grams, moment, mm }: NonNullable<PieceEventPayload['weighing']>,
): Route {
  if (moment === 'bare') return route.coats.length === 0 ? { ...route, bareGrams: grams } : route;
  const last = route.coats.at(-1);
  const weighings = [...route.weighings, { ...when, grams }];
  // Weighed just glazed, though not in the same act as its coat.
  if (moment === 'glazed' && last && last.afterGrams === null && route.weighings.length === 0) {
    const thickness = mm === undefined || last.beforeGrams === null ? {} : { mm, from: 'weighed' as const };
    const coat = { ...last, ...thickness, afterGrams: grams };
    return { ...route, weighings, coats: [...route.coats.slice(0, -1), coat] };
  }
  return { ...route, weighings };
}

/**
 * What a piece weighs once all its glaze is dry, g: its bare weight and its dry coats, or where not every coat was
 * weighed, what it weighed before the last one and that one dry, as if it had been dry then. Null where nobody knows.
 */
export function dryGramsOf({ bareGrams, coats }: Pick<Route, 'bareGrams' | 'coats'>): number | null {
  const dry = coats.map(dryCoatOf);
  const last = coats.at(-1);
  const lastDry = dry.at(-1);
  if (!last || lastDry === undefined || lastDry === null) return null;
  if (bareGrams !== null && dry.every((grams) => grams !== null))
    return dry.reduce<number>((sum, grams) => sum + (grams ?? 0), bareGrams);
  return last.beforeGrams === null ? null : last.beforeGrams + lastDry;
}

/** Solids that a weighed coat brought, g; null where it was not weighed. */
function dryCoatOf({ beforeGrams, afterGrams, solidsFraction }: Coat): number | null {
  if (beforeGrams === null || afterGrams === null || solidsFraction === null) return null;
  return afterGrams > beforeGrams ? (afterGrams - beforeGrams) * solidsFraction : null;
}

/** With more than this of its water left a wall that loses none is covered or stands damp, but is not dry. No source. */
const HALF = 0.5;

/**
 * Whether the wall may take its next coat, by what is known best. The scale: the studio's share of the water is gone,
 * or two weighings half an hour apart lie within a gram and no more than half of it is known to be there; else its
 * drying curve, which predicts; else the clock, from the coat or from the last weighing that found it wet. A person's
 * word outdoes all of it, but for a later weighing that finds it wet. Times are Instants, water in g.
 */
export function wetnessOf(route: Route, settings: WareSettings, now: Instant): Wetness {
  const last = route.coats.at(-1);
  const nothing = { by: null, readyAt: null, range: null, shareGone: null, waterGrams: 0, asksWait: false };
  if (!last) return { state: 'bare', ...nothing };
  const enough = settings.waterGonePercent / 100;
  const dryGrams = dryGramsOf(route);
  const weighings = route.weighings.map(({ at, grams }) => ({ hours: (at - last.at) / HOUR, grams }));
  const latest = route.weighings.at(-1);
  const wet = wetGain(last, dryGrams);
  const shareGone = wet && latest ? shareOfWaterGone({ ...wet, nowGrams: latest.grams }) : null;
  const isDry = { ...nothing, shareGone };
  const isEnough =
    isDryEnough(weighings, wet, enough) && (shareGone === null || shareGone >= Math.min(HALF, enough));
  const foundWet =
    latest !== undefined && latest.event !== last.event && shareGone !== null && !isEnough ? latest : null;

  if (route.insideDryAt !== null && !(foundWet && foundWet.at > route.insideDryAt))
    return { state: 'said-dry', ...isDry, by: 'hand' };
  if (isEnough) return { state: 'dry', ...isDry, by: 'scale' };

  const asksWait = !goesOverWet(route, nextCoat(route)?.face);
  const left = latest && dryGrams !== null ? Math.max(0, latest.grams - dryGrams) : null;
  const curve =
    dryGrams === null || wet === null || !(enough < 1) ? null : dryingTime(weighings, dryGrams, 1 - enough);
  if (curve && curve.readyAtHours !== null) {
    const at = (hours: number): Instant => Math.round(last.at + hours * HOUR);
    const readyAt = at(curve.readyAtHours);
    if (readyAt <= now) return { state: 'dry', ...isDry, by: 'scale' };
    const first = weighings[0]?.grams ?? 0;
    const lengths = (readyAt - now) / HOUR / curve.timeConstantHours;
    const byNow = (1 - enough) * (first - (dryGrams ?? 0)) * Math.exp(lengths);
    return {
      state: 'wet',
      by: 'scale',
      readyAt,
      range: { low: at(curve.range.low), high: at(curve.range.high) },
      shareGone,
      waterGrams: left === null ? byNow : Math.min(left, byNow),
      asksWait,
    };
  }
  const readyAt = (foundWet ?? last).at + settings.dryBackHours * HOUR;
  if (readyAt <= now) return { state: 'dry', ...isDry, by: 'clock' };
  const by = foundWet ? 'scale' : 'clock';
  return { state: 'wet', by, readyAt, range: null, shareGone, waterGrams: left, asksWait };
}

/** What the last coat brought, as drying asks for it: all water that was in the piece then counts. */
function wetGain({ afterGrams, solidsFraction }: Coat, dryGrams: number | null) {
  if (afterGrams === null || solidsFraction === null || dryGrams === null) return null;
  if (!(solidsFraction > 0 && solidsFraction < 1) || !(afterGrams > dryGrams)) return null;
  return {
    justGlazedGrams: afterGrams,
    wetGainGrams: (afterGrams - dryGrams) / (1 - solidsFraction),
    solidsFraction,
  };
}

/**
 * Whether a coat here waits for no wall: an overlap goes on as soon as what was just dipped no longer shines. Common
 * practice, no source.
 */
export const goesOverWet = ({ coats }: Pick<Route, 'coats'>, face: CoatFace | undefined): boolean =>
  face === 'over' && coats.at(-1)?.face !== 'inside';

/** What is planned, and what of it is on in the order it went on. */
interface Planned {
  plan: Plan | null;
  coats: readonly Pick<CoatPut, 'face' | 'glaze'>[];
}

/**
 * The coat that its plan asks for next: inside, outside, then the overlaps; all over at once where inside and outside
 * are the same and it is bare. Null where all are on, or nothing is planned. A face that got another glaze than planned
 * is glazed all the same.
 */
export function nextCoat({ plan, coats }: Planned): { face: CoatFace; glaze: string } | null {
  if (plan === null) return null;
  const { inside, outside, over } = plan;
  if (inside !== null && inside === outside && coats.length === 0) return { face: 'all', glaze: inside };
  if (inside !== null && !isGlazed(plan, coats, 'inside')) return { face: 'inside', glaze: inside };
  if (outside !== null && !isGlazed(plan, coats, 'outside')) return { face: 'outside', glaze: outside };
  const glaze = over[coats.filter(({ face }) => face === 'over').length];
  return glaze === undefined ? null : { face: 'over', glaze };
}

/** All over in the glaze of the other face is only the other face's. */
const isGlazed = (plan: Plan, coats: Planned['coats'], at: 'inside' | 'outside'): boolean =>
  coats.some(
    ({ face, glaze }) =>
      face === at ||
      (face === 'all' && (glaze === plan[at] || glaze !== plan[at === 'inside' ? 'outside' : 'inside'])),
  );

/** Which faces of the wall drink glaze, by what is planned, what is on and the coat that comes. */
export function drinkingFaces({ plan, coats }: Planned, coming: CoatFace): 'inside' | 'outside' | 'all' {
  const faces = [coming, ...coats.map(({ face }) => face)];
  const inside = (plan !== null && plan.inside !== null) || faces.includes('inside');
  const outside =
    (plan !== null && plan.outside !== null) || faces.some((one) => one === 'outside' || one === 'over');
  if (faces.includes('all') || (inside && outside)) return 'all';
  return inside ? 'inside' : 'outside';
}

/** Whether every coat is on that its plan asks for; of a piece without a plan, whether it has one at all. */
export const isThrough = (route: Planned): boolean => route.coats.length > 0 && nextCoat(route) === null;

/**
 * The whole way as the poster says it, each line with whether it is done: only what the plan asks for, or everything
 * without a plan. At most three of them are ticked. Of a wall that is dry by scale or clock, it has dried though nobody
 * said so.
 */
export function routeSteps(
  plan: Plan | null,
  route: Route | null,
  wall: Wetness['state'] = 'bare',
): RouteStep[] {
  const coats = route?.coats ?? [];
  const isOn = (at: 'inside' | 'outside') =>
    plan ? isGlazed(plan, coats, at) : coats.some(({ face }) => face === at || face === 'all');
  const isLined = isOn('inside');
  const isDipped = isOn('outside');
  const isBegun = coats.length > 0;
  const footDone = isBegun && route !== null && route.footAt !== null;
  const isWaxed = route !== null && route.waxedAt !== null;
  const isFelt = isBegun && route !== null && (route.insideDryAt !== null || wall === 'dry');
  const line = (words: string, isDone: boolean, tick: RouteStep['tick'] = null): RouteStep => ({
    words,
    tick,
    isDone,
  });
  const { inside = null, outside = null, over = [] } = plan ?? {};
  const isAllOver = inside !== null && inside === outside && coats.every(({ face }) => face === 'all');
  const lines = plan === null || (inside !== null && !isAllOver);
  const dips = plan === null || outside !== null;
  const overlaps = plan === null ? [null] : over;
  const overs = coats.filter(({ face }) => face === 'over').length;
  const isAll =
    plan !== null && route !== null ? isThrough({ plan, coats }) : isBegun && (isDipped || isLined);
  return [
    line('Wipe the bisque with a damp sponge', isWaxed || isBegun),
    line('No grease: touch it with clean hands only', isWaxed || isBegun),
    line('Wax the foot', isWaxed, 'waxed'),
    ...(lines
      ? [
          line(`Line it${inside ? ` with ${inside}` : ''}: pour in, turn, pour out`, isLined),
          ...(dips
            ? [
                line('Sponge the drips off the outside', isLined && (isFelt || isDipped)),
                line(
                  'Let it dry until it is no longer cold to the cheek',
                  isLined && (isFelt || isDipped),
                  'inside-dry',
                ),
              ]
            : []),
        ]
      : []),
    ...(dips
      ? [
          line(
            isAllOver ? `Dip it all over in ${outside}` : `Dip the outside${outside ? ` in ${outside}` : ''}`,
            isDipped,
            'outside',
          ),
        ]
      : []),
    ...overlaps.map((glaze, at) => line(`Overlap${glaze ? ` with ${glaze}` : 's'}`, overs > at)),
    line('Wipe the foot', footDone),
    line('Check the glaze line', footDone),
    line('Ready for the kiln', footDone && isAll),
  ];
}
