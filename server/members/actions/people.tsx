import { PeoplePage } from '../../../views/members/people.tsx';
import { type Answer, type FormState, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { listPeople } from '../service/people.ts';

const DONE = new Map([
  ['role', 'The role is changed. That person is signed out and their tokens have ended.'],
  ['left', 'Deactivated: that person is signed out, their tokens have ended, and they cannot sign in.'],
  [
    'factor',
    'That second factor has ended. The person is signed out and told, and signs in by password alone.',
  ],
  ['back', 'Active again. Their old password works; a reset link lets them choose another.'],
]);

/** Everybody; with `refused` after an act on one of them that was not done. */
export async function showPeople(visit: Visit, refused: FormState | null = null): Promise<Answer> {
  const { caller, query } = visit;
  const people = await listPeople(visit.read);
  const words = refused
    ? refused.errors.map(({ message }) => message).join(' ')
    : DONE.get(String(query.done));
  const flash = words ? ({ words, tone: refused ? 'refused' : 'done' } as const) : null;
  return page('People', 'people', <PeoplePage {...{ caller, people, flash }} newKey={randomSecret()} />);
}
