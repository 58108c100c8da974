import { MonthPageView, MonthsPage } from '../../../views/fees/months.tsx';
import { RemindersPage } from '../../../views/fees/reminders.tsx';
import { NotFound } from '../../core/errors.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { monthWords } from '../month-words.ts';
import { closeForm, closeMonth, listMonths, reopenForm, reopenMonth, showMonth } from '../service/months.ts';
import { listOverdue, remind, remindForm } from '../service/reminders.ts';
import { feeReader } from './reader.ts';

/** The month in a page's address; NotFound for anything else. */
export function periodIn(visit: Visit): string {
  const period = visit.param('period');
  if (!/^20\d{2}-(0[1-9]|1[0-2])$/.test(period)) throw new NotFound('There is no such month.');
  return period;
}

export async function showMonths(visit: Visit): Promise<Answer> {
  const { state, months } = await listMonths(visit.read);
  return page('Months', 'fees', <MonthsPage state={state} months={months} reader={feeReader(visit)} />);
}

const DONE = {
  closed: 'Closed. Its payers were told that their statement is ready.',
  reopened: 'Open again. Close it once it is right.',
};

export async function showMonthPage(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const period = periodIn(visit);
  return page(
    monthWords(period),
    'fees',
    <MonthPageView
      period={period}
      month={await showMonth(visit.read, period)}
      form={form}
      done={visit.done(DONE)}
      reader={feeReader(visit)}
    />,
  );
}

export const closeOne = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showMonthPage(visit, form),
    async () => {
      const period = periodIn(visit);
      await visit.act((act) => closeMonth(act, period, visit.form(closeForm)));
      return go(`/fees/months/${period}?done=closed`);
    },
  );

export const reopenOne = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showMonthPage(visit, form),
    async () => {
      const period = periodIn(visit);
      await visit.act((act) => reopenMonth(act, period, visit.form(reopenForm)));
      return go(`/fees/months/${period}?done=reopened`);
    },
  );

/** Where a browser lands that asks for the address of a form again. */
export const backToMonth = async (visit: Visit): Promise<Answer> => go(`/fees/months/${periodIn(visit)}`);

export async function showReminders(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  return page(
    'Overdue',
    'fees',
    <RemindersPage
      overdue={await listOverdue(visit.read)}
      form={form}
      done={visit.done({ reminded: 'Reminded: a message is in their inbox.' })}
      reader={feeReader(visit)}
    />,
  );
}

export const remindThem = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showReminders(visit, form),
    async () => {
      await visit.act((act) => remind(act, visit.form(remindForm)));
      return go('/fees/reminders?done=reminded');
    },
  );
