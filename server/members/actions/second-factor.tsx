import { KeyPage, RecoveryCodesPage, SecondFactorPage } from '../../../views/members/second-factor.tsx';
import { type Answer, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { beginFactorForm, codeForm, confirmFactorForm, endFactorForm, personForm } from '../forms.ts';
import { keyAddress, keyInGroups } from '../one-time-code.ts';
import {
  beginFactor,
  confirmFactor,
  endFactorOf,
  endOwnFactor,
  ownFactor,
  renewRecoveryCodes,
} from '../service/second-factor.ts';
import { enter, self } from '../visit.ts';
import { showPeople } from './people.tsx';

const DONE = {
  ended: 'Your second factor has ended: you sign in without a code. You are signed out everywhere else.',
  recovered:
    'You are in by a recovery code, which is used up now. Is the phone gone? End your second factor here and set it up anew.',
};

/** One's second factor, with one of its forms as it was refused. */
export async function showSecondFactor(
  visit: Visit,
  faulty: { which: 'begin' | 'codes' | 'end'; form: FormState } | null = null,
): Promise<Answer> {
  const { caller: person, now } = visit;
  const own = await ownFactor(visit.read);
  const done = faulty ? null : visit.done(DONE);
  return page('Your second factor', 'me', <SecondFactorPage {...{ person, own, now, done, faulty }} />);
}

/** The key is shown in this answer alone, and again where a code that goes with it was mistyped. */
export async function beginOwnFactor(visit: Visit): Promise<Answer> {
  return visit.submit(
    (form) => showSecondFactor(visit, { which: 'begin', form }),
    async () => {
      const { password } = visit.form(beginFactorForm);
      return keyPage(visit, await beginFactor(visit.services, self(visit), password));
    },
  );
}

function keyPage({ caller, studio }: Visit, key: string, form?: FormState): Answer {
  const address = keyAddress(key, { studio: studio.name, email: caller.email });
  return page(
    'Set up your second factor',
    'me',
    <KeyPage form={form} shownKey={key} groups={keyInGroups(key)} address={address} />,
  );
}

export async function confirmOwnFactor(visit: Visit): Promise<Answer> {
  return visit.submit(
    (form) => {
      const { secondFactorKey: key } = form.typed;
      // Drawn anew only where it is the code that was wrong.
      return typeof key === 'string' &&
        /^[A-Z2-7]{32}$/.test(key) &&
        form.errors.some(({ path }) => path === 'code')
        ? keyPage(visit, key, form)
        : showSecondFactor(visit, { which: 'begin', form });
    },
    async () => {
      const { secondFactorKey: key, code } = visit.form(confirmFactorForm);
      const codes = await confirmFactor(visit.services, self(visit), { key, code });
      // Every session has ended with it, this one too.
      const { sessions } = visit.services;
      const cookie = await enter(visit, visit.caller.id);
      // Around the codes stands what they may see from now on.
      visit.request.caller = (await sessions.find(sessions.read(cookie) ?? ''))?.caller ?? null;
      return { ...codesPage(visit, codes, 'fresh'), cookie };
    },
  );
}

const codesPage = ({ studio }: Visit, codes: string[], why: 'fresh' | 'renewed') =>
  page(
    'Your recovery codes',
    'me',
    <RecoveryCodesPage codes={codes} studio={studio.name} isFresh={why === 'fresh'} />,
  );

export async function renewOwnCodes(visit: Visit): Promise<Answer> {
  return visit.submit(
    (form) => showSecondFactor(visit, { which: 'codes', form }),
    async () => {
      const { code } = visit.form(codeForm);
      return codesPage(visit, await renewRecoveryCodes(visit.services, self(visit), code), 'renewed');
    },
  );
}

export async function endFactorOfOwn(visit: Visit): Promise<Answer> {
  return visit.submit(
    (form) => showSecondFactor(visit, { which: 'end', form }),
    async () => {
      await endOwnFactor(visit.services, self(visit), visit.form(endFactorForm));
      return go('/me/second-factor?done=ended', await enter(visit, visit.caller.id));
    },
  );
}

export async function endFactorOfSomebody(visit: Visit): Promise<Answer> {
  return visit.submit(
    (form) => showPeople(visit, form),
    async () => {
      const entry = visit.form(personForm);
      await visit.act((act) => endFactorOf(act, entry));
      return go('/people?done=factor');
    },
  );
}
