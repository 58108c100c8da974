import { z } from 'zod';
import { DuesPage } from '../../../views/fees/dues.tsx';
import { code, count, text } from '../../core/forms.ts';
import { numberIn } from '../../core/param.ts';
import { type Answer, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { toWallTime } from '../../core/wall-time.ts';
import {
  chargeDues,
  duesItems,
  endStanding,
  lastDues,
  listStanding,
  payersToPutDown,
  putDown,
} from '../service/dues.ts';
import { tariffOn } from '../service/tariffs.ts';
import { feeReader } from './reader.ts';

const month = () => text(7).regex(/^20\d{2}-(0[1-9]|1[0-2])$/, 'A month such as 2026-03.');
const downForm = z.object({ account: count(1, 2 ** 31 - 1), item: code(), fromPeriod: month() });
const endForm = z.object({ untilPeriod: month() });
const chargeForm = z.object({ period: month() });

export async function showDues(visit: Visit, form?: FormState, which?: 'down' | 'charge'): Promise<Answer> {
  const today = toWallTime(visit.now, visit.studio.timeZone).slice(0, 10);
  const [standing, payers, list, months] = await Promise.all([
    listStanding(visit.read),
    payersToPutDown(visit.read),
    tariffOn(visit.read, today),
    lastDues(visit.read),
  ]);
  const { done, charged, already, missing } = visit.query;
  return page(
    'Dues',
    'fees',
    <DuesPage
      standing={standing}
      payers={payers}
      items={duesItems(list)}
      months={months}
      month={today.slice(0, 7)}
      form={form}
      which={which}
      done={done === 'charged' ? chargedWords(charged, already, missing) : visit.done(DONE)}
      reader={feeReader(visit)}
    />,
  );
}

const DONE = { down: 'Put down. The first charge comes with that month.', ended: 'Ended.' };

function chargedWords(charged: unknown, already: unknown, missing: unknown): string {
  const number = (value: unknown) => (/^\d{1,6}$/.test(String(value)) ? Number(value) : 0);
  const words = `${number(charged)} new. ${number(already)} were charged before and stay as they are.`;
  return /^[A-Za-z0-9, -]{1,200}$/.test(String(missing ?? ''))
    ? `${words} Not on the price list, so not charged: ${missing}.`
    : words;
}

export const savePutDown = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showDues(visit, form, 'down'),
    async () => {
      const command = visit.form(downForm);
      await visit.act((act) => putDown(act, command));
      return go('/fees/dues?done=down');
    },
  );

export const saveEnd = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showDues(visit, { ...form, typed: {} }, 'charge'),
    async () => {
      const id = numberIn(visit, 'id', 'There is no such standing charge.');
      const { untilPeriod } = visit.form(endForm);
      await visit.act((act) => endStanding(act, id, untilPeriod));
      return go('/fees/dues?done=ended');
    },
  );

export const saveCharge = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showDues(visit, form, 'charge'),
    async () => {
      const { period } = visit.form(chargeForm);
      const { charged, already, missing } = await visit.act((act) => chargeDues(act, period));
      const more = missing.length > 0 ? `&missing=${encodeURIComponent(missing.join(', '))}` : '';
      return go(`/fees/dues?done=charged&charged=${charged}&already=${already}${more}`);
    },
  );

export const backToDues = async (): Promise<Answer> => go('/fees/dues');
