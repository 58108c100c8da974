import { z } from 'zod';
import { type Endpoint, pages, write } from '../core/api.ts';
import { whole } from '../core/json.ts';
import { briefingBody, findBriefing, holdBriefing, strikeOutBriefing } from './service/briefings.ts';
import { giveInductions, inductionsForm, listInductions, strikeOutForm } from './service/inductions.ts';
import { VERBS } from './settings.ts';

const words = z.string();
const date = words.meta({ description: 'YYYY-MM-DD' });

export const inductionEndpoints: Endpoint[] = [
  pages({
    path: '/inductions',
    permission: 'safety.see',
    summary: 'Who was shown what, as it was written down, the latest first; a member sees their own',
    page: { most: 200, usual: 20 },
    answer: z.object({
      inductions: z.array(
        z.object({
          id: z.int(),
          person: words,
          verb: z.enum(VERBS),
          givenOn: date,
          by: words,
          struckOut: z
            .object({ by: words, reason: words })
            .nullable()
            .meta({ description: 'It counts no longer' }),
        }),
      ),
      next: z.int().nullable(),
    }),
    async run(asked, { query }) {
      const { inductions, next } = await listInductions(asked, query);
      return {
        inductions: inductions.map(({ struckBy, reason, ...one }) => ({
          ...one,
          struckOut: struckBy === null ? null : { by: struckBy, reason: reason ?? '' },
        })),
        next,
      };
    },
  }),
  write({
    path: '/inductions',
    permission: 'inductions.give',
    summary: 'Note that people, by their addresses, were shown things on a day by the owner of the token',
    body: inductionsForm,
    answer: z.object({}),
    async run(act, { body }) {
      await giveInductions(act, body);
      return {};
    },
  }),
  write({
    path: '/briefings',
    permission: 'briefings.hold',
    summary: 'A class was briefed by the owner of the token; answers the number of the record',
    body: briefingBody,
    answer: z.object({
      number: z.int(),
      notForChildren: z
        .array(words)
        .meta({ description: 'Codes of buckets that children in this class keep away from' }),
    }),
    run: (act, { body }) => holdBriefing(act, body),
  }),
  write({
    path: '/briefings/:number/strike-out',
    permission: 'briefings.hold',
    summary:
      'Strikes out a briefing that was not held as it stands: it stays, with who and why, and counts no longer',
    params: z.object({ number: whole(1, 999_999_999) }),
    body: strikeOutForm,
    answer: z.object({ number: z.int(), struckOut: z.object({ by: words, reason: words }) }),
    status: 200,
    async run(act, { params: { number }, body }) {
      await strikeOutBriefing(act, number, body);
      const { struckBy, reason } = await findBriefing(act, number);
      return { number, struckOut: { by: struckBy ?? '', reason: reason ?? '' } };
    },
  }),
];
