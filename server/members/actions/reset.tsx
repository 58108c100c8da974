import { EndedLinkPage, ResetPage } from '../../../views/members/welcome.tsx';
import { readForm } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, page, type Visit } from '../../core/routes.ts';
import { NOBODY_YET, newPasswordForm } from '../forms.ts';
import { lookAtLink, resetPassword } from '../service/links.ts';
import { admit, here } from '../visit.ts';

export async function showReset(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const secret = visit.param('secret');
  const link = await lookAtLink(visit.services.database.db, 'reset', secret, visit.now);
  if (link.standing !== 'open')
    return page('This link has ended', null, <EndedLinkPage kind="reset" why={link.standing} />, 410);
  return page('Choose a new password', null, <ResetPage {...{ form, secret, email: link.email }} />);
}

export async function acceptReset(visit: Visit): Promise<Answer> {
  return visit.submit(
    (form) => showReset(visit, form),
    async () => {
      const { password } = readForm(newPasswordForm, visit.typed, NOBODY_YET);
      const secret = visit.param('secret');
      return admit(visit, await resetPassword(here(visit), { password, secret }));
    },
  );
}
