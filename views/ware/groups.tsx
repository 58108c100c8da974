import type { FormState } from '../../server/core/routes.ts';
import type { Group } from '../../server/ware/service/groups.ts';
import { Field, Form, Submit } from '../ui/field.tsx';
import { Empty, Flash, More, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { PlainAct } from '../ui/verdict.tsx';

interface GroupsProps {
  groups: Group[];
  mayMakeClass: boolean;
  done: string | null;
}

export function GroupsPage({ groups, mayMakeClass, done }: GroupsProps) {
  return (
    <>
      {done && <Flash words={done} />}
      <h1>Households and classes</h1>
      <p class="soft narrow">
        A household shares its pieces: each of you sees them all and can register for it. A class belongs to
        its teacher, who registers what was made in it.
      </p>
      {groups.length === 0 ? (
        <Empty title="You are in none">
          <p>Pieces you register are your own.</p>
        </Empty>
      ) : (
        <Panel>
          <Table
            columns={[
              { label: 'Name', main: true },
              { label: 'What' },
              { label: 'Answers for it', keepLabel: true },
              { label: 'People besides', number: true, keepLabel: true },
            ]}
            rows={groups.map(({ id, name, kind, contact, people }) => ({
              key: id,
              cells: [
                <a key="name" href={`/ware/groups/${id}`}>
                  {name}
                </a>,
                kind,
                contact.name,
                people.length,
              ],
            }))}
          />
        </Panel>
      )}
      <p class="row">
        <a class="plain" href="/ware/groups/household">
          New household
        </a>
        {mayMakeClass && (
          <a class="plain" href="/ware/groups/class">
            New class
          </a>
        )}
      </p>
      <p>
        <a href="/ware">Back to my ware</a>
      </p>
    </>
  );
}

interface NewGroupProps {
  kind: Group['kind'];
  form: FormState;
  /** To choose a teacher from. */
  names: string[];
  newKey: string;
}

export function NewGroupPage({ kind, form, names, newKey }: NewGroupProps) {
  const isClass = kind === 'class';
  return (
    <>
      <h1>{isClass ? 'New class' : 'New household'}</h1>
      <Form action={`/ware/groups/${kind}`} form={form} idempotencyKey={newKey}>
        <Field
          name="name"
          label="Name"
          hint={isClass ? 'Such as: Tuesday evening, spring.' : 'As the tags on the rack will say it.'}
          maxlength={60}
          autocomplete="off"
        />
        {isClass && <Who name="contact" label="Who teaches it" names={names} />}
        <Submit
          label={isClass ? 'Make this class' : 'Make this household'}
          small={isClass ? undefined : 'You answer for it. People are added next.'}
        />
      </Form>
      <p>
        <a href="/ware/groups">Households and classes</a>
      </p>
    </>
  );
}

/** Somebody, by name or e-mail address. */
function Who({
  name,
  label,
  names,
  optional,
}: {
  name: string;
  label: string;
  names: string[];
  optional?: boolean;
}) {
  return (
    <>
      <Field
        name={name}
        label={label}
        hint="The whole name, or the e-mail address they sign in with."
        maxlength={254}
        list={names.length > 0 ? 'names' : undefined}
        autocomplete="off"
        spellcheck={false}
        optional={optional}
      />
      {names.length > 0 && (
        <datalist id="names">
          {names.map((one) => (
            <option key={one} value={one} />
          ))}
        </datalist>
      )}
    </>
  );
}

interface GroupProps {
  group: Group;
  /** Who looks. */
  me: number;
  names: string[];
  form: FormState;
  done: string | null;
  newKey: string;
}

export function GroupPage({ group, me, names, form, done, newKey }: GroupProps) {
  const at = `/ware/groups/${group.id}`;
  const { kind, contact, people, mayChange } = group;
  return (
    <>
      {done && <Flash words={done} />}
      <h1>{group.name}</h1>
      <p>
        {kind === 'class' ? 'A class' : 'A household'}.{' '}
        {contact.id === me ? 'You answer' : `${contact.name} answers`} for it.
        {group.isRetired && ' It has been ended.'}
      </p>
      <Panel title={kind === 'class' ? 'Who is in the class' : 'Who else is in it'}>
        {people.length === 0 ? (
          <p class="soft">Nobody yet.</p>
        ) : (
          <ul class="plain-list">
            {people.map((person) => (
              <li key={person.id}>
                {person.name}
                {person.id === me && ' (you)'}
                {(mayChange || person.id === me) && !group.isRetired && (
                  <More summary={person.id === me ? 'Leave' : `Take ${person.name} out`}>
                    <PlainAct
                      post={`${at}/remove`}
                      idempotencyKey={`${newKey}-${person.id}`}
                      fields={{ person: person.id }}
                      label={person.id === me ? 'Leave it' : `${person.name} is not in it any more`}
                      small="Pieces stay whose they are."
                    />
                  </More>
                )}
              </li>
            ))}
          </ul>
        )}
      </Panel>
      {mayChange && (
        <>
          <h2>Add somebody</h2>
          <Form action={`${at}/people`} form={form} idempotencyKey={newKey}>
            <Who name="who" label="Who" names={names} />
            <Submit label="Add" look="plain" />
          </Form>
          <p class="row">
            <a class="plain" href={`${at}/edit`}>
              Change the name
            </a>
          </p>
          <More summary={kind === 'class' ? 'End this class' : 'End this household'}>
            <PlainAct
              post={`${at}/end`}
              idempotencyKey={`${newKey}-end`}
              label="Nobody registers for it any more"
              small="Pieces that belong to it keep it."
            />
          </More>
        </>
      )}
      <p>
        <a href="/ware/groups">Households and classes</a>
      </p>
    </>
  );
}

interface GroupEditProps {
  group: Group;
  form: FormState;
  names: string[];
  /** May name somebody else to answer for it. */
  mayHandOver: boolean;
  newKey: string;
}

export function GroupEditPage({ group, form, names, mayHandOver, newKey }: GroupEditProps) {
  const at = `/ware/groups/${group.id}`;
  return (
    <>
      <h1>Change {group.name}</h1>
      <Form action={`${at}/edit`} form={form} idempotencyKey={newKey}>
        <Field name="name" label="Name" maxlength={60} autocomplete="off" />
        {mayHandOver && (
          <Who
            name="contact"
            label={`Who answers for it instead of ${group.contact.name}`}
            names={names}
            optional
          />
        )}
        <Submit label="Save" />
      </Form>
      <p>
        <a href={at}>Back to {group.name}</a>
      </p>
    </>
  );
}
