import { may } from '../../server/core/policy.ts';
import type { Caller } from '../../server/core/session.ts';
import type { ListedPerson } from '../../server/members/service/people.ts';
import { Form, Select, Submit } from '../ui/field.tsx';
import { Flash, type FlashProps, More } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { ROLE_OPTIONS } from './roles.ts';

interface PeoplePageProps {
  caller: Caller;
  people: ListedPerson[];
  /** What came of the last act on somebody. */
  flash: FlashProps | null;
  newKey: string;
}

export function PeoplePage({ caller, people, flash, newKey }: PeoplePageProps) {
  const { timeZone } = caller.studio;
  const day = new Intl.DateTimeFormat('en-GB', { timeZone, day: 'numeric', month: 'short', year: 'numeric' });
  return (
    <>
      {flash && <Flash {...flash} />}
      <h1>People</h1>
      <p class="row">
        <a class="plain" href="/people/invite">
          Invite somebody
        </a>
        <a class="plain" href="/devices">
          Wall tablets
        </a>
        {may(caller.role, 'studio.edit') && (
          <a class="plain" href="/studio">
            The studio
          </a>
        )}
        <a class="plain" href="/mail">
          Mail
        </a>
        {may(caller.role, 'hooks.edit') && (
          <a class="plain" href="/hooks">
            Hooks
          </a>
        )}
      </p>
      <Table
        caption={`${people.filter(({ active }) => active).length} active`}
        columns={[
          { label: 'Name', main: true },
          { label: 'Role' },
          { label: 'Here since', keepLabel: true },
          { label: 'Change' },
        ]}
        rows={people.map((person, at) => ({
          key: person.email,
          cells: [
            <>
              {person.name}
              {person.id === caller.id && ' (you)'}
              <br />
              <small class="soft">{person.email}</small>
            </>,
            <>
              {person.active ? person.role : `${person.role}, not active`}
              {person.hasFactor && may(caller.role, 'people.end-factor') && (
                <>
                  <br />
                  <small class="soft">with a second factor</small>
                </>
              )}
            </>,
            day.format(person.joinedAt),
            <Changes key={person.email} id={`p${at}`} {...{ caller, person, newKey }} />,
          ],
        }))}
      />
    </>
  );
}

interface ChangesProps {
  caller: Caller;
  person: ListedPerson;
  id: string;
  newKey: string;
}

/** What may be done about one person by whoever looks at the page. */
function Changes({ caller, person, id, newKey }: ChangesProps) {
  const canReset =
    person.active &&
    may(caller.role, person.role === 'member' ? 'people.reset-member' : 'people.reset-staff');
  const canManage = may(caller.role, 'people.set-role');
  if (!canReset && !canManage) return null;
  const hidden = { email: person.email };
  return (
    <More summary={`Change ${person.name}`}>
      <div class="form">
        {may(caller.role, 'fees.see-all') && (
          <p>
            <a href={`/fees/accounts?words=${encodeURIComponent(person.name)}`}>What {person.name} owes</a>
          </p>
        )}
        {canReset && (
          <Form id={`${id}-reset`} action="/people/reset-link" hidden={hidden}>
            <Submit label="Make a link for a new password" look="plain" />
          </Form>
        )}
        {person.hasFactor && person.id !== caller.id && may(caller.role, 'people.end-factor') && (
          <Form
            id={`${id}-factor`}
            action="/people/second-factor/end"
            idempotencyKey={`${newKey}-factor`}
            hidden={hidden}
          >
            <Submit
              label="End the second factor"
              small="For a lost phone. Be sure that it is them who ask."
              look="plain danger"
            />
          </Form>
        )}
        {canManage && person.active && (
          <Form id={`${id}-role`} action="/people/role" idempotencyKey={newKey} hidden={hidden}>
            <Select name="role" label="Role" value={person.role} options={ROLE_OPTIONS} />
            <Submit label="Set the role" look="plain" />
          </Form>
        )}
        {canManage && (
          <Form
            id={`${id}-activity`}
            action="/people/activity"
            idempotencyKey={newKey}
            hidden={{ ...hidden, active: person.active ? 'no' : 'yes' }}
          >
            {person.active ? (
              <Submit label="Deactivate" look="plain danger" />
            ) : (
              <Submit label="Let back in" look="plain" />
            )}
          </Form>
        )}
      </div>
    </More>
  );
}
