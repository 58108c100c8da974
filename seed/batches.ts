import {
  countersign,
  planNewBatch,
  pourBatch,
  showBatch,
  weighLine,
} from '../server/buckets/service/index.ts';
import type { Deed } from './deeds.ts';

/** What materials are bought in: the same bags whoever weighs. */
const LOTS: Record<string, string> = {
  'Potash feldspar': 'PF 0317',
  Silica: 'S 88',
  Whiting: 'W 12-4',
  'Ball clay': 'BC 951',
  Kaolin: 'K 20',
  'Nepheline syenite': 'NS 7',
};

export const planBatch =
  (litres: number): Deed =>
  (act, code) =>
    planNewBatch(act, { bucket: code, litres });

/** The first so many lines of a batch, or all of them. */
export const weigh =
  (number: number, lines = Number.POSITIVE_INFINITY): Deed =>
  async (act) => {
    const sheet = await showBatch(act, number);
    for (const { position, material } of sheet.lines.slice(0, lines))
      await weighLine(act, number, { position, lot: LOTS[material] });
  };

export const sign =
  (number: number): Deed =>
  (act) =>
    countersign(act, number);

export const pour =
  (number: number, waterLitres: number, note: string): Deed =>
  (act, bucket) =>
    pourBatch(act, number, { how: 'setup', bucket, waterLitres, note });

/** A batch that somebody is in the middle of. */
export const halfWeighed: Deed = async (act, code) => {
  const number = await planNewBatch(act, { bucket: code, litres: 12 });
  await weigh(number, 3)(act, code);
};
