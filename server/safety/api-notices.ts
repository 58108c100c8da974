import { z } from 'zod';
import { type Endpoint, pages, read, write } from '../core/api.ts';
import { NotFound } from '../core/errors.ts';
import { count } from '../core/forms.ts';
import * as service from './service/notices.ts';

const num = z.number();
const words = z.string();

const noticeAnswer = z.object({
  number: num,
  version: num,
  scope: z.enum(['bucket', 'material', 'kiln', 'room', 'everywhere']),
  on: words.meta({ description: 'What it hangs on, by name' }),
  standing: z.enum(['in-force', 'not-yet', 'ended', 'withdrawn']),
  title: words,
  dipping: words,
  mixing: words,
  cleaning: words,
  signalWord: z.enum(['Danger', 'Warning']).nullable(),
  pictograms: z.array(words),
  hStatements: z.array(words),
  pStatements: z.array(words),
  classes: z
    .array(words)
    .nullable()
    .meta({ description: 'What it was posted for; null where no classification stands behind it' }),
  validFrom: words,
  validTo: words.nullable(),
  notForChildren: z.boolean(),
  unread: z.boolean().meta({ description: 'Whether the owner of the token has still to read it' }),
});

const noticeJson = (notice: service.NoticeNow): z.input<typeof noticeAnswer> => ({
  number: notice.number,
  version: notice.version,
  scope: notice.scope,
  on: notice.target.name,
  standing: notice.standing,
  title: notice.title,
  dipping: notice.dipping,
  mixing: notice.mixing,
  cleaning: notice.cleaning,
  signalWord: notice.signalWord,
  pictograms: notice.pictograms,
  hStatements: notice.hCodes,
  pStatements: notice.pCodes,
  classes: notice.basis?.classes ?? null,
  validFrom: notice.validFrom,
  validTo: notice.validTo,
  notForChildren: notice.notForChildren,
  unread: notice.unread,
});

const byId = z.object({ id: words });

function numberOf(id: string): number {
  if (!/^[1-9]\d{0,8}$/.test(id)) throw new NotFound('There is no notice with this number.');
  return Number(id);
}

export const noticeEndpoints: Endpoint[] = [
  pages({
    path: '/notices',
    permission: 'notices.read',
    summary: 'Notices in their newest version, the newest notice first; `next` goes on as `before`',
    page: { most: 200, usual: 50 },
    answer: z.object({ notices: z.array(noticeAnswer), next: num.nullable() }),
    run: async (ask, { query }) => {
      const found = await service.listNotices(ask, { limit: query.limit, before: query.before ?? null });
      return { notices: found.notices.map(noticeJson), next: found.next };
    },
  }),
  read({
    path: '/notices/:id',
    permission: 'notices.read',
    summary: 'One notice by its number; `changed` says what its classification became since',
    params: byId,
    answer: noticeAnswer.extend({
      changed: z.object({ appeared: z.array(words), vanished: z.array(words) }).nullable(),
    }),
    run: async (ask, { params }) => {
      const { notice, change } = await service.showNotice(ask, numberOf(params.id));
      return { ...noticeJson(notice), changed: change };
    },
  }),
  write({
    path: '/notices',
    permission: 'notices.post',
    summary:
      'Post a notice; signal word, pictograms and statements come from how the bucket or material is classified',
    body: service.noticeBody,
    answer: z.object({ number: num }),
    run: async (act, { body }) => ({ number: await service.postNotice(act, body) }),
  }),
  write({
    path: '/notices/:id/acknowledge',
    permission: 'notices.read',
    summary: 'Say that the owner of the token has read a notice, as it is or in the version that was shown',
    params: byId,
    body: z.strictObject({ version: count(1, 2 ** 31 - 1).optional() }),
    status: 200,
    answer: z.object({ number: num }),
    run: async (act, { params, body }) => {
      const number = numberOf(params.id);
      await service.readNotice(act, number, body.version);
      return { number };
    },
  }),
];
