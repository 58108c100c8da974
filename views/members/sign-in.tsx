import type { FormState } from '../../server/core/routes.ts';
import { Field, Form, Submit } from '../ui/field.tsx';
import { Flash } from '../ui/panel.tsx';
import { CurrentPassword } from './password.tsx';
import { CodeField } from './second-factor.tsx';

interface SignInPageProps {
  form: FormState;
  next: string;
  /** What came before this page. */
  said: string | null;
}

export function SignInPage({ form, next, said }: SignInPageProps) {
  return (
    <>
      {said && <Flash words={said} tone="warned" />}
      <h1>Sign in</h1>
      <Form action="/sign-in" form={form} hidden={{ next: next === '/' ? undefined : next }}>
        <Field name="email" label="E-mail address" type="email" autocomplete="username" />
        <CurrentPassword name="password" label="Password" />
        <Submit label="Sign in" />
      </Form>
      <p class="soft narrow">
        Forgotten your password, or new here? A technician or manager of the studio can give you a link.
      </p>
    </>
  );
}

interface CodePageProps {
  form: FormState;
  next: string;
  isRecovery: boolean;
}

/** Between the right password and being in. */
export function CodePage({ form, next, isRecovery }: CodePageProps) {
  const other = new URLSearchParams({
    ...(next !== '/' && { next }),
    ...(!isRecovery && { kind: 'recovery' }),
  });
  return (
    <>
      <h1>{isRecovery ? 'Your recovery code' : 'Your code'}</h1>
      <Form
        action="/sign-in/code"
        form={form}
        hidden={{ next: next === '/' ? undefined : next, kind: isRecovery ? 'recovery' : undefined }}
      >
        {isRecovery ? (
          <CodeField
            label="Recovery code"
            hint="One of the twelve letters and digits that you have not used."
            autofocus
          />
        ) : (
          <CodeField
            label="Code"
            hint="The six digits that the app on your phone shows now."
            digitsOnly
            autofocus
          />
        )}
        <Submit label="Sign in" />
      </Form>
      <p>
        <a href={`/sign-in/code?${other}`}>
          {isRecovery ? 'Type a code from your phone instead' : 'Type a recovery code instead'}
        </a>
      </p>
      <p class="soft narrow">
        No phone and no recovery code? A manager of the studio can end your second factor.
      </p>
    </>
  );
}
