import { z } from 'zod';
import { type Endpoint, pages, read, write } from '../core/api.ts';
import { choice, day } from '../core/forms.ts';
import { iso, whole } from '../core/json.ts';
import { ENTRY_KINDS } from './log.ts';
import { amend, close, followUp, logEntry } from './service/log.ts';
import { amendBody, closeBody, entryBody, followUpBody } from './service/log-forms.ts';
import { type Entry, findEntry, listLog } from './service/log-read.ts';

const num = z.number();
const words = z.string();
const time = z.string().meta({ format: 'date-time' });

const entryAnswer = z.object({
  number: num,
  kind: z.enum(ENTRY_KINDS),
  happenedAt: time,
  recordedAt: time,
  by: words,
  byToken: z.boolean(),
  place: words,
  bucket: words.nullable(),
  material: num.nullable(),
  kiln: words.nullable(),
  duty: num.nullable(),
  restricted: z.boolean().meta({
    description: 'About somebody’s health: only technicians, managers and whoever wrote it find it',
  }),
  what: words.nullable(),
  action: words.nullable(),
  details: z.looseObject({}).meta({ description: 'Topic, figures, outcome or quantity, by kind' }),
  state: z.enum(['noted', 'open', 'to-do', 'closed', 'struck']),
  owner: words.nullable(),
  dueOn: words.nullable(),
  overdue: z.boolean(),
  later: z
    .array(
      z.object({
        number: num,
        kind: z.enum(['amendment', 'follow-up', 'closing']),
        at: time,
        by: words,
        words,
        owner: words.nullable(),
        dueOn: words.nullable(),
        strikesOut: z.boolean(),
      }),
    )
    .meta({ description: 'What was written about it since, the earliest first' }),
  photos: z.array(words).meta({ description: 'Hashes: see /files/{sha256}' }),
});

const entryJson = (entry: Entry): z.input<typeof entryAnswer> => ({
  number: entry.number,
  kind: entry.kind,
  happenedAt: iso(entry.happenedAt),
  recordedAt: iso(entry.recordedAt),
  by: entry.by,
  byToken: entry.byToken,
  place: entry.place,
  bucket: entry.bucket?.code ?? null,
  material: entry.material?.id ?? null,
  kiln: entry.kiln?.code ?? null,
  duty: entry.duty?.number ?? null,
  restricted: entry.restricted,
  what: entry.what,
  action: entry.action,
  details: { ...entry.payload },
  state: entry.standing.state,
  owner: entry.standing.owner,
  dueOn: entry.standing.dueOn,
  overdue: entry.isLate,
  later: entry.later.map(({ number, kind, at, by, words: said, owner, dueOn, strikes }) => ({
    number,
    kind,
    at: iso(at),
    by,
    words: said,
    owner,
    dueOn,
    strikesOut: strikes,
  })),
  photos: entry.photos,
});

const LARGEST = 2 ** 31 - 1;
const byNumber = z.object({ number: whole(1, LARGEST) });
const numberAnswer = z.object({ number: num });

export const logEndpoints: Endpoint[] = [
  pages({
    path: '/safety-log',
    permission: 'safety.see',
    summary: 'The safety log as the owner of the token may see it, newest first',
    query: {
      kind: choice(ENTRY_KINDS).optional(),
      open: z
        .enum(['true', 'false'], { error: 'true or false.' })
        .transform((value) => value === 'true')
        .optional()
        .meta({ description: 'true: only what is not closed' }),
      from: day().optional(),
      to: day().optional(),
    },
    page: { most: 200, usual: 50 },
    answer: z.object({ entries: z.array(entryAnswer), next: num.nullable() }),
    run: async (ask, { query }) => {
      const { entries, next } = await listLog(ask, query);
      return { entries: entries.map(entryJson), next };
    },
  }),
  read({
    path: '/safety-log/:number',
    permission: 'safety.see',
    summary: 'One entry with what was written about it since',
    params: byNumber,
    answer: entryAnswer,
    run: async (ask, { params }) => entryJson(await findEntry(ask, params.number)),
  }),
  write({
    path: '/safety-log',
    permission: 'log.write',
    summary:
      'Write an entry; answers its number. What is measured, checked, taught or thrown away: technicians',
    body: entryBody,
    answer: numberAnswer,
    run: async (act, { body }) => ({ number: await logEntry(act, body) }),
  }),
  write({
    path: '/safety-log/:number/amend',
    permission: 'log.write',
    summary: 'Put an entry right in words, or strike it out. Own entries; technicians any',
    params: byNumber,
    body: amendBody,
    answer: numberAnswer,
    run: async (act, { params, body }) => ({ number: await amend(act, params.number, body) }),
  }),
  write({
    path: '/safety-log/:number/follow-up',
    permission: 'log.keep',
    summary: 'Somebody takes an entry on until a day; a closed one is open again',
    params: byNumber,
    body: followUpBody,
    answer: numberAnswer,
    run: async (act, { params, body }) => ({ number: await followUp(act, params.number, body) }),
  }),
  write({
    path: '/safety-log/:number/close',
    permission: 'log.keep',
    summary: 'Close an entry with what came of it',
    params: byNumber,
    body: closeBody,
    answer: numberAnswer,
    run: async (act, { params, body }) => ({ number: await close(act, params.number, body) }),
  }),
];
