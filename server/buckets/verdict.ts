import { DAY, HOUR, type Instant, MINUTE } from '../core/clock.ts';
import { chanceInBand, drift, horizon, LEAST_CHANCE } from './drift.ts';
import { type Flow, type FlowBand, flowOf, flowText } from './flow.ts';
import { COVERAGE_95 } from './gravity.ts';
import type { Facts } from './ledger.ts';

/** A retired bucket is shown as `do-not-use`. */
export type StateName =
  | 'ready'
  | 'stir-first'
  | 'too-thick'
  | 'too-thin'
  | 'needs-reading'
  | 'ask-technician'
  | 'on-test'
  | 'do-not-use';

export const STATE_WORDS: Record<StateName, string> = {
  ready: 'Ready to dip',
  'stir-first': 'Stir first',
  'too-thick': 'Too thick',
  'too-thin': 'Too thin',
  'needs-reading': 'Needs a reading',
  'ask-technician': 'Ask the technician',
  'on-test': 'On test',
  'do-not-use': 'Do not use',
};

/** What a bucket is meant to be; gravities on water at 4 °C. */
export interface Settings {
  low: number;
  aim: number;
  high: number;
  stirIntervalMinutes: number;
  readingTrustedHours: number;
  capacityLitres: number;
  /** Left out or null: seconds are not held against anything. */
  flow?: FlowBand | null;
}

export interface Verdict {
  state: StateName;
  /** A sentence or two with their numbers, ± at 95 %. */
  why: string;
  /** Where the gravity lies; null when it is not known well enough. */
  band: 'in' | 'thick' | 'thin' | null;
  /** The limit that lies within one u of a gravity inside the band. */
  edge: 'low' | 'high' | null;
  /** The first instant at which it is no longer ready; null unless it is ready now. */
  readyUntil: Instant | null;
  /** The level was never seen, or more than 7 days or 30 pieces ago. */
  askLevel: boolean;
  /** Why a reading is needed. */
  needs: 'first' | 'old' | 'added' | 'unknown' | 'drift' | null;
  /** How it runs for the water in it; null when that was not seen lately. */
  flow: Flow | null;
}

const LEVEL_TRUSTED = 7 * DAY;
const LEVEL_TRUSTED_PIECES = 30;
const SHIFT_OF_BAND = 1 / 4;
const UNKNOWN_OF_VOLUME = 0.02;
/** Half the last digit a gravity is written to: drift that stays within it would still read as inside. */
const UNREADABLE = 0.005;

/**
 * What to call a bucket now, and why. Rules in this order, the first that applies: service state, needs a reading,
 * too thick or too thin, stiff though the water is right, stir first, ready. Limits belong to the band. A reading's own error never asks for
 * another reading; it only says "close to the edge".
 * @param o.serviceReason why it is out of service, in words; without it the recorded cause is shown
 */
export function verdict(
  f: Facts,
  s: Settings,
  now: Instant,
  o: { serviceReason?: string | null } = {},
): Verdict {
  const needs = readingNeeded(f, s, now);
  const band = needs === null && f.gravity !== null ? bandOf(f.gravity, s) : null;
  const flow = flowOf(f, s.flow ?? null, s.readingTrustedHours, now);
  const state = stateOf(f, s, now, { band, flow });
  const edge = band === 'in' ? edgeOf(f, s) : null;
  return {
    state,
    why: reason(f, s, now, { state, needs, edge, serviceReason: o.serviceReason ?? null }),
    band,
    edge,
    readyUntil: state === 'ready' ? readyUntil(f, s) : null,
    askLevel: levelIsStale(f, now),
    needs,
    flow,
  };
}

/** How long ago, in the words of a note on a lid: 'just now', '25 min ago', '3 h ago', 'yesterday', '2 days ago'. */
export function ago(then: Instant, now: Instant): string {
  const passed = now - then;
  if (passed < MINUTE) return 'just now';
  if (passed < HOUR) return `${Math.floor(passed / MINUTE)} min ago`;
  if (passed < DAY) return `${Math.floor(passed / HOUR)} h ago`;
  const days = Math.floor(passed / DAY);
  if (days === 1) return 'yesterday';
  if (days < 21) return `${days} days ago`;
  const weeks = Math.floor(days / 7);
  return weeks < 9 ? `${weeks} weeks ago` : `${Math.floor(days / 30)} months ago`;
}

/** The 95 % half width of a standard uncertainty, to the decimals it supports: '± 0.02'. */
export function plusMinus(u: number): string {
  const smallest = 0.001;
  return `± ${Math.max(COVERAGE_95 * u, smallest).toFixed(decimals(u))}`;
}

/**
 * A gravity with its 95 % half width, both to the decimals that supports, at least two: '1.52 ± 0.02'. A third is
 * shown where two would carry the value over a limit of the band and so contradict what is said of it.
 */
export function gravityText(value: number, u: number, band?: { low: number; high: number }): string {
  const places = decimals(u);
  const rounded = Number(value.toFixed(places));
  if (band && bandOf(value, band) !== bandOf(rounded, band)) {
    return `${value.toFixed(3)} ± ${Math.max(COVERAGE_95 * u, 0.001).toFixed(3)}`;
  }
  return `${value.toFixed(places)} ${plusMinus(u)}`;
}

function decimals(u: number): number {
  return COVERAGE_95 * u < 0.0095 ? 3 : 2;
}

function stateOf(
  f: Facts,
  s: Settings,
  now: Instant,
  { band, flow }: Pick<Verdict, 'band' | 'flow'>,
): StateName {
  if (f.service === 'do-not-use' || f.service === 'retired') return 'do-not-use';
  if (f.service === 'on-test') return 'on-test';
  if (band === null) return 'needs-reading';
  if (band === 'thick') return 'too-thick';
  if (band === 'thin') return 'too-thin';
  if (flow === 'stiff') return 'ask-technician';
  return stirIsDue(f, s, now) ? 'stir-first' : 'ready';
}

function readingNeeded(f: Facts, s: Settings, now: Instant): Verdict['needs'] {
  if (f.readingAt === null) return 'first';
  if (now - f.readingAt >= s.readingTrustedHours * HOUR) return 'old';
  if (exceeds(f.shift, (s.high - s.low) * SHIFT_OF_BAND)) return 'added';
  if (f.unpredictable || f.gravity === null) return 'unknown';
  if (exceeds(f.unknownLitres, (f.litres ?? 0) * UNKNOWN_OF_VOLUME)) return 'unknown';
  const until = driftHorizon(f, s);
  return until !== null && now >= until ? 'drift' : null;
}

/** When drift alone makes a reading necessary; null when it does not, or nothing is known of it. */
function driftHorizon(f: Facts, s: Settings): Instant | null {
  if (f.readingAt === null || f.readingGravity === null) return null;
  const d = drift(f.recent);
  if (d === null || bandOf(f.readingGravity, s) !== 'in') return null;
  return horizon(f.readingAt, f.readingGravity, d, s.low - UNREADABLE, s.high + UNREADABLE);
}

function bandOf(gravity: number, s: { low: number; high: number }): 'in' | 'thick' | 'thin' {
  if (exceeds(gravity, s.high)) return 'thick';
  return exceeds(s.low, gravity) ? 'thin' : 'in';
}

function edgeOf(f: Facts, s: Settings): Verdict['edge'] {
  const gravity = f.gravity ?? s.aim;
  const toHigh = s.high - gravity;
  const toLow = gravity - s.low;
  if (exceeds(Math.min(toHigh, toLow), f.gravityU)) return null;
  return exceeds(toHigh, toLow) ? 'low' : 'high';
}

function stirIsDue(f: Facts, s: Settings, now: Instant): boolean {
  return f.stirredAt === null || now - f.stirredAt >= s.stirIntervalMinutes * MINUTE;
}

function readyUntil(f: Facts, s: Settings): Instant {
  return Math.min(
    (f.stirredAt ?? 0) + s.stirIntervalMinutes * MINUTE,
    (f.readingAt ?? 0) + s.readingTrustedHours * HOUR,
    driftHorizon(f, s) ?? Number.POSITIVE_INFINITY,
  );
}

function levelIsStale(f: Facts, now: Instant): boolean {
  if (f.litres === null || f.levelSeenAt === null) return true;
  return now - f.levelSeenAt > LEVEL_TRUSTED || f.piecesSinceLevel > LEVEL_TRUSTED_PIECES;
}

/** a > b, blind to what floating point adds: 1.48 does not exceed a limit of 1.48. */
function exceeds(a: number, b: number): boolean {
  return Math.round(a * 1e9) > Math.round(b * 1e9);
}

interface Grounds {
  state: StateName;
  needs: Verdict['needs'];
  edge: Verdict['edge'];
  serviceReason: string | null;
}

function reason(f: Facts, s: Settings, now: Instant, g: Grounds): string {
  switch (g.state) {
    case 'do-not-use':
    case 'on-test':
      return serviceText(f, now, g.serviceReason);
    case 'too-thick':
      return `Needs water. ${wanted(f, s)}. A dip now leaves a thicker coat than wanted.`;
    case 'too-thin':
      return `Too much water in it. ${wanted(f, s)}. A dip now leaves a thinner coat than wanted.`;
    case 'ask-technician':
      return `Right amount of water but stiff: do not add water. ${wanted(f, s)}${edgeText(g.edge)}; ${stiffText(f, s, now)}.`;
    case 'stir-first':
      return `${stirText(f, s, now)} ${wanted(f, s)}${edgeText(g.edge)}.${emptyText(f, s)}`;
    case 'ready':
      return `Ready. Stir to the bottom, then dip; stir again every few pieces. ${wanted(f, s)}${edgeText(g.edge)}.${emptyText(f, s)}`;
    default:
      return `${needsText(f, s, now, g.needs)} Stir to the bottom, then check SG.`;
  }
}

function serviceText(f: Facts, now: Instant, words: string | null): string {
  const what = {
    'on-test': 'New batch on test until a fired tile is accepted',
    retired: 'This bucket is retired',
    'do-not-use': 'Do not dip from this bucket',
    'in-service': 'In service',
  }[f.service];
  const cause = (words ?? f.serviceCause?.replaceAll('-', ' ') ?? '').trim().replace(/\.+$/, '');
  const since = f.serviceSince === null ? '' : ` Set ${ago(f.serviceSince, now)}.`;
  return `${what}${cause && `: ${cause}`}.${since}`;
}

function needsText(f: Facts, s: Settings, now: Instant, needs: Verdict['needs']): string {
  const read = f.readingAt === null ? '' : ago(f.readingAt, now);
  switch (needs) {
    case 'old':
      return `Last read ${read}; a reading is trusted for ${span(s.readingTrustedHours * 60)}.`;
    case 'added':
      return (
        `What was added or taken off since the reading ${read} moves SG by about ${f.shift.toFixed(2)}` +
        `${f.gravity === null ? '' : `, to a predicted ${gravityText(f.gravity, f.gravityU)}`}.`
      );
    case 'unknown':
      return unknownText(f, read);
    case 'drift':
      return driftText(f, s, now, read);
    default:
      return f.gravity === null
        ? 'No reading yet.'
        : `No reading yet; the set-up predicts SG ${gravityText(f.gravity, f.gravityU)}.`;
  }
}

function unknownText(f: Facts, read: string): string {
  if (f.unpredictable || !f.litres) {
    return `Something was added or taken off since the reading ${read} while the level was not known.`;
  }
  const percent = (100 * f.unknownLitres) / f.litres;
  const figure = percent < 10 ? percent.toFixed(1) : percent.toFixed(0);
  return `Rinse of unknown gravity went in since the reading ${read}, ${figure} % of what the bucket holds now.`;
}

function driftText(f: Facts, s: Settings, now: Instant, read: string): string {
  const d = drift(f.recent);
  const gravity = f.readingGravity ?? s.aim;
  const days = (now - (f.readingAt ?? now)) / DAY;
  const chance = d ? chanceInBand(gravity, d, days, s.low - UNREADABLE, s.high + UNREADABLE) : 0;
  const perDay = d?.perDay ?? 0;
  return (
    `Read ${gravityText(gravity, f.gravityU)} ${read}, drifting by ${perDay < 0 ? '−' : '+'}` +
    `${Math.abs(perDay).toFixed(3)} a day: the chance that it still lies within half a hundredth of ${bandText(s)} is ` +
    `${Math.floor(100 * Math.min(chance, LEAST_CHANCE))} %.`
  );
}

function stirText(f: Facts, s: Settings, now: Instant): string {
  const every = `every ${span(s.stirIntervalMinutes)}`;
  if (f.stirredAt === null) return `No stir recorded; stir to the bottom first, then ${every}.`;
  return `Last stirred ${ago(f.stirredAt, now)}, wants it ${every}: stir to the bottom first.`;
}

function stiffText(f: Facts, s: Settings, now: Instant): string {
  const seen = f.flowAt === null ? '' : `, seen ${ago(f.flowAt, now)}`;
  return flowText(f, s.flow ?? null) + seen;
}

/** Under a tenth of what it holds there is hardly a piece to be covered. */
function emptyText(f: Facts, s: Settings): string {
  if (f.litres === null || f.litres >= s.capacityLitres / 10) return '';
  return ' Nearly empty by the ledger: look before you carry ware over.';
}

function edgeText(edge: Verdict['edge']): string {
  if (edge === null) return '';
  return edge === 'high' ? ', close to the edge (thick side)' : ', close to the edge (thin side)';
}

function wanted(f: Facts, s: Settings): string {
  const basis = f.gravityBasis === 'predicted' ? ' predicted' : '';
  return `SG ${gravityText(f.gravity ?? s.aim, f.gravityU, s)}${basis}, wanted ${bandText(s)}`;
}

function bandText(s: Settings): string {
  return `${limit(s.low)} to ${limit(s.high)}`;
}

/** Two decimals, a third only when the limit has one. */
function limit(value: number): string {
  return value.toFixed(3).replace(/0$/, '');
}

/** A stretch of time in words: '5 min', '3 h', 'a day', '7 days'. */
export function span(minutes: number): string {
  if (minutes < 60) return `${minutes} min`;
  const hours = minutes / 60;
  if (hours < 24 || hours % 24 !== 0) return `${Number(hours.toFixed(1))} h`;
  return hours === 24 ? 'a day' : `${hours / 24} days`;
}
