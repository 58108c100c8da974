import { type Answer, go, type Visit } from '../../core/routes.ts';
import { changePasswordForm, ownForm, revokeForm } from '../forms.ts';
import { changeOwn } from '../service/own.ts';
import { changePassword } from '../service/passwords.ts';
import { endToken } from '../service/tokens.ts';
import { enter, self } from '../visit.ts';
import { showMe } from './me.tsx';

export async function saveOwn(visit: Visit): Promise<Answer> {
  return visit.submit(
    (form) => showMe(visit, { which: 'own', form }),
    async () => {
      const entry = visit.form(ownForm);
      await visit.act((act) => changeOwn(act, entry));
      return go('/me?done=saved');
    },
  );
}

/** Everything signed in ends with the old password; this browser goes on with a session of its own. */
export async function saveOwnPassword(visit: Visit): Promise<Answer> {
  return visit.submit(
    (form) => showMe(visit, { which: 'password', form }),
    async () => {
      const entry = visit.form(changePasswordForm);
      await changePassword(visit.services, self(visit), entry);
      return go('/me?done=password', await enter(visit, visit.caller.id));
    },
  );
}

export async function revokeOwnToken(visit: Visit): Promise<Answer> {
  const entry = visit.form(revokeForm);
  await visit.act((act) => endToken(act, entry));
  return go('/me?done=revoked');
}
