import { z } from 'zod';
import { AccountPage } from '../../../views/fees/account.tsx';
import { AccountsPage } from '../../../views/fees/accounts.tsx';
import { choice, count, text } from '../../core/forms.ts';
import { beforeIn, numberIn } from '../../core/param.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import {
  changeMemberClass,
  findAccount,
  listAccounts,
  openAccountOf,
  ownAccounts,
  standingOf,
} from '../service/accounts.ts';
import { listEntries } from '../service/entries.ts';
import { litresLeft } from '../service/included.ts';
import { lastReminder } from '../service/reminders.ts';
import { feeSettings } from '../service/settings.ts';
import { feeReader } from './reader.ts';

const DONE = {
  paid: 'Payment recorded.',
  back: 'Money given back, recorded.',
  charged: 'Charged.',
  credited: 'Credited.',
  asked: 'It waits for the manager’s yes. You will be told.',
  class: 'Class changed. It counts from the next charge on.',
  opened: 'Account opened.',
};
/** How many open charges are listed, the oldest ones. */
const OPEN = 50;
/** Entries on a page. */
const PAGE = 30;

export const accountNumber = (visit: Visit): number => numberIn(visit, 'number', 'There is no such account.');

export async function showAccounts(visit: Visit): Promise<Answer> {
  const { words, owing, page: at } = visit.query;
  const look = {
    words: typeof words === 'string' ? words.normalize('NFC').replaceAll('\0', '').trim().slice(0, 60) : '',
    onlyOwing: owing === 'yes',
    page: /^[1-9]\d{0,5}$/.test(String(at)) ? Number(at) : 1,
  };
  const [accounts, { classes }] = await Promise.all([
    listAccounts(visit.read, look),
    feeSettings(visit.read),
  ]);
  const reader = feeReader(visit);
  return page(
    'Accounts',
    'fees',
    <AccountsPage accounts={accounts} look={look} usualClass={classes[0] ?? ''} reader={reader} />,
  );
}

const holderForm = z.strictObject({
  kind: choice(['person', 'group']),
  id: count(1, 2 ** 31 - 1),
});

export const openOne = (visit: Visit): Promise<Answer> =>
  visit.submit(
    () => showAccounts(visit),
    async () => {
      const { kind, id } = visit.form(holderForm);
      const { number } = await visit.act((act) => openAccountOf(act, { kind, id }));
      return go(`/fees/accounts/${number}?done=opened`);
    },
  );

export async function showAccount(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const { read } = visit;
  const number = accountNumber(visit);
  const account = await findAccount(read, number);
  const before = beforeIn(visit);
  const reader = feeReader(visit);
  const [mine, standing, entries, litres, { classes }, reminded] = await Promise.all([
    ownAccounts(read),
    standingOf(read, account),
    listEntries(read, { accountId: account.id, before: before ?? undefined, limit: PAGE }),
    litresLeft(read, account),
    feeSettings(read),
    reader.may('fees.see-all') ? lastReminder(read, number) : null,
  ]);
  const oldest = standing.open.slice(0, OPEN).map(({ number: one }) => one);
  const charges = await listEntries(read, { numbers: oldest });
  return page(
    account.name,
    'fees',
    <AccountPage
      account={account}
      isOwn={mine.some(({ id }) => id === account.id)}
      standing={standing}
      entries={entries}
      charges={new Map(charges.map((one) => [one.number, one]))}
      before={entries.length === PAGE ? (entries.at(-1)?.number ?? null) : null}
      isLater={before !== null}
      litres={litres}
      classes={classes}
      form={form}
      reminded={reminded}
      done={visit.done(DONE)}
      reader={reader}
    />,
  );
}

const classForm = z.strictObject({ memberClass: text(40) });

export const saveClass = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showAccount(visit, form),
    async () => {
      const number = accountNumber(visit);
      const { memberClass } = visit.form(classForm);
      await visit.act((act) => changeMemberClass(act, number, memberClass));
      return go(`/fees/accounts/${number}?done=class`);
    },
  );

export const backToAccount = async (visit: Visit): Promise<Answer> =>
  go(`/fees/accounts/${accountNumber(visit)}`);
