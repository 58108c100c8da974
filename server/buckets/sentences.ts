import type { Instant } from '../core/clock.ts';
import { fromKg, fromLitres, mass, massUnit, type UnitSystem, volume, volumeUnit } from '../core/units.ts';
import type { Way } from './advice.ts';
import { jump } from './drift.ts';
import { flowText } from './flow.ts';
import type { Entry } from './kinds.ts';
import type { Facts, ServiceState } from './ledger.ts';
import { jugs, usMeasure } from './pour.ts';
import { PROBLEMS, type Problem } from './problems.ts';
import { ago, gravityText, type Verdict } from './verdict.ts';

// What happened, and what to do, as a colleague would say it at the bucket. A person's units, SI in.

/** A title that says what to do, and the small line under it. */
export interface Words {
  title: string;
  small: string;
}

const SERVICE_WORDS: Record<ServiceState, string> = {
  'in-service': 'Put in service',
  'on-test': 'Put on test',
  'do-not-use': 'Marked "Do not use"',
  retired: 'Retired',
};

const WHERE = { rinse: 'to the rinse store', batch: 'to the next batch', waste: 'to waste' } as const;

const DOUBT_WORDS: Record<Facts['doubts'][number]['what'], string> = {
  'over-capacity': 'more than the bucket holds: taken as full',
  emptied: 'more than was in the bucket: taken as empty',
  'below-water': 'lighter than water: taken as water',
  'above-solids': 'heavier than the dry glaze: taken as that',
};

/** A gravity that somebody set: two decimals, a third only where it has one. */
export function gravityFigure(specificGravity: number): string {
  return specificGravity.toFixed(3).replace(/0$/, '');
}

/** An event in words, with its amounts: 'Added 1.75 L of water'. */
export function eventWords(entry: Entry, units: UnitSystem): string {
  switch (entry.kind) {
    case 'setup': {
      const what = `${volume(entry.litres, units)} at SG ${entry.specificGravity.toFixed(2)}`;
      if (entry.from === 'gravity') return `Set up: ${what}`;
      const batch = entry.batch === undefined ? 'a weighed batch' : `batch ${entry.batch}`;
      return `Set up from ${batch}: ${mass(entry.solidsKg, units)} of dry glaze makes ${what}`;
    }
    case 'reading':
      return `SG ${gravityText(entry.specificGravity, entry.standardUncertainty)}, ${methodWords(entry)}`;
    case 'stir':
      return 'Stirred to the bottom';
    case 'addition':
      return additionWords(entry, units);
    case 'draw-off': {
      const amount = volume(entry.litres, units);
      return entry.what === 'water'
        ? `Took ${amount} of clear water off, ${WHERE[entry.to]}`
        : `Took ${amount} of slurry out, ${WHERE[entry.to]}`;
    }
    case 'level':
      return `Level ${entry.how === 'quarters' ? 'about ' : ''}${volume(entry.litres, units)}${
        { litres: '', stick: ', by dip stick', quarters: ', by quarters' }[entry.how]
      }`;
    case 'dipping':
      return (
        `${entry.stirred ? 'Stirred, dipped' : 'Dipped'} ${entry.pieces} ` +
        `${entry.pieces === 1 ? 'piece' : 'pieces'}, about ${volume(entry.litres, units)}`
      );
    case 'flow':
      return flowWords(entry);
    case 'settling':
      return settlingWords(entry);
    case 'additive':
      return `Added ${entry.millilitres} mL of ${entry.what === 'epsom' ? 'Epsom salts solution' : 'deflocculant'}`;
    case 'sieve':
      return `Sieved, ${entry.mesh} mesh`;
    case 'service':
      return SERVICE_WORDS[entry.state] + (entry.cause === null ? '' : `: ${causeWords(entry.cause)}`);
    case 'tag-hung':
      return 'Tag hung on the bucket';
    case 'recipe':
      return `Recipe changed, version ${entry.version}`;
    case 'note':
      return entry.problem === undefined ? 'Note' : `Problem: ${lowerFirst(PROBLEMS[entry.problem])}`;
    case 'void':
      return `Struck out number ${entry.voids}`;
  }
}

/** What came of an act, said once after it: 'SG 1.46 ± 0.02 recorded.' `struck` is what a void strikes out. */
export function flashWords(entry: Entry, units: UnitSystem, struck?: Entry): string {
  if (entry.kind === 'void') {
    return struck === undefined
      ? `${eventWords(entry, units)}.`
      : `Struck out: ${lowerFirst(eventWords(struck, units))}.`;
  }
  if (entry.kind === 'note') {
    return entry.problem === undefined ? 'Note kept.' : `Reported: ${lowerFirst(PROBLEMS[entry.problem])}.`;
  }
  if (entry.kind === 'reading') {
    return `SG ${gravityText(entry.specificGravity, entry.standardUncertainty)} recorded.`;
  }
  return `Recorded: ${lowerFirst(eventWords(entry, units))}.`;
}

/** Why an event is in doubt, in words. */
export function doubtWords(facts: Facts, number: number): string | null {
  const doubt = facts.doubts.find((d) => d.number === number);
  return doubt ? DOUBT_WORDS[doubt.what] : null;
}

/**
 * A jump between the last two readings in words, with what usually is behind it; null unless it exceeds a quarter
 * of the band, under which nobody would do anything about it.
 */
export function jumpWords(facts: Facts, band: { low: number; high: number }): string | null {
  const found = jump(facts.recent);
  if (found === null || Math.abs(found.by) <= (band.high - band.low) / 4 + 1e-9) return null;
  const size = Math.abs(found.by).toFixed(2);
  const within = found.days === 1 ? 'in a day' : `in ${found.days} days`;
  return found.by > 0
    ? `Jumped ${size} ${within}: something was added, or the lid was left off.`
    : `Fell ${size} ${within}: water got in, or it was not stirred to the bottom.`;
}

/** A way to bring a bucket to its aim: the first stage as title, measures and the whole under it. */
export function wayWords(way: Way, o: { aim: number; units: UnitSystem }): Words {
  const { aim, units } = o;
  const brings = `brings it to ${gravityFigure(aim)}`;
  if (way.kind === 'add-dry') {
    const amount = mass(way.first, units);
    const all = inAll(way.first, way.kilograms, way.range, massUnit(units), (kg) => fromKg(kg, units));
    return {
      title: `Mix in ${amount} of dry glaze, stir, check again`,
      small: `slaked and sieved; ${all} ${brings}`,
    };
  }
  const amount = volume(way.first, units);
  const all = inAll(way.first, way.litres, way.range, volumeUnit(units), (l) => fromLitres(l, units));
  const small = `${pouring(way.first, units)}; ${all} ${brings}`;
  switch (way.kind) {
    case 'add-water':
      return { title: `Add ${amount} of water, stir, check again`, small };
    case 'blend': {
      const sg = gravityFigure(way.specificGravity ?? aim);
      return {
        title: `Blend in ${amount} of slurry at SG ${sg}, stir, check again`,
        small: `a thick batch of the same glaze, if you have one; ${small}`,
      };
    }
    case 'take-water-off':
      return {
        title: `Let it settle; next morning take ${amount} of clear water off`,
        small: `${small}. Then stir and check again`,
      };
  }
}

/** What must come out before a way fits into the bucket. */
export function takeOutWords(litres: number, units: UnitSystem): Words {
  return {
    title: `Take ${volume(litres, units)} of slurry out first`,
    small: `${pouring(litres, units)}; what goes in would not fit otherwise. Keep it for the next batch.`,
  };
}

interface OnTheWall {
  verdict: Verdict;
  facts: Facts;
  advice: Way | null;
  serviceReason: string | null;
}

/** What to do next, in a few words on a card, and what is known beside it. */
export function cardWords(
  b: OnTheWall,
  o: { technician: boolean; units: UnitSystem; now: Instant },
): { next: string; facts: string } {
  const read = b.facts.readingAt === null ? 'never read' : `read ${ago(b.facts.readingAt, o.now)}`;
  const stirred =
    b.facts.stirredAt === null ? 'no stir recorded' : `stirred ${ago(b.facts.stirredAt, o.now)}`;
  const since = b.facts.serviceSince === null ? read : ago(b.facts.serviceSince, o.now);
  switch (b.verdict.state) {
    case 'do-not-use':
      return { next: stopWords(b), facts: since };
    case 'on-test':
      return { next: b.serviceReason ?? 'until a fired tile is accepted', facts: `${read} · ${stirred}` };
    case 'needs-reading':
      return { next: 'stir to the bottom, then check SG', facts: needWords(b.verdict.needs, read) };
    case 'stir-first':
      return { next: 'stir to the bottom, then ready', facts: `${read} · ${stirred}` };
    case 'ready':
      return { next: 'stir to the bottom, then dip', facts: `${read} · ${stirred}` };
    case 'ask-technician':
      return {
        next: `${o.technician ? 'check its flow, loosen it' : 'tell the technician'}: no water`,
        facts: [flowText(b.facts, null), read].filter(Boolean).join(' · '),
      };
    default:
      return { next: mending(b, o), facts: `${read} · ${stirred}` };
  }
}

function mending(b: OnTheWall, o: { technician: boolean; units: UnitSystem }): string {
  const { advice } = b;
  if (b.verdict.band === 'thin' && !o.technician) return 'tell the technician';
  if (b.verdict.askLevel) return 'see how full it is, then add';
  if (advice === null) return 'check SG again';
  if (advice.takeOutFirst !== undefined)
    return o.technician ? `take ${volume(advice.takeOutFirst, o.units)} out first` : 'tell the technician';
  if (advice.kind === 'add-dry') return `mix in ${mass(advice.first, o.units)} of dry glaze, check again`;
  const amount = volume(advice.first, o.units);
  return {
    'add-water': `add ${amount} of water, check again`,
    blend: `blend in ${amount} of heavier slurry, check again`,
    'take-water-off': `settle, take ${amount} of water off, check again`,
  }[advice.kind];
}

function stopWords(b: OnTheWall): string {
  if (b.facts.service === 'retired') return 'retired';
  return (
    b.serviceReason ??
    (b.facts.serviceCause === null ? 'ask the technician' : causeWords(b.facts.serviceCause))
  );
}

function needWords(needs: Verdict['needs'], read: string): string {
  switch (needs) {
    case 'added':
      return `something was added since it was ${read}`;
    case 'unknown':
      return `something unknown was added since it was ${read}`;
    case 'drift':
      return `${read}, drifting since`;
    case 'old':
      return `${read}, too long ago`;
    default:
      return read;
  }
}

function methodWords(entry: Extract<Entry, { kind: 'reading' }>): string {
  const { typed = {} } = entry;
  if (entry.method === 'cup')
    return typeof typed.vessel === 'string' ? `weighed in cup ${typed.vessel}` : 'weighed in a cup';
  if (entry.method === 'weighed')
    return typeof typed.millilitres === 'number' ? `weighed ${typed.millilitres} mL` : 'weighed';
  if (entry.method === 'float') {
    const marks = [typed.millimetres, typed.replicates ?? []].flat();
    return `float ${typed.float} at ${marks.join(' and ')} mm`;
  }
  const scale = { twaddell: '°Tw', baume: '°Bé' }[String(typed.scale)];
  return scale && typeof typed.value === 'number' ? `hydrometer, ${typed.value} ${scale}` : 'hydrometer';
}

function additionWords(entry: Extract<Entry, { kind: 'addition' }>, units: UnitSystem): string {
  switch (entry.what) {
    case 'water':
      return `Added ${volume(entry.litres, units)} of water`;
    case 'dry':
      return `Mixed in ${mass(entry.kilograms, units)} of dry glaze`;
    case 'slurry':
      return `Blended in ${volume(entry.litres, units)} of ${entry.batch === undefined ? 'slurry' : `batch ${entry.batch}`} at SG ${gravityFigure(entry.specificGravity)}`;
    case 'rinse':
      return (
        `${entry.shared ? 'Shared rinse' : 'Own rinse back'}, ${volume(entry.litres, units)}, ` +
        (entry.specificGravity === null ? 'SG not known' : `SG ${gravityFigure(entry.specificGravity)}`)
      );
  }
}

function flowWords({ seconds, word, typed }: Extract<Entry, { kind: 'flow' }>): string {
  if (seconds === null) return `Flow: ${word === 'thin' || word === 'gelled' ? word : `like ${word}`}`;
  return `Flow ${seconds} s${typeof typed?.cup === 'string' ? `, cup ${typed.cup}` : ''}`;
}

function settlingWords({ fresh, later, minutes }: Extract<Entry, { kind: 'settling' }>): string {
  if (later === null) return `Settling begun: SG ${gravityFigure(fresh)} at the top`;
  const [from, to] = [gravityFigure(fresh), gravityFigure(later)];
  return later < fresh
    ? `Settled from ${from} to ${to} at the top in ${minutes} min`
    : `Did not settle in ${minutes} min: ${from}, then ${to} at the top`;
}

/** A recorded cause is the key of a problem. */
const causeWords = (cause: string): string =>
  cause in PROBLEMS ? lowerFirst(PROBLEMS[cause as Problem]) : cause.replaceAll('-', ' ');

/** Litres as they are poured: jugs, or kitchen measures. */
const pouring = (litres: number, units: UnitSystem): string =>
  units === 'us' ? usMeasure(litres) : jugs(litres);

/** 'about 2.3 L in all (1.7 to 3.0)': the whole to two figures, with what the reading leaves open. */
function inAll(
  first: number,
  whole: number,
  range: { low: number; high: number },
  unit: string,
  shown: (amount: number) => number,
): string {
  const most = shown(whole);
  const decimals = most >= 10 ? 0 : most >= 1 ? 1 : most >= 0.1 ? 2 : 3;
  const figure = (amount: number) => shown(amount).toFixed(decimals);
  const open = range.high > range.low ? ` (${figure(range.low)} to ${figure(range.high)})` : '';
  return first < whole ? `about ${figure(whole)} ${unit} in all${open}` : `all of it at once${open}`;
}

const lowerFirst = (words: string): string =>
  /^[A-Z]{2}/.test(words) ? words : words.charAt(0).toLowerCase() + words.slice(1);
