import { CodePage, SignInPage } from '../../../views/members/sign-in.tsx';
import { readForm } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { codeForm, NOBODY_YET, signInForm } from '../forms.ts';
import { ownPath } from '../own-path.ts';
import { finishSignIn, isStepOpen, signIn } from '../service/sign-in.ts';
import { arrive, blankStepCookie, sentSession, sentStep, stepCookie } from '../visit.ts';

const form = (state: FormState, next: string, said: string | null = null): Answer =>
  page('Sign in', null, <SignInPage form={state} next={next} said={said} />);

export async function showSignIn(visit: Visit): Promise<Answer> {
  const { request, query } = visit;
  if (!request.studio) return go('/setup');
  const next = ownPath(query.next);
  return request.caller ? go(next) : form(emptyForm(), next, whatWas(query));
}

/** What the page before this one did, as its address says in a word or a number. */
function whatWas({ code, out }: Visit['query']): string | null {
  if (code === 'ended') return 'The code was not typed in time, or it was wrong too often. Begin again.';
  if (typeof out !== 'string' || !/^[1-9]\d{0,3}$/.test(out)) return null;
  return out === '1' ? 'Signed out in this browser, the only one.' : `Signed out in ${out} browsers.`;
}

export async function enterStudio(visit: Visit): Promise<Answer> {
  const { services, request, typed, now } = visit;
  const next = ownPath(typed.next);
  return visit.submit(
    (state) => form(state, next),
    async () => {
      const entry = readForm(signInForm, typed, NOBODY_YET);
      const from = { address: request.ip, oldSession: sentSession(visit) };
      const signedIn = await signIn(services, { ...entry, ...from }, now);
      return 'session' in signedIn
        ? arrive(visit, signedIn.session, next)
        : go(`/sign-in/code${toNext(next)}`, stepCookie(visit, signedIn.step));
    },
  );
}

const toNext = (next: string): string => (next === '/' ? '' : `?next=${encodeURIComponent(next)}`);

const ENDED = '/sign-in?code=ended';

export async function showCode(visit: Visit): Promise<Answer> {
  const step = sentStep(visit);
  const isOpen = step !== null && (await isStepOpen(visit.services, step, visit.now));
  return isOpen ? codePage(visit.query, emptyForm()) : go(ENDED, blankStepCookie(visit));
}

const codePage = ({ next, kind }: Visit['query'], state: FormState): Answer =>
  page('Your code', null, <CodePage form={state} next={ownPath(next)} isRecovery={kind === 'recovery'} />);

export async function enterCode(visit: Visit): Promise<Answer> {
  const { services, request, typed, now } = visit;
  const step = sentStep(visit);
  if (step === null) return go(ENDED);
  return visit.submit(
    (state) => codePage(typed, state),
    async () => {
      const { code } = readForm(codeForm, typed, NOBODY_YET);
      const from = { address: request.ip, oldSession: sentSession(visit) };
      const signedIn = await finishSignIn(services, { step, code, ...from }, now);
      if (signedIn === null) return go(ENDED, blankStepCookie(visit));
      // How many are left is worth knowing at once, and whether the phone is gone for good.
      const next = signedIn.by === 'recovery-code' ? '/me/second-factor?done=recovered' : ownPath(typed.next);
      return arrive(visit, signedIn.session, next, blankStepCookie(visit));
    },
  );
}
