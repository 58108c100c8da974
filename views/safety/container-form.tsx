import type { FormState } from '../../server/core/routes.ts';
import { volumeUnit } from '../../server/core/units.ts';
import { shownDay } from '../../server/core/wall-time.ts';
import type { ContainerReader } from '../../server/safety/actions/container-reader.ts';
import { CONTAINER_KINDS } from '../../server/safety/container-words.ts';
import type { ContainerNow } from '../../server/safety/service/containers.ts';
import { Beside, Choice, Field, Form, NumberField, Select, Submit } from '../ui/field.tsx';
import { containerAt, InItHazards } from './container-parts.tsx';
import { Caution } from './parts.tsx';

interface Props {
  /** Null for a new one. */
  container: ContainerNow | null;
  glazes: { code: string; name: string }[];
  form: FormState;
  reader: ContainerReader;
}

export function ContainerFormPage({ container, glazes, form, reader }: Props) {
  const at = container ? containerAt(container) : '/containers';
  const asksGlaze = !container || container.kind === 'rinse';
  return (
    <>
      <h1>{container ? `Edit ${container.name}` : 'New container'}</h1>
      <Form action={container ? `${at}/edit` : '/containers/new'} form={form} idempotencyKey={reader.key}>
        {!container && (
          <Choice
            name="kind"
            label="What it is for"
            options={[
              { value: 'rinse', label: CONTAINER_KINDS.rinse, hint: 'of one glaze, which gets it back' },
              { value: 'reclaim', label: CONTAINER_KINDS.reclaim, hint: 'rinse of many glazes' },
              { value: 'waste', label: CONTAINER_KINDS.waste, hint: 'what is thrown away' },
            ]}
          />
        )}
        {asksGlaze && (
          <Select
            name="bucket"
            label="Its glaze"
            none={container ? undefined : 'None'}
            hint={container ? 'It may change while it is empty.' : 'Only for a rinse bucket.'}
            options={glazes.map(({ code, name }) => ({ value: code, label: `${name} ${code}` }))}
            optional={!container}
          />
        )}
        <Beside>
          <Field name="code" label="Code" maxlength={12} spellcheck={false} hint="As written on it." />
          <Field name="name" label="Name" maxlength={60} />
        </Beside>
        <Beside>
          <NumberField name="capacityLitres" label="Holds" unit={volumeUnit(reader.units)} />
          <Field name="place" label="Stands" maxlength={60} optional />
        </Beside>
        <Submit label={container ? 'Save' : 'Put it up'} />
      </Form>
      <p>
        <a href={at}>{container ? `Back to ${container.name}` : 'Back to rinse and waste'}</a>
      </p>
      <Caution />
    </>
  );
}

interface PermissionProps {
  container: ContainerNow;
  form: FormState;
  reader: ContainerReader;
}

/** What a local authority allows to go down a drain from this container. */
export function PermissionPage({ container, form, reader }: PermissionProps) {
  const at = containerAt(container);
  const { permission } = container;
  return (
    <>
      <h1>Drain permission of {container.name}</h1>
      <p class="narrow">
        Without one, nothing that holds classified or unknown materials is recorded as gone down a drain.
        Record only what an authority has allowed in writing.
      </p>
      {permission && (
        <p>
          Recorded by {permission.by}: {permission.authority}, until {shownDay(permission.validTo)}
          {permission.inForce ? '.' : ', which is over.'}
        </p>
      )}
      <InItHazards container={container} />
      <Form action={`${at}/permission`} form={form} idempotencyKey={reader.key}>
        <Field
          name="authority"
          label="Who allows what"
          hint="The authority, its letter or number, and what it allows."
          maxlength={200}
        />
        <Field
          type="date"
          name="validTo"
          label="Until"
          hint="The newest record counts: a day that has passed takes the permission back."
        />
        <Submit label="Record the permission" />
      </Form>
      <p>
        <a href={at}>Back to {container.name}</a>
      </p>
      <Caution />
    </>
  );
}
