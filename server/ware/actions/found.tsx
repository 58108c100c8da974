import { FoundPage, NewFoundPage } from '../../../views/ware/found.tsx';
import { numberIn } from '../../core/param.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { claimForm, claimPiece, foundForm, namelessShelf, registerFound } from '../service/index.ts';
import { readerOf } from './reader.ts';
import { aboutPiece, withPicture } from './register.tsx';

const DONE: Record<string, string> = {
  claimed: 'A technician hands it over. Come by with something that shows it is yours.',
  added: 'It is on the shelf, with its photo.',
};

export async function showFound(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const { before } = visit.query;
  const isPaged = typeof before === 'string' && /^[1-9]\d{0,8}$/.test(before);
  const { shelf, next } = await namelessShelf(visit.read, isPaged ? Number(before) : undefined);
  return page(
    'Shelf without names',
    'ware',
    <FoundPage
      shelf={shelf}
      next={next}
      isNewest={!isPaged}
      done={visit.done(DONE)}
      refused={form.errors.map(({ message }) => message).join(' ') || null}
      reader={readerOf(visit)}
    />,
  );
}

export const claim = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showFound(visit, form),
    async () => {
      const number = numberIn(visit, 'number', 'There is no such piece on the shelf without names.');
      const body = visit.form(claimForm);
      await visit.act((act) => claimPiece(act, number, body));
      return go('/ware/found?done=claimed');
    },
  );

export const showNewFound = async (visit: Visit, form: FormState = emptyForm()): Promise<Answer> =>
  page('A piece without a name', 'ware', <NewFoundPage form={form} reader={readerOf(visit)} />);

export const putOnShelf = (visit: Visit): Promise<Answer> =>
  withPicture(
    visit,
    (form) => showNewFound(visit, form),
    async (picture) => {
      const command = aboutPiece(visit, foundForm);
      await visit.act((act) => registerFound(act, command, picture));
      return go('/ware/found?done=added');
    },
  );

/** The address a claim is sent to, opened by itself, leads to the shelf. */
export const backToFound = async (): Promise<Answer> => go('/ware/found');
