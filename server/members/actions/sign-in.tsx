import { SignInPage } from '../../../views/members/sign-in.tsx';
import { readForm } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { NOBODY_YET, signInForm } from '../forms.ts';
import { ownPath } from '../own-path.ts';
import { signIn } from '../service/sign-in.ts';
import { sentSession } from '../visit.ts';

const form = (state: FormState, next: string): Answer =>
  page('Sign in', null, <SignInPage form={state} next={next} />);

export async function showSignIn(visit: Visit): Promise<Answer> {
  if (!visit.request.studio) return go('/setup');
  const next = ownPath(visit.query.next);
  return visit.request.caller ? go(next) : form(emptyForm(), next);
}

export async function enterStudio(visit: Visit): Promise<Answer> {
  const { services, request, typed, now } = visit;
  const next = ownPath(typed.next);
  return visit.submit(
    (state) => form(state, next),
    async () => {
      const entry = readForm(signInForm, typed, NOBODY_YET);
      const from = { address: request.ip, oldSession: sentSession(visit) };
      return go(next, await signIn(services, { ...entry, ...from }, now));
    },
  );
}
