import { z } from 'zod';
import { type Endpoint, pages, write } from '../core/api.ts';
import { count, email, text } from '../core/forms.ts';
import { findStudio } from '../core/session.ts';
import { findAccount, openAccount, standingOf } from './service/accounts.ts';
import { paymentForm, recordPayment } from './service/by-hand.ts';
import { listEntries } from './service/entries.ts';
import { feeSettings } from './service/settings.ts';
import { entryWords } from './words.ts';

const number = () => count(1, 999_999_999);
const minor = z.int();
const entry = z.object({
  number: z.int(),
  kind: z.string(),
  words: z.string(),
  day: z.string(),
  period: z.string(),
  amountMinor: minor,
  netMinor: minor,
  taxMinor: minor,
  piece: z.int().nullable(),
  load: z.int().nullable(),
  kiln: z.string().nullable(),
  because: z.array(z.string()),
  note: z.string().nullable(),
  voids: z.int().nullable(),
  voidedBy: z.int().nullable(),
  about: z.int().nullable(),
});

export const accountEndpoints: Endpoint[] = [
  pages({
    path: '/accounts/:member',
    permission: 'fees.own',
    summary:
      "An account by its number, a person's e-mail address or 'me': balance (above zero it is owed), what is open oldest first, entries newest first",
    params: z.object({ member: text(254) }),
    page: { most: 200, usual: 100 },
    answer: z.object({
      number: z.int(),
      name: z.string(),
      memberClass: z.string(),
      currency: z.string(),
      balanceMinor: minor,
      creditMinor: minor,
      overdueSince: z.string().nullable(),
      open: z.array(z.object({ entry: z.int(), day: z.string(), openMinor: minor })),
      entries: z.array(entry),
      next: z.int().nullable(),
    }),
    async run(asked, { params, query }) {
      const account = await findAccount(asked, params.member);
      const [standing, found, settings, studio] = await Promise.all([
        standingOf(asked, account),
        listEntries(asked, { accountId: account.id, before: query.before, limit: query.limit + 1 }),
        feeSettings(asked),
        findStudio(asked.tx),
      ]);
      const entries = found.slice(0, query.limit);
      return {
        number: account.number,
        name: account.name,
        memberClass: account.memberClass ?? settings.classes[0] ?? '',
        currency: studio?.currency ?? '',
        balanceMinor: Number(standing.balanceMinor),
        creditMinor: Number(standing.creditMinor),
        overdueSince: standing.overdueSince,
        open: standing.open.map((one) => ({
          entry: one.number,
          day: one.day,
          openMinor: Number(one.openMinor),
        })),
        entries: entries.map((one) => ({
          number: one.number,
          kind: one.kind,
          words: entryWords(one),
          day: one.day,
          period: one.period,
          amountMinor: Number(one.amountMinor),
          netMinor: Number(one.netMinor),
          taxMinor: Number(one.taxMinor),
          piece: one.piece?.number ?? null,
          load: one.load,
          kiln: one.kiln?.code ?? null,
          because: one.payload.because,
          note: one.note,
          voids: one.voids,
          voidedBy: one.voidedBy,
          about: one.about,
        })),
        next: found.length > query.limit ? (entries.at(-1)?.number ?? null) : null,
      };
    },
  }),
  write({
    path: '/payments',
    permission: 'fees.pay',
    summary: 'Money that came in for an account; never with the number of a card',
    body: paymentForm.extend({ account: z.union([number(), email()]) }),
    answer: z.object({ entry: z.int(), account: z.int(), period: z.string(), balanceMinor: minor }),
    async run(act, { body: { account, ...payment } }) {
      const payer = await openAccount(act, account);
      const posted = await recordPayment(act, payer.number, payment);
      const { balanceMinor } = await standingOf(act, payer);
      return {
        entry: posted.number,
        account: payer.number,
        period: posted.period,
        balanceMinor: Number(balanceMinor),
      };
    },
  }),
];
