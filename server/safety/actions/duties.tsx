import { z } from 'zod';
import { DutiesPage, DutyList } from '../../../views/safety/duties.tsx';
import { choice } from '../../core/forms.ts';
import { numberIn } from '../../core/param.ts';
import {
  type Answer,
  emptyForm,
  type FormState,
  go,
  page,
  type Visit,
  wantsFragment,
  watching,
} from '../../core/routes.ts';
import { addDuty, addUsualDuties, dutyBody, dutyDone, endDuty, listDuties } from '../service/duties.ts';
import { logReader } from './log-reader.ts';

const DONE: Record<string, string> = {
  done: 'Noted in the log. Thank you.',
  added: 'Added.',
  ended: 'It comes round no more. What was done of it stays in the log.',
};

export async function showDuties(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const props = { duties: await listDuties(visit.read), reader: logReader(visit) };
  const isPart = wantsFragment(visit.request) && form.errors.length === 0;
  return watching(
    ['safety'],
    page(
      'Duties',
      'safety',
      isPart ? <DutyList {...props} /> : <DutiesPage {...props} done={visit.done(DONE)} form={form} />,
    ),
  );
}

export const saveDuty = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showDuties(visit, form),
    async () => {
      const command = visit.form(dutyBody);
      await visit.act((act) => addDuty(act, command));
      return go('/safety/duties?done=added');
    },
  );

export async function addAllUsual(visit: Visit): Promise<Answer> {
  await visit.act(addUsualDuties);
  return go('/safety/duties?done=added');
}

const fromForm = z.object({ from: choice(['hub', 'duties']).catch('duties') });

export const finishDuty = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showDuties(visit, form),
    async () => {
      const { from } = visit.form(fromForm);
      await visit.act((act) => dutyDone(act, dutyNumber(visit)));
      return go(from === 'hub' ? '/safety?done=duty' : '/safety/duties?done=done');
    },
  );

export const stopDuty = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showDuties(visit, form),
    async () => {
      await visit.act((act) => endDuty(act, dutyNumber(visit)));
      return go('/safety/duties?done=ended');
    },
  );

const dutyNumber = (visit: Visit): number => numberIn(visit, 'number', 'There is no such duty.');

/** An address that only takes forms, opened by itself, leads to the duties. */
export const backToDuties = async (): Promise<Answer> => go('/safety/duties');
