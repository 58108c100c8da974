import type { FormState } from '../../server/core/routes.ts';
import { Field, Form, Submit } from '../ui/field.tsx';
import { NewPassword, Whose } from './password.tsx';

interface LinkPageProps {
  form: FormState;
  secret: string;
  email: string;
}

export function WelcomePage({ form, secret, email, studio }: LinkPageProps & { studio: { name: string } }) {
  return (
    <>
      <h1>Welcome to {studio.name}</h1>
      <p class="narrow">
        You are invited. Say what you are called and choose a password, and you can use the glaze wall.
      </p>
      <Form action={`/welcome/${secret}`} form={form}>
        <Whose email={email} />
        <Field
          name="name"
          label="Your name"
          hint="As the others at the studio know you."
          maxlength={80}
          autocomplete="name"
        />
        <NewPassword />
        <Submit label="Join the studio" />
      </Form>
    </>
  );
}

export function ResetPage({ form, secret, email }: LinkPageProps) {
  return (
    <>
      <h1>Choose a new password</h1>
      <p class="narrow">
        You are signed out everywhere else when it is changed, and tokens you made for programs end.
      </p>
      <Form action={`/reset/${secret}`} form={form}>
        <Whose email={email} />
        <NewPassword label="New password" />
        <Submit label="Change the password" />
      </Form>
    </>
  );
}

const WORDS = {
  invitation: {
    used: 'Somebody has joined with it. If that was you, sign in with your e-mail address and password.',
    ended: 'An invitation works for a day, and a newer one ends it. Ask whoever invited you for another.',
  },
  reset: {
    used: 'The password was changed with it. If that was not you, tell a technician or manager at once.',
    ended: 'A link works for a day, and a newer one ends it. Ask a technician or manager for another.',
  },
};

export function EndedLinkPage({ kind, why }: { kind: keyof typeof WORDS; why: 'used' | 'ended' }) {
  return (
    <>
      <h1>{why === 'used' ? 'This link has been used' : 'This link has ended'}</h1>
      <p class="narrow">{WORDS[kind][why]}</p>
      <p>
        <a class="plain" href="/sign-in">
          Sign in
        </a>
      </p>
    </>
  );
}
