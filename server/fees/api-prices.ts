import { z } from 'zod';
import { type Endpoint, read } from '../core/api.ts';
import { isoOrNull } from '../core/json.ts';
import { may } from '../core/policy.ts';
import { listTariffs } from './service/tariffs.ts';
import { tariffForm } from './tariff-form.ts';

const tariffAnswer = z.object({
  number: z.int(),
  name: z.string(),
  /** Days of the studio's calendar; no last one: until a later list begins. */
  validFrom: z.iso.date(),
  validUntil: z.iso.date().nullable(),
  /** Put in force: it never changes again. */
  isInForce: z.boolean(),
  /** It counts today. */
  isToday: z.boolean(),
  inForceAt: z.iso.datetime().nullable(),
  basedOn: z.int().nullable(),
  /** Amounts in minor units; rates and factors as decimal texts. */
  value: tariffForm,
});

export const priceEndpoints: Endpoint[] = [
  read({
    path: '/tariffs',
    permission: 'fees.own',
    summary: 'The price list that counts today; for managers every version, the newest first',
    whole: 'a few a year',
    answer: z.object({ tariffs: z.array(tariffAnswer) }),
    run: async (read) => ({
      tariffs: (await listTariffs(read))
        .filter(({ isToday }) => isToday || may(read.actor.role, 'tariffs.edit'))
        .map((list) => ({
          number: list.number,
          name: list.name,
          validFrom: list.validFrom,
          validUntil: list.validUntil,
          isInForce: list.isInForce,
          isToday: list.isToday,
          inForceAt: isoOrNull(list.inForceAt),
          basedOn: list.basedOn,
          value: list.value,
        })),
    }),
  }),
];
