import type { ComponentChildren } from 'preact';
import { gravityFigure } from '../../server/buckets/sentences.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { Reader } from '../../server/ware/actions/reader.ts';
import { type BenchStep, FACE_WORDS } from '../../server/ware/bench-step.ts';
import type { Route, Wetness } from '../../server/ware/route.ts';
import type { PieceGlaze } from '../../server/ware/service/now.ts';
import type { WareSettings } from '../../server/ware/settings.ts';
import { upper } from '../../server/ware/words.ts';
import { WareShape } from './shapes.tsx';

// What the pages of the glazing bench have in common: its marks, and what is said of a wall and of a coat.

type Mark = 'do' | 'wait' | 'done';

const MARKS: Record<Mark, [shape: Parameters<typeof WareShape>[0]['shape'], tone: string]> = {
  do: ['yours', 'is-stir-first'],
  wait: ['wet', 'is-too-thin'],
  done: ['fired', 'is-ready'],
};

const markOf = (step: BenchStep): Mark =>
  step.do === 'wait' ? 'wait' : step.do === 'hand-in' ? 'done' : 'do';

export const stepTone = (step: BenchStep): string => MARKS[markOf(step)][1];

export const StepShape = ({ step }: { step: BenchStep }) => <WareShape shape={MARKS[markOf(step)][0]} />;

/** What leads to a piece that is too wet for its next coat. */
export const WAIT_LABEL = 'Look at it, or weigh it';

type Clock = Pick<Reader, 'now' | 'timeZone'>;

/** What of the piece is wet or was: its lining, or whatever went on last. */
const lastCoat = ({ coats }: Pick<Route, 'coats'>): string =>
  coats.at(-1)?.face === 'inside' ? 'The lining' : 'The last coat';

/** Enough water to be said in whole percent. */
export const hasLost = (shareGone: number): boolean => Math.round(100 * shareGone) > 0;

/** How wet its wall is, why one thinks so, and when it will be dry; '' where nothing is on it. */
export function wallWords(
  route: Pick<Route, 'coats' | 'insideDryAt'>,
  { state, by, readyAt, range, shareGone, asksWait }: Wetness,
  { dryBackHours, waterGonePercent }: Pick<WareSettings, 'dryBackHours' | 'waterGonePercent'>,
  { now, timeZone }: Clock,
): string {
  const at = (time: number) => shownTime(time, now, timeZone);
  // Weighed only just after its coat, it says nothing of that yet.
  const gone =
    shareGone === null || !hasLost(shareGone)
      ? ''
      : ` ${Math.round(100 * Math.min(1, Math.max(0, shareGone)))} % of its water is gone.`;
  switch (state) {
    case 'bare':
      return '';
    case 'wet': {
      const still = `${lastCoat({ coats: route.coats })} is still wet.${gone}`;
      if (!asksWait) return `${still} The overlap goes on as soon as it no longer shines.`;
      if (readyAt === null) return still;
      if (by === 'scale')
        return `${still} By its weighings it is dry about ${at(readyAt)}${
          range === null || at(range.low) === at(range.high)
            ? ''
            : `, between ${at(range.low)} and ${at(range.high)}`
        }.`;
      return `${still} Dry about ${at(readyAt)}: ${dryBackHours} hours is what it usually takes.`;
    }
    case 'said-dry':
      return `Said to be dry${route.insideDryAt === null ? '' : ` ${at(route.insideDryAt)}`}: not cold to the cheek.`;
    case 'dry':
      if (by !== 'scale') return `It has dried for ${dryBackHours} hours.`;
      // By its curve, or because nothing goes any more.
      return shareGone === null || 100 * shareGone >= waterGonePercent
        ? `Dry by the scale.${gone}`
        : `Dry by its weighings, though at the last one${gone.replace(' is gone.', ' was gone.')}`;
  }
}

/** One coat on one piece, to what a scale or a pin can tell. */
export const coatMmWords = (value: number): string =>
  value < 0.05 ? 'under 0.1 mm' : `${value.toFixed(1)} mm`;

/** How thick one coat is, and how one knows; null where nobody does. */
export function thicknessWords({
  coatMm,
  coatFrom,
  scratchMm,
}: Pick<PieceGlaze, 'coatMm' | 'coatFrom' | 'scratchMm'>): string | null {
  const said = [
    ...(coatMm === null
      ? []
      : [`about ${coatMmWords(coatMm)} (${coatFrom === 'weighed' ? 'weighed' : 'by the tiles'})`]),
    ...(scratchMm === null ? [] : [`${coatMmWords(scratchMm)} by the pin`]),
  ];
  return said.length === 0 ? null : said.join(', ');
}

/** One coat on a piece: where, how, what the bucket held, and how thick it came. */
export function CoatLine({ glaze, children }: { glaze: PieceGlaze; children?: ComponentChildren }) {
  const { bucket, own, gravity, reading, batchNumber, isRunny, load, face, way, seconds } = glaze;
  const thickness = thicknessWords(glaze);
  // Of what was only said afterwards nobody knows where it is.
  const how =
    way === null
      ? null
      : [
          FACE_WORDS[face],
          way === 'dip' ? 'dipped' : 'poured',
          ...(seconds === null ? [] : [`count of ${Number(seconds.toFixed(1))}`]),
        ].join(', ');
  const held =
    bucket && gravity !== null
      ? [
          `specific gravity ${gravityFigure(gravity)} then${reading === null ? '' : ` (reading ${reading})`}`,
          ...(batchNumber === null ? [] : [`batch ${batchNumber}`]),
        ].join(', ')
      : null;
  return (
    <>
      {bucket ? <a href={`/buckets/${bucket.code}`}>{bucket.name}</a> : `${own?.name} (from outside)`}
      {isRunny && ', runs'}
      {load === null ? ', not fired yet' : `, fired in load ${load}`}
      {thickness !== null && (
        <span class="coat-thickness">{upper(way === null ? thickness : `coat ${thickness}`)}</span>
      )}
      {how !== null && <small>{upper(how)}</small>}
      {held !== null && <small>{way === null ? held : upper(held)}</small>}
      {children}
    </>
  );
}

/** What is on hands and table at a glazing bench. */
export const BenchCaution = () => (
  <p class="bench-caution">
    Wipe up with a wet sponge, do not blow or sweep. Raw glaze and its dust stay off lips and food: wash your
    hands before you eat. What is in a glaze stands on its bucket's page, with its safety data sheets.
  </p>
);
