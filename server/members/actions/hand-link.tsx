import { HandLinkPage, InvitePage } from '../../../views/members/link.tsx';
import { type Answer, emptyForm, type FormState, page, type Visit } from '../../core/routes.ts';
import { inviteForm, personForm } from '../forms.ts';
import { type IssuedLink, invite, makeResetLink } from '../service/links.ts';
import { absolute, actInSecret } from '../visit.ts';
import { showPeople } from './people.tsx';

export async function showInvite({ caller }: Visit, form: FormState = emptyForm()): Promise<Answer> {
  return page('Invite somebody', 'people', <InvitePage role={caller.role} form={form} />);
}

export async function invitePerson(visit: Visit): Promise<Answer> {
  return visit.submit(
    (form) => showInvite(visit, form),
    async () => {
      const entry = visit.form(inviteForm);
      const issued = await actInSecret(visit, (act) => invite(act, entry));
      return handOver(visit, 'welcome', entry.email, issued);
    },
  );
}

export async function resetPerson(visit: Visit): Promise<Answer> {
  return visit.submit(
    (form) => showPeople(visit, form),
    async () => {
      const entry = visit.form(personForm);
      const issued = await actInSecret(visit, (act) => makeResetLink(act, entry));
      return handOver(visit, 'reset', issued.name, issued);
    },
  );
}

function handOver(visit: Visit, kind: 'welcome' | 'reset', whom: string, issued: IssuedLink): Answer {
  const { now, studio } = visit;
  const url = absolute(visit, `/${kind}/${issued.secret}`);
  const title = kind === 'welcome' ? 'Hand over this invitation' : 'Hand over this reset link';
  const until = { expiresAt: issued.expiresAt, now, timeZone: studio.timeZone };
  return page(title, 'people', <HandLinkPage {...{ title, whom, url, ...until }} />);
}
