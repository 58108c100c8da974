import type { FormState } from '../../server/core/routes.ts';
import { Field, Form, Submit } from '../ui/field.tsx';
import { NewPassword } from './password.tsx';
import { CurrencySelect, TimeZoneSelect, UnitsChoice } from './studio-fields.tsx';

const serverZone = () => new Intl.DateTimeFormat().resolvedOptions().timeZone;

export function SetUpPage({ form }: { form: FormState }) {
  return (
    <>
      <h1>Set up your studio</h1>
      <p>This is done once. You become its first manager, and can then invite everybody else.</p>
      <Form action="/setup" form={form}>
        <Field
          name="setupKey"
          label="One-time key"
          hint="The server printed it when it started. It shows that the studio is yours to set up."
          autocomplete="off"
          spellcheck={false}
        />
        <Field name="studio" label="Name of the studio" maxlength={80} autocomplete="organization" />
        <TimeZoneSelect value={serverZone()} />
        <CurrencySelect />
        <UnitsChoice value="metric" />
        <Field name="name" label="Your name" maxlength={80} autocomplete="name" />
        <Field
          name="email"
          label="Your e-mail address"
          hint="You sign in with it."
          type="email"
          autocomplete="username"
        />
        <NewPassword label="Your password" />
        <Submit label="Set up the studio" />
      </Form>
    </>
  );
}
