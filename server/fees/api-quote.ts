import { z } from 'zod';
import { type Endpoint, write } from '../core/api.ts';
import { quote, quoteBody } from './service/quote.ts';

const minor = z.int();

export const quoteEndpoints: Endpoint[] = [
  write({
    path: '/quotes',
    permission: 'fees.own',
    summary:
      'What firing pieces would cost, with the arithmetic, in minor units and tax included; a piece without a line has no price',
    body: quoteBody,
    status: 200,
    answer: z.object({
      /** The number of the price list. */
      tariff: z.int(),
      /** ISO 4217. */
      currency: z.string(),
      pieces: z.array(
        z.object({
          line: z.object({ code: z.string(), name: z.string() }).nullable(),
          /** Rounded where pieces share half shelves; the total is exact. */
          eachMinor: minor,
          count: z.int(),
          totalMinor: minor,
          /** Of the total. */
          netMinor: minor,
          taxMinor: minor,
          because: z.array(z.string()),
        }),
      ),
      totalMinor: minor,
    }),
    async run(act, { body }) {
      const { tariff, currency, rows, totalMinor } = await quote(act, body);
      return {
        tariff: tariff.number,
        currency,
        pieces: rows.map(({ all, each, count }) => ({
          line: all.line,
          eachMinor: Number(each.amountMinor),
          count,
          totalMinor: Number(all.amountMinor),
          netMinor: Number(all.netMinor),
          taxMinor: Number(all.taxMinor),
          because: all.because,
        })),
        totalMinor: Number(totalMinor),
      };
    },
  }),
];
