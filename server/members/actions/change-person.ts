import { type Answer, go, type Visit } from '../../core/routes.ts';
import { activityForm, roleForm } from '../forms.ts';
import { changeActivity, changeRole } from '../service/people.ts';
import { showPeople } from './people.tsx';

/** Whoever changes their own standing is signed out by it like everybody else. */
const back = (visit: Visit, email: string, done: string): Answer =>
  go(email === visit.caller.email ? '/sign-in' : `/people?done=${done}`);

export async function setRole(visit: Visit): Promise<Answer> {
  return visit.submit(
    (form) => showPeople(visit, form),
    async () => {
      const entry = visit.form(roleForm);
      await visit.act((act) => changeRole(act, entry));
      return back(visit, entry.email, 'role');
    },
  );
}

export async function setActivity(visit: Visit): Promise<Answer> {
  return visit.submit(
    (form) => showPeople(visit, form),
    async () => {
      const entry = visit.form(activityForm);
      await visit.act((act) => changeActivity(act, entry));
      return back(visit, entry.email, entry.active ? 'back' : 'left');
    },
  );
}
