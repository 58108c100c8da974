import type { FormState } from '../../server/core/routes.ts';
import { Beside, Field, Form, Submit } from '../ui/field.tsx';
import { Empty, Flash, More, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { GEAR_PAGES, type Gear, type GearKind } from './gear-kinds.tsx';

export { GEAR_PAGES, type GearKind } from './gear-kinds.tsx';

const KINDS = Object.keys(GEAR_PAGES) as GearKind[];

/** All the gear at a glance; each kind has a page of its own to add and retire. */
export function GearPage({ gear }: { gear: Gear }) {
  return (
    <>
      <h1>Gear</h1>
      <p class="soft narrow">
        What readings are taken with, and how far each can be trusted. What is listed here is offered where SG
        is checked.
      </p>
      <div class="dues">
        {KINDS.map((kind) => {
          const { title, one, none, columns, items } = GEAR_PAGES[kind];
          const all = items(gear);
          return (
            <Panel key={kind} title={title}>
              {all.length === 0 ? (
                <p class="soft">{none}</p>
              ) : (
                <ul>
                  {all.map(({ code, name, figures }) => (
                    <li key={code}>
                      {name} <span class="code">{code}</span>
                      <br />
                      <span class="soft">
                        {figures
                          .map((figure, i) => figure !== '' && `${lowerFirst(columns[i] ?? '')} ${figure}`)
                          .filter(Boolean)
                          .join(', ')}
                      </span>
                    </li>
                  ))}
                </ul>
              )}
              <PlainAct
                href={`/gear/${kind}`}
                label={all.length === 0 ? `Add a ${one}` : `${title}: add or retire`}
              />
            </Panel>
          );
        })}
      </div>
    </>
  );
}

interface KindProps {
  kind: GearKind;
  gear: Gear;
  /** Code of the one that has just been added. */
  added: string | undefined;
  form: FormState;
  newKey: string;
}

export function GearKindPage({ kind, gear, added, form, newKey }: KindProps) {
  const { title, one, about, none, columns, items, ready, marked, such, fields } = GEAR_PAGES[kind];
  const all = items(gear);
  const fresh = ready === null ? undefined : all.find(({ code }) => code === added);
  return (
    <>
      {fresh && <Flash words={`${fresh.name} is ready: ${ready}`} />}
      <h1>{title}</h1>
      <p class="soft narrow">{about}</p>
      <div class="split">
        {all.length === 0 ? (
          <Empty title={`No ${one} yet`}>
            <p>{none}</p>
          </Empty>
        ) : (
          <Panel title="In use">
            <Table
              columns={[
                { label: 'What', main: true },
                ...columns.map((label) => ({ label, number: true, keepLabel: true })),
                { label: 'Out of use' },
              ]}
              rows={all.map(({ code, name, figures }) => ({
                key: code,
                cells: [
                  <>
                    {kind === 'floats' ? <a href={`/gear/floats/${code}`}>{name}</a> : name}{' '}
                    <span class="code">{code}</span>
                  </>,
                  ...figures,
                  <More key="retire" summary="Retire">
                    <PlainAct
                      post={`/gear/${kind}/${code}/retire`}
                      idempotencyKey={`${newKey}-${code}`}
                      label={`Retire ${code} for good`}
                      small="What was read with it stays."
                    />
                  </More>,
                ],
              }))}
            />
          </Panel>
        )}
        <Panel title={`Add a ${one}`}>
          <Form action={`/gear/${kind}`} form={form} idempotencyKey={newKey}>
            <Beside>
              <Field
                name="code"
                label="Code"
                hint={`As marked on it: ${marked}.`}
                maxlength={12}
                spellcheck={false}
              />
              <Field name="name" label="Name" hint={`Such as: ${such}.`} maxlength={60} />
            </Beside>
            {fields?.(form)}
            <Submit label={`Add this ${one}`} />
          </Form>
        </Panel>
      </div>
      <p>
        <a href="/gear">All gear</a>
      </p>
    </>
  );
}

const lowerFirst = (words: string): string => words.charAt(0).toLowerCase() + words.slice(1);
