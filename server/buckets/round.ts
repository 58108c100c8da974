import { DAY, type Instant } from '../core/clock.ts';
import { type UnitSystem, volume } from '../core/units.ts';
import { type FlowBand, flowText } from './flow.ts';
import type { Entry, Instrument } from './kinds.ts';
import type { Facts } from './ledger.ts';
import { ago, type Verdict, verdict } from './verdict.ts';

// The morning round: who is on the list and why, where a person is in it, and what each bucket is measured with.

/** Why a bucket is on the list. */
export type Why =
  | 'problem'
  | 'thick'
  | 'thin'
  | 'flow-off'
  | 'first'
  | 'old'
  | 'added'
  | 'unknown'
  | 'drift'
  | 'soon'
  | 'used'
  | 'flow-old';

/** A bucket as the round looks at it. */
export interface RoundBucket {
  target: { low: number; aim: number; high: number };
  stirIntervalMinutes: number;
  readingTrustedHours: number;
  capacityLitres: number;
  facts: Facts;
  verdict: Verdict;
  /** Its band of seconds, where flow is watched. */
  flow: FlowBand | null;
  /** Dipped since the last reading that counts. */
  used: { pieces: number; litres: number };
  /** What was reported and not settled since, in words. */
  problem: string | null;
}

/** Common practice, no source: a tenth dipped away, or a piece for every litre, is worth a look. */
const USED_SHARE = 0.1;
const PIECES_A_LITRE = 1;

/**
 * Why this bucket needs a check now, the most pressing first; empty when it needs none. What nobody may dip from
 * waits for whoever puts it back, not for the round.
 */
export function whyCheck(b: RoundBucket, now: Instant): Why[] {
  const { service } = b.facts;
  if (service === 'do-not-use' || service === 'retired') return [];
  const { band, needs, flow } = b.verdict;
  const why: (Why | null | false)[] = [
    b.problem !== null && 'problem',
    band === 'thick' && 'thick',
    band === 'thin' && 'thin',
    band === 'in' && (flow === 'stiff' || flow === 'runny') && 'flow-off',
    needs ?? soon(b, now),
    usedMuch(b) && 'used',
    b.flow !== null && flow === null && 'flow-old',
  ];
  return why.filter((one): one is Why => Boolean(one));
}

/** A reason in a few words. */
export function whyWords(why: Why, b: RoundBucket, o: { now: Instant; units: UnitSystem }): string {
  const { facts, used } = b;
  const read = facts.readingAt === null ? 'never read' : `read ${ago(facts.readingAt, o.now)}`;
  switch (why) {
    case 'problem':
      return `problem: ${lowerFirst(b.problem ?? '')}`;
    case 'thick':
    case 'thin':
      return `too ${why}: ${(facts.gravity ?? 0).toFixed(2)}, ${read}`;
    case 'flow-off':
      return `${b.verdict.flow}: ${flowText(facts, b.flow)}`;
    case 'first':
      return 'never read';
    case 'old':
      return read;
    case 'soon':
      return `${read}, due again within a day`;
    case 'added':
      return `changed since it was ${read}`;
    case 'unknown':
      return `something unknown went in since it was ${read}`;
    case 'drift':
      return 'wandering out of its band';
    case 'used':
      return `${used.pieces} ${used.pieces === 1 ? 'piece' : 'pieces'}, about ${volume(used.litres, o.units)} dipped since it was ${read}`;
    case 'flow-old':
      return facts.flowAt === null
        ? 'flow not seen since it was changed'
        : `flow seen ${ago(facts.flowAt, o.now)}`;
  }
}

/**
 * What becomes due before tomorrow's round. It looks no farther ahead than the reading is old, so that a bucket
 * that wants a reading every day is not on the list again as soon as it was read.
 */
function soon(b: RoundBucket, now: Instant): 'soon' | 'drift' | null {
  if (b.facts.readingAt === null) return null;
  const ahead = now + Math.min(DAY, Math.max(0, now - b.facts.readingAt));
  const { needs } = verdict(b.facts, { ...b, ...b.target }, ahead);
  if (needs === 'old') return 'soon';
  return needs === 'drift' ? 'drift' : null;
}

function usedMuch({ facts, used, capacityLitres }: RoundBucket): boolean {
  if (facts.readingAt === null) return false;
  const held = facts.litres === null ? capacityLitres : facts.litres + used.litres;
  return used.litres > held * USED_SHARE + 1e-9 || used.pieces > held * PIECES_A_LITRE;
}

const lowerFirst = (words: string): string => words.charAt(0).toLowerCase() + words.slice(1);

/** Where a person is in a round; all of it stands in the address. */
export interface Place {
  /** Codes of the round's buckets in wall order. */
  of: string[];
  at: number;
  /** When the round began: what was read since belongs to it. */
  since: Instant;
  /** What everything is measured with; null: each as it was last. */
  with: string | null;
}

const MOST_BUCKETS = 200;

export function roundAddress(path: string, { of, at, since, with: tool }: Partial<Place>): string {
  const query = new URLSearchParams();
  if (of !== undefined) query.set('of', of.join('.'));
  if (at !== undefined) query.set('at', String(at));
  if (since !== undefined) query.set('since', String(since));
  if (tool) query.set('with', tool);
  return query.size > 0 ? `${path}?${query}` : path;
}

/** Reads what `roundAddress` wrote; whatever else somebody typed there is left out. */
export function readPlace(
  query: Record<string, unknown>,
  now: Instant,
): Omit<Place, 'of'> & { of: string[] | null } {
  const word = (name: string) => (typeof query[name] === 'string' ? query[name] : '');
  const codes = word('of')
    .split('.')
    .filter((code) => /^[A-Za-z0-9-]{1,12}$/.test(code));
  const of = [...new Set(codes)].slice(0, MOST_BUCKETS);
  const number = (name: string) => (/^\d{1,14}$/.test(word(name)) ? Number(word(name)) : null);
  return {
    of: of.length > 0 ? of : null,
    at: Math.min(number('at') ?? 0, of.length),
    since: Math.min(number('since') ?? now, now),
    with: word('with') || null,
  };
}

/** One way to measure with one number: which number to ask for, and what goes with it into the reading. */
export interface Ask {
  /** Says all of it, so that it can stand in an address or a form: 'cup:C1', 'weighed:100', 'float:F1'. */
  id: string;
  tool: string;
  field: 'grams' | 'value' | 'millimetres';
  label: string;
  unit: string;
  fixed: Record<string, string>;
}

export interface Gear {
  cups: { code: string; name: string }[];
  floats: { code: string; name: string; calibration: object | null }[];
  instruments: Pick<Instrument, 'kind' | 'code' | 'name' | 'scale'>[];
}

const SCALE_UNITS = { sg: '', twaddell: '°Tw', baume: '°Bé' } as const;
const USUAL_ML = 100;

/** The way an id says; null when it is none, or what it names is no longer in use. */
export function askFor(id: string, gear: Gear): Ask | null {
  const [how, which = ''] = id.split(':');
  switch (how) {
    case 'cup': {
      const cup = gear.cups.find(({ code }) => code === which);
      if (!cup) return null;
      return {
        id,
        tool: `${cup.name} ${cup.code}`,
        field: 'grams',
        label: 'Cup and glaze together',
        unit: 'g',
        fixed: { method: 'weighed', vessel: cup.code },
      };
    }
    case 'weighed':
      if (!/^[1-9]\d{0,4}(\.\d{1,3})?$/.test(which)) return null;
      return {
        id,
        tool: `${which} mL on a scale`,
        field: 'grams',
        label: `${which} mL of glaze weigh`,
        unit: 'g',
        fixed: { method: 'weighed', millilitres: which },
      };
    case 'hydrometer':
      if (!Object.hasOwn(SCALE_UNITS, which)) return null;
      return {
        id,
        tool: 'Hydrometer',
        field: 'value',
        label: 'The hydrometer reads',
        unit: SCALE_UNITS[which as keyof typeof SCALE_UNITS],
        fixed: { method: 'hydrometer', scale: which },
      };
    case 'instrument': {
      const own = gear.instruments.find(({ kind, code }) => kind === 'hydrometer' && code === which);
      if (!own) return null;
      return {
        id,
        tool: `${own.name} ${own.code}`,
        field: 'value',
        label: 'The hydrometer reads',
        unit: SCALE_UNITS[own.scale ?? 'sg'],
        fixed: { method: 'hydrometer', instrument: own.code },
      };
    }
    case 'float': {
      const own = gear.floats.find(({ calibration, code }) => calibration !== null && code === which);
      if (!own) return null;
      return {
        id,
        tool: `${own.name} ${own.code}`,
        field: 'millimetres',
        label: 'The float stands at',
        unit: 'mm',
        fixed: { method: 'float', float: own.code },
      };
    }
    default:
      return null;
  }
}

/** Every way that the studio's gear allows. */
export function everyAsk(gear: Gear): Ask[] {
  const hydrometers = gear.instruments.filter(({ kind }) => kind === 'hydrometer');
  const ids = [
    ...gear.cups.map(({ code }) => `cup:${code}`),
    ...gear.floats.map(({ code }) => `float:${code}`),
    ...hydrometers.map(({ code }) => `instrument:${code}`),
    `weighed:${USUAL_ML}`,
    ...(hydrometers.length > 0 ? [] : ['hydrometer:sg']),
  ];
  return ids.flatMap((id) => askFor(id, gear) ?? []);
}

/** The way that was wanted, else as the bucket was last read, else the first there is: the studio's cup. */
export function chooseAsk(wanted: string | null, last: Entry | null, gear: Gear): Ask {
  const ids = [wanted, last && asLast(last)].filter((id) => id !== null);
  const asks = ids.flatMap((id) => askFor(id, gear) ?? []);
  return asks[0] ?? (everyAsk(gear)[0] as Ask);
}

function asLast(entry: Entry): string | null {
  if (entry.kind !== 'reading') return null;
  const { vessel, millilitres = USUAL_ML, scale = 'sg', instrument, float } = entry.typed ?? {};
  switch (entry.method) {
    case 'cup':
      return `cup:${vessel}`;
    case 'float':
      return `float:${float}`;
    case 'hydrometer':
      return instrument === undefined ? `hydrometer:${scale}` : `instrument:${instrument}`;
    case 'weighed':
      return `weighed:${millilitres}`;
  }
}

/** Whether a bucket wants its flow seen, and whether only that. */
export function flowAsked(why: Why[]): 'only' | 'too' | null {
  const wanted = why.filter((one) => one === 'flow-old' || one === 'flow-off');
  if (wanted.length === 0) return null;
  return wanted.length === why.length ? 'only' : 'too';
}
