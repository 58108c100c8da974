import { FACE_WORDS } from './bench-step.ts';
import { type Firing, firingWords } from './firing.ts';
import type { PieceEventKind, PieceEventPayload } from './fold.ts';
import { OUTCOME_WORDS, type Outcome } from './outcome.ts';
import { reasonWords } from './reasons.ts';
import { type CoatPut, isEmpty, type Plan, type WeighingMoment } from './route.ts';
import type { Footprint } from './size.ts';
import { STAGE_WORDS, type Stage } from './stage.ts';
import { upper } from './words.ts';

const outcomeWords = (outcome: string | undefined): string =>
  (OUTCOME_WORDS[outcome as Outcome] ?? 'out of the kiln').toLowerCase();

/** One event of a piece as a colleague says it. */
export function eventSentence(event: {
  kind: PieceEventKind;
  stage: Stage | null;
  load: number | null;
  payload: PieceEventPayload;
}): string {
  const { kind, stage, load, payload } = event;
  const why = payload.reason === undefined ? '' : `: ${reasonWords(payload.reason).toLowerCase()}`;
  switch (kind) {
    case 'registered':
      return stage === 'no-name'
        ? 'Found without a name'
        : stage === 'bisqued'
          ? 'Registered, brought bisqued'
          : 'Registered';
    case 'drying':
      return 'Stands to dry';
    case 'asked-dry':
      return 'Handed in: thought to be dry';
    case 'dry':
      return 'Felt bone dry';
    case 'hole':
      return 'Has a hole now';
    case 'glazed':
      return (payload.glazes ?? []).length === 0
        ? 'Stays bare'
        : `Glazed: ${(payload.glazes ?? []).map((one) => (one === 'own' ? 'a glaze from outside' : one)).join(', then ')}`;
    case 'handed-in':
      return payload.heldBack ? 'Handed in: foot wiped, glaze held back' : 'Handed in';
    case 'another-firing':
      return `Goes on${payload.changed?.firing ? `: ${payload.changed.firing}` : ''}`;
    case 'entered-load':
      return `Into load ${load}`;
    case 'left-load':
      return `Out of load ${load}, back to its place in the queue`;
    case 'came-out':
      return `Out of load ${load}: ${outcomeWords(payload.outcome)}`;
    case 'outcome':
      return `Put right: came out of load ${load} ${outcomeWords(payload.outcome)}`;
    case 'picked-up':
      return 'Picked up';
    case 'here-again':
      return `Here again${stage ? `: ${STAGE_WORDS[stage].toLowerCase()}` : ''}`;
    case 'returned':
      return `Given back${why}`;
    case 'yes':
      return payload.trayMm === undefined ? 'A yes' : `A yes, on a tray of ${payload.trayMm} mm all round`;
    case 'flagged':
      return 'Kept back';
    case 'unflagged':
      return 'Not kept back any more';
    case 'refire':
      return 'To be fired again';
    case 'left-behind':
      return 'Left behind';
    case 'lost':
      return `Lost${why}`;
    case 'claimed':
      return '“It is mine”';
    case 'assigned':
      return 'Got its owner';
    case 'measured':
      return 'Measured';
    case 'edited':
      return changedWords(payload.changed ?? {});
    case 'planned':
    case 'waxed':
    case 'coated':
    case 'weighed':
    case 'weighing-struck':
    case 'inside-dry':
    case 'scratched':
      return benchSentence(event);
  }
}

/** What was done to it at the glazing bench. */
function benchSentence({ kind, payload }: { kind: PieceEventKind; payload: PieceEventPayload }): string {
  const { plan, coat, weighing, voids, how, scratch, onWet, heldBack } = payload;
  switch (kind) {
    case 'planned':
      return plan ? planSentence(plan) : 'Planned';
    case 'waxed':
      return 'Foot waxed, and clean';
    case 'coated':
      return coat ? coatSentence(coat, onWet ?? false, heldBack ?? false) : 'A coat of glaze';
    case 'weighed':
      return weighing ? `Weighed ${WEIGHED[weighing.moment]}${weighing.grams} g` : 'Weighed';
    case 'weighing-struck':
      return `Weighing struck out${voids === undefined ? '' : `: number ${voids}`}`;
    case 'inside-dry':
      return `${how === 'scale' ? 'Dry by the scale' : 'Dry: not cold to the cheek'}${onWet ? ', though its weight said wet' : ''}`;
    case 'scratched':
      return scratch ? `Coat ${scratch.position} is ${scratch.mm} mm by the pin` : 'Scratched with a pin';
    default:
      return 'At the bench';
  }
}

const WEIGHED: Record<WeighingMoment, string> = { bare: 'bare: ', glazed: 'just glazed: ', later: '' };

function planSentence({ inside, outside, over }: Plan): string {
  if (isEmpty({ inside, outside, over })) return 'Plan taken back';
  const sides =
    inside !== null && inside === outside
      ? [`${inside} all over`]
      : [
          ...(inside === null ? [] : [`${inside} inside`]),
          ...(outside === null ? [] : [`${outside} outside`]),
        ];
  return `Planned: ${[...sides, ...over.map((glaze) => `${glaze} over it`)].join(', ')}`;
}

function coatSentence(coat: CoatPut, onWet: boolean, heldBack: boolean): string {
  const { glaze, face, way, seconds, mm: thick, from, unbooked } = coat;
  const counted = seconds === null ? '' : `, counted ${seconds}`;
  const how = from === 'weighed' ? 'by its weight' : 'by the tiles';
  return [
    `${glaze} ${FACE_WORDS[face]}, ${way === 'pour' ? 'poured' : 'dipped'}${counted}`,
    ...(thick === null ? [] : [`about ${thick.toFixed(1)} mm ${how}`]),
    ...(onWet ? ['onto a wall still wet'] : []),
    ...(heldBack ? ['foot wiped'] : []),
    ...(unbooked ? ["not in the bucket's ledger: it was not to be used"] : []),
  ].join('; ');
}

const CHANGED: Record<string, string> = {
  kind: 'firing',
  cone: 'cone',
  atmosphere: 'atmosphere',
  widthMm: 'width',
  depthMm: 'depth',
  heightMm: 'height',
  thickestMm: 'thickest part',
};

function changedWords(changed: Record<string, string>): string {
  const parts = Object.entries(changed).map(([name, words]) => `${CHANGED[name] ?? name} ${words}`);
  return parts.length === 0 ? 'Put right' : `Put right: ${parts.join(', ')}`;
}

/** A length as a person reads it: to the millimetre, upwards, for a pot is never smaller than it is. */
const mm = (length: number): string => String(Math.ceil(length - 1e-6));

/** '125 × 85, 100 mm high', 'ø 150, 75 mm high'. */
export function sizeWords({ footprint, heightMm }: { footprint: Footprint; heightMm: number }): string {
  const ground =
    footprint.shape === 'circle'
      ? `ø ${mm(footprint.diameterMm)}`
      : `${mm(footprint.widthMm)} × ${mm(footprint.depthMm)}`;
  return `${ground}, ${mm(heightMm)} mm high`;
}

/**
 * Where a piece is, in one sentence: for one in a load what the kilns say of it, else what it waits for. `since` is
 * the time it has been there, as shown. Its place is left out: it was written down before the kiln.
 */
export function whereWords(
  piece: {
    stage: Stage;
    load: number | null;
    isAsked: boolean;
    isReady: boolean;
    next: Firing | null;
    reason: string | null;
  },
  load: string | undefined,
  since: string,
): string {
  const { stage, isAsked, isReady, next, reason } = piece;
  switch (stage) {
    case 'in-load':
      return load ? `In load ${piece.load}: ${load}` : `In load ${piece.load}`;
    case 'drying':
      return isAsked ? `A technician feels whether it is dry. Handed in ${since}` : `Drying since ${since}`;
    case 'waiting-bisque':
    case 'waiting-glaze':
    case 'refire':
      return next
        ? `${isReady ? 'Ready, waits' : 'Waits'} for a load: ${firingWords(next)}`
        : `Waits since ${since}`;
    case 'fired':
      return `Out of the kiln ${since}`;
    case 'returned':
    case 'lost':
      return reason === null ? `Since ${since}` : `${upper(reasonWords(reason))}, ${since}`;
    default:
      return `Since ${since}`;
  }
}
