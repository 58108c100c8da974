import { z } from 'zod';
import type { Act } from '../core/actor.ts';
import { type Endpoint, pages, write } from '../core/api.ts';
import { iso, isoOrNull, whole } from '../core/json.ts';
import * as materials from './service/index.ts';
import { toKg } from './stock.ts';

const num = z.number();
const words = z.string();
const time = z.iso.datetime();
const MOST = 2 ** 31 - 1;
const params = z.object({ id: whole(1, MOST) });

const lotAnswer = z.object({
  number: num.int(),
  lot: words.meta({ description: 'As the supplier prints it' }),
  supplier: words,
  expiresOn: words.nullable().meta({ description: 'The last good day, YYYY-MM-DD' }),
  expired: z.boolean(),
  recalledAt: time.nullable(),
  onHandKg: num,
});

const lotJson = ({
  onHandMg,
  isExpired,
  recalledAt,
  ...lot
}: materials.LotNow): z.input<typeof lotAnswer> => ({
  number: lot.number,
  lot: lot.lot,
  supplier: lot.supplier,
  expiresOn: lot.expiresOn,
  expired: isExpired,
  recalledAt: isoOrNull(recalledAt),
  onHandKg: toKg(onHandMg),
});

const rowAnswer = z.object({
  number: num.int(),
  lot: words,
  kind: z.enum(['delivery', 'use', 'count', 'disposal', 'recall', 'recall-lifted', 'void']),
  kg: num.nullable().meta({ description: 'Delivered, used or thrown away; for a count what was found' }),
  happenedAt: time,
  recordedAt: time,
  by: words,
  batch: num.int().nullable(),
  voids: num.int().nullable(),
  voidedBy: num.int().nullable(),
  note: words.nullable(),
  doubtful: z.boolean().meta({ description: 'It took more than was there, and nobody has counted since' }),
});

const stockAnswer = z.object({
  id: num.int(),
  name: words,
  reorderKg: num.nullable(),
  low: z.boolean().meta({ description: 'Less than the reorder level may be weighed' }),
  lots: z.array(lotAnswer),
  events: z.array(rowAnswer),
  next: num.int().nullable(),
});

function rowsJson({ rows, doubts }: materials.StockPage): z.input<typeof rowAnswer>[] {
  return rows.map((row) => ({
    number: row.number,
    lot: row.lotName,
    kind: row.kind,
    kg: row.mg === null ? null : toKg(row.mg),
    happenedAt: iso(row.happenedAt),
    recordedAt: iso(row.recordedAt),
    by: row.by,
    batch: row.batch,
    voids: row.voids,
    voidedBy: row.voidedBy,
    note: row.note,
    doubtful: doubts.get(row.lot)?.includes(row.number) ?? false,
  }));
}

const recordedAnswer = z.object({ number: num.int(), lot: lotAnswer });

/** One more row of a material's ledger, answered with the lot as it is then. */
const append = <B extends z.ZodType>(
  path: string,
  summary: string,
  body: B,
  run: (act: Act, id: number, sent: z.output<B>) => Promise<materials.StockRecorded>,
): Endpoint =>
  write({
    path: `/materials/:id/stock/${path}`,
    permission: 'stock.edit',
    summary,
    params,
    body,
    answer: recordedAnswer,
    async run(act, { params: { id }, body: sent }) {
      const { number, lot } = await run(act, id, sent);
      return { number, lot: lotJson(lot) };
    },
  });

const lotTraceAnswer = z.object({
  material: z.object({ id: num.int(), name: words }),
  lot: lotAnswer,
  events: z.array(rowAnswer),
  next: num.int().nullable(),
  batches: z.array(
    z.object({
      number: num.int(),
      recipe: words,
      kg: num,
      weighedAt: time,
      abandoned: z.boolean(),
      buckets: z.array(
        z.object({
          code: words,
          name: words,
          event: num.int(),
          happenedAt: time,
          struckOut: z.boolean(),
          stillIn: z.boolean().meta({ description: 'Neither set up anew since nor retired' }),
        }),
      ),
    }),
  ),
});

export const stockEndpoints: Endpoint[] = [
  pages({
    path: '/materials/:id/stock',
    permission: 'materials.see',
    summary: 'What is on hand of a material, by lot, and its ledger, the row written last first',
    params,
    page: { most: 200, usual: 50 },
    answer: stockAnswer,
    async run(act, { params: { id }, query: { limit, before } }) {
      const stock = await materials.showStock(act, id, { limit, before: before ?? null });
      const { name, reorderKg, isLow, lots, next } = stock;
      return { id, name, reorderKg, low: isLow, lots: lots.map(lotJson), events: rowsJson(stock), next };
    },
  }),
  append(
    'deliveries',
    'A delivery: a new lot, or more of a known one',
    materials.deliveryBody,
    materials.deliver,
  ),
  append('uses', 'Something taken out by hand', materials.useBody, materials.takeStock),
  append('counts', 'What was found of a lot', materials.countBody, materials.countStock),
  append('disposals', 'Something thrown away', materials.disposalBody, materials.disposeStock),
  append('recalls', 'Nobody is to weigh from a lot any more', materials.recallBody, materials.recallLot),
  append('lifted-recalls', 'A recalled lot may be used again', materials.recallBody, materials.liftRecall),
  write({
    path: '/materials/:id/stock/reorder-level',
    permission: 'stock.edit',
    summary: 'Below how many kilograms a material is to be bought; without any it is not watched',
    params,
    body: materials.reorderBody,
    status: 200,
    answer: z.object({ reorderKg: num.nullable() }),
    async run(act, { params: { id }, body }) {
      await materials.setReorderLevel(act, id, body);
      return { reorderKg: body.kg ?? null };
    },
  }),
  write({
    path: '/materials/:id/stock/:number/void',
    permission: 'stock.edit',
    summary: 'Strikes a wrong row out',
    params: params.extend({ number: whole(1, MOST) }),
    body: materials.stockVoidBody,
    answer: recordedAnswer,
    async run(act, { params: { id, number }, body }) {
      const recorded = await materials.voidStock(act, id, number, body);
      return { number: recorded.number, lot: lotJson(recorded.lot) };
    },
  }),
  pages({
    path: '/materials/:id/lots/:number',
    permission: 'materials.see',
    summary: 'A lot: what came and went of it, and the batches and buckets it is in',
    params: params.extend({ number: whole(1, MOST) }),
    page: { most: 200, usual: 50 },
    answer: lotTraceAnswer,
    async run(act, { params: { id, number }, query: { limit, before } }) {
      const trace = await materials.lotTrace(act, id, number, { limit, before: before ?? null });
      return {
        material: { id, name: trace.stock.name },
        lot: lotJson(trace.lot),
        events: rowsJson(trace.stock),
        next: trace.stock.next,
        batches: trace.batches.map(({ grams, weighedAt, isAbandoned, buckets, ...batch }) => ({
          ...batch,
          kg: grams / 1000,
          weighedAt: iso(weighedAt),
          abandoned: isAbandoned,
          buckets: buckets.map(({ code, name, number: event, happenedAt, isVoided, isStillIn }) => ({
            code,
            name,
            event,
            happenedAt: iso(happenedAt),
            struckOut: isVoided,
            stillIn: isStillIn,
          })),
        })),
      };
    },
  }),
];
