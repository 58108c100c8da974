import type { Studio } from '../../server/core/actor.ts';
import type { FormState } from '../../server/core/routes.ts';
import { Check, Field, Form, Submit } from '../ui/field.tsx';
import { Facts, Flash } from '../ui/panel.tsx';
import { currencyName, TimeZoneSelect, UnitsChoice } from './studio-fields.tsx';

interface StudioPageProps {
  studio: Studio;
  staffSecondFactor: boolean;
  form: FormState;
  saved: boolean;
  newKey: string;
}

export function StudioPage({ studio, staffSecondFactor, form, saved, newKey }: StudioPageProps) {
  return (
    <>
      {saved && <Flash words="Saved." />}
      <h1>The studio</h1>
      <Form action="/studio" form={form} idempotencyKey={newKey}>
        <Field name="name" label="Name" value={studio.name} maxlength={80} autocomplete="organization" />
        <TimeZoneSelect value={studio.timeZone} />
        <UnitsChoice value={studio.units} />
        <Check
          name="staffSecondFactor"
          label="Technicians and managers sign in with a code from their phone, too"
          hint="Whoever has not set it up sees what a member sees, and is led there when they sign in."
          checked={staffSecondFactor}
        />
        <Facts items={[['Currency', `${currencyName(studio.currency)}, for good`]]} />
        <Submit label="Save" />
      </Form>
    </>
  );
}
