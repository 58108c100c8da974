import { EndedLinkPage, WelcomePage } from '../../../views/members/welcome.tsx';
import { readForm } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, page, type Visit } from '../../core/routes.ts';
import { NOBODY_YET, welcomeForm } from '../forms.ts';
import { acceptInvitation, lookAtLink } from '../service/links.ts';
import { admit, here } from '../visit.ts';

export async function showWelcome(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const secret = visit.param('secret');
  const link = await lookAtLink(visit.services.database.db, 'invitation', secret, visit.now);
  if (link.standing !== 'open')
    return page(
      'This invitation has ended',
      null,
      <EndedLinkPage kind="invitation" why={link.standing} />,
      410,
    );
  const { studio } = here(visit);
  return page(
    `Welcome to ${studio.name}`,
    null,
    <WelcomePage {...{ form, secret, studio, email: link.email }} />,
  );
}

export async function acceptWelcome(visit: Visit): Promise<Answer> {
  return visit.submit(
    (form) => showWelcome(visit, form),
    async () => {
      const entry = readForm(welcomeForm, visit.typed, NOBODY_YET);
      const secret = visit.param('secret');
      return admit(visit, await acceptInvitation(here(visit), { ...entry, secret }));
    },
  );
}
