import type { ComponentChildren } from 'preact';
import { isCoarse, middleOf, mmPerHundredth, rangeOf } from '../../server/buckets/float.ts';
import { brimfulCup, type HydrometerScale, hydrometer, waterDensity } from '../../server/buckets/gravity.ts';
import type { Instrument } from '../../server/buckets/kinds.ts';
import { SCALES } from '../../server/buckets/scales.ts';
import type { Float, listCups } from '../../server/buckets/service/index.ts';
import { plusMinus } from '../../server/buckets/verdict.ts';
import type { FormState } from '../../server/core/routes.ts';
import { Beside, NumberField, Select } from '../ui/field.tsx';
import { More } from '../ui/panel.tsx';

export interface Gear {
  cups: Awaited<ReturnType<typeof listCups>>;
  instruments: Instrument[];
  floats: Float[];
}

interface Item {
  code: string;
  name: string;
  /** One a column. */
  figures: ComponentChildren[];
}

/** One kind of gear: its words, what is shown of each piece, and what its form asks beside code and name. */
interface GearPage {
  title: string;
  one: string;
  /** What it does for a reading. */
  about: string;
  none: string;
  instrument?: Instrument['kind'];
  columns: string[];
  items(gear: Gear): Item[];
  /** Said when one was added; `null` where its own page says more. */
  ready: string | null;
  marked: string;
  such: string;
  fields: ((form: FormState) => ComponentChildren) | null;
}

export type GearKind = 'cups' | 'floats' | 'hydrometers' | 'scales' | 'flow-cups';

/** An ordinary glaze: what gear makes of it is what is told of the gear. */
const ORDINARY_SG = 1.45;

export const GEAR_PAGES: Record<GearKind, GearPage> = {
  cups: {
    title: 'Cups',
    one: 'cup',
    about:
      'A cup that was weighed once empty and once brim-full of water turns one weighing of glaze into a specific gravity. The larger the cup, the finer it reads.',
    none: 'Any cup with a level rim will do: steel, enamel or glass, from 100 mL up.',
    columns: ['Empty', 'Holds', 'Reads SG to'],
    items: ({ cups }) =>
      cups.map((cup) => ({
        code: cup.code,
        name: cup.name,
        figures: [`${cup.tareG} g`, `${Math.round(millilitres(cup))} mL`, finest(cup)],
      })),
    ready: 'fill it to the brim with glaze and weigh it.',
    marked: 'C1',
    such: 'enamel cup',
    fields: (form) => (
      <>
        <NumberField name="tareG" label="Empty and dry" unit="g" />
        <NumberField
          name="waterG"
          label="Brim-full of water"
          unit="g"
          hint="Cup and water together. Slide a flat edge across the rim, wipe the outside."
        />
        <More
          summary="Water temperature, scale"
          open={form.errors.some(({ path }) => path === 'waterC' || path === 'resolutionG')}
        >
          <Beside>
            <NumberField name="waterC" label="Water" unit="°C" value={20} />
            <NumberField name="resolutionG" label="The scale shows steps of" unit="g" value={1} />
          </Beside>
        </More>
      </>
    ),
  },
  floats: {
    title: 'Floats',
    one: 'float',
    about:
      'A weighted bottle or tube with a thin neck stands higher the heavier the glaze. Calibrated once against weighed gravities, the mm of its neck that are under give the SG, and every bucket gets a line on it.',
    none: 'A small bottle with a thin neck and some lead shot or sand in it, closed tight, with a paper mm scale in the neck.',
    columns: ['Calibrated', '0.01 SG is'],
    items: ({ floats }) =>
      floats.map((float) => ({ code: float.code, name: float.name, figures: floatFigures(float) })),
    ready: null,
    marked: 'F1',
    such: 'bottle with a thin neck',
    fields: null,
  },
  hydrometers: {
    title: 'Hydrometers',
    one: 'hydrometer',
    about:
      'Quick, but glaze drags on the stem: no hydrometer is trusted to better than 0.02 SG, and a coarse scale to less.',
    none: 'One for heavy liquids is needed, reading from about 1.2 to 1.8.',
    instrument: 'hydrometer',
    columns: ['Scale', 'Division', 'Reads SG to'],
    items: ({ instruments }) =>
      instruments.flatMap(({ kind, code, name, scale, division }) =>
        kind !== 'hydrometer' || scale === null || division === null
          ? []
          : [{ code, name, figures: [scaleWords(scale), division, hydrometerReads(scale, division)] }],
      ),
    ready: 'it is offered where SG is checked.',
    marked: 'H1',
    such: 'glass hydrometer',
    fields: () => (
      <Beside>
        <Select
          name="scale"
          label="Scale"
          value="sg"
          options={(['sg', 'twaddell', 'baume'] as const).map((scale) => ({
            value: scale,
            label: scaleWords(scale),
          }))}
        />
        <NumberField name="division" label="One division" hint="In units of its scale: 0.005 or 1." />
      </Beside>
    ),
  },
  scales: {
    title: 'Scales',
    one: 'scale',
    about:
      'The steps a scale shows limit every weighing on it. For 100 mL a scale in whole grams is good enough; tenths do not help unless the cup is good.',
    none: 'A kitchen scale that shows whole grams will do.',
    instrument: 'scale',
    columns: ['Steps of', 'Adds to 100 mL'],
    items: ({ instruments }) =>
      instruments.flatMap(({ kind, code, name, resolutionG }) =>
        kind !== 'scale' || resolutionG === null
          ? []
          : [{ code, name, figures: [`${resolutionG} g`, `${scaleAdds(resolutionG, 100)} SG`] }],
      ),
    ready: 'it is offered where SG is checked by weighing.',
    marked: 'S1',
    such: 'bench scale',
    fields: () => <NumberField name="resolutionG" label="It shows steps of" unit="g" value={1} />,
  },
  'flow-cups': {
    title: 'Flow cups',
    one: 'flow cup',
    about:
      'The seconds a glaze takes to run out of a cup with a hole tell how stiff it is, which its SG does not. Any cup will do if it is always the same one; ISO 2431 and ASTM D1200 describe standard ones.',
    none: 'A small cup with a clean hole of 4 to 5 mm in its bottom.',
    instrument: 'flow-cup',
    columns: [],
    items: ({ instruments }) =>
      instruments
        .filter(({ kind }) => kind === 'flow-cup')
        .map(({ code, name }) => ({ code, name, figures: [] })),
    ready: 'it can be named where flow is timed.',
    marked: 'V1',
    such: 'tin with a 4 mm hole',
    fields: null,
  },
};

export const scaleWords = (scale: HydrometerScale): string => (scale === 'sg' ? 'SG' : SCALES[scale].unit);

/** The ± of one reading of an ordinary glaze. */
export function hydrometerReads(scale: HydrometerScale, division: number): string {
  const values = [SCALES[scale].to(ORDINARY_SG)];
  return plusMinus(hydrometer({ scale, values, division }).standardUncertainty);
}

/** The ± that a scale's steps add to the gravity of so many mL. */
export const scaleAdds = (resolutionG: number, millilitres: number): string =>
  plusMinus(resolutionG / Math.sqrt(12) / millilitres);

const millilitres = ({ tareG, waterG, waterC }: Gear['cups'][number]): number =>
  (waterG - tareG) / waterDensity(waterC);

function finest({ tareG, waterG, waterC, resolutionG }: Gear['cups'][number]): string {
  const grams = [tareG + ORDINARY_SG * (waterG - tareG)];
  return plusMinus(
    brimfulCup({ grams, tareG, waterG, calibrationC: waterC, resolutionG }).standardUncertainty,
  );
}

function floatFigures({ calibration }: Float): string[] {
  if (!calibration) return ['not yet', ''];
  const { low, high } = rangeOf(calibration);
  const middle = middleOf(calibration);
  const move = `${mmPerHundredth(calibration, middle).toFixed(1)} mm`;
  return [
    `SG ${low.toFixed(2)} to ${high.toFixed(2)}`,
    isCoarse(calibration, middle) ? `${move}, coarse` : move,
  ];
}
