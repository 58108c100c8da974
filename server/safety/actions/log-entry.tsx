import { AmendPage, ClosePage, EntryPage, FollowUpPage } from '../../../views/safety/log-entry.tsx';
import { pictureIn } from '../../core/files.ts';
import { numberIn } from '../../core/param.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { KINDS } from '../log.ts';
import { addPhoto, amend, close, followUp } from '../service/log.ts';
import { amendBody, closeBody, followUpBody } from '../service/log-forms.ts';
import { findEntry, followUpOwners } from '../service/log-read.ts';
import { logReader } from './log-reader.ts';

const DONE: Record<string, string> = {
  written: 'It is in the log. Thank you for writing it down.',
  amended: 'Added to the entry. What was written before stays.',
  'followed-up': 'It has an owner and a day now.',
  closed: 'Closed.',
  photo: 'The photo is with the entry.',
};

const entryNumber = (visit: Visit): number =>
  numberIn(visit, 'number', 'There is no entry with this number.');

export async function showEntry(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const entry = await findEntry(visit.read, entryNumber(visit));
  return page(
    `${KINDS[entry.kind].words}, entry ${entry.number}`,
    'safety',
    <EntryPage entry={entry} done={visit.done(DONE)} form={form} reader={logReader(visit)} />,
  );
}

export async function showAmend(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const entry = await findEntry(visit.read, entryNumber(visit));
  return page('Amend', 'safety', <AmendPage entry={entry} form={form} reader={logReader(visit)} />);
}

export const amendEntry = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showAmend(visit, form),
    async () => {
      const command = visit.form(amendBody);
      return after(visit, 'amended', (number) => visit.act((act) => amend(act, number, command)));
    },
  );

export async function showFollowUp(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const [entry, owners] = await Promise.all([
    findEntry(visit.read, entryNumber(visit)),
    followUpOwners(visit.read),
  ]);
  return page(
    'Follow up',
    'safety',
    <FollowUpPage
      entry={entry}
      owners={owners}
      owner={visit.caller.email}
      form={form}
      reader={logReader(visit)}
    />,
  );
}

export const followEntryUp = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showFollowUp(visit, form),
    async () => {
      const command = visit.form(followUpBody);
      return after(visit, 'followed-up', (number) => visit.act((act) => followUp(act, number, command)));
    },
  );

export async function showClose(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const entry = await findEntry(visit.read, entryNumber(visit));
  return page('Close', 'safety', <ClosePage entry={entry} form={form} reader={logReader(visit)} />);
}

export const closeEntry = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showClose(visit, form),
    async () => {
      const command = visit.form(closeBody);
      return after(visit, 'closed', (number) => visit.act((act) => close(act, number, command)));
    },
  );

export const bringPhoto = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showEntry(visit, form),
    async () => {
      const upload = visit.upload('photo');
      const picture = upload && (await pictureIn(upload, 'photo'));
      return after(visit, 'photo', (number) => visit.act((act) => addPhoto(act, number, picture)));
    },
  );

async function after(
  visit: Visit,
  done: string,
  work: (number: number) => Promise<unknown>,
): Promise<Answer> {
  const number = entryNumber(visit);
  await work(number);
  return go(`/safety/log/${number}?done=${done}`);
}
