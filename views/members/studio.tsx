import type { Studio } from '../../server/core/actor.ts';
import type { FormState } from '../../server/core/routes.ts';
import { Field, Form, Submit } from '../ui/field.tsx';
import { Facts, Flash } from '../ui/panel.tsx';
import { currencyName, TimeZoneSelect, UnitsChoice } from './studio-fields.tsx';

interface StudioPageProps {
  studio: Studio;
  form: FormState;
  saved: boolean;
  newKey: string;
}

export function StudioPage({ studio, form, saved, newKey }: StudioPageProps) {
  return (
    <>
      {saved && <Flash words="Saved." />}
      <h1>The studio</h1>
      <Form action="/studio" form={form} idempotencyKey={newKey}>
        <Field name="name" label="Name" value={studio.name} maxlength={80} autocomplete="organization" />
        <TimeZoneSelect value={studio.timeZone} />
        <UnitsChoice value={studio.units} />
        <Facts items={[['Currency', `${currencyName(studio.currency)}, for good`]]} />
        <Submit label="Save" />
      </Form>
    </>
  );
}
