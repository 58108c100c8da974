import type { FormState } from '../../server/core/routes.ts';
import { Field, Form, Submit } from '../ui/field.tsx';
import { CurrentPassword } from './password.tsx';

export function SignInPage({ form, next }: { form: FormState; next: string }) {
  return (
    <>
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
