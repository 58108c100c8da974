import type { Instant } from '../../server/core/clock.ts';
import type { FormState } from '../../server/core/routes.ts';
import { shownDay, shownTime } from '../../server/core/wall-time.ts';
import type { MaterialPage, Sheet } from '../../server/materials/service/index.ts';
import { Caution } from '../safety/parts.tsx';
import { Beside, DocumentField, Field, Form, Submit } from '../ui/field.tsx';
import { Flash, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { SheetLink, SheetState } from './material-parts.tsx';

interface Props {
  found: MaterialPage;
  form: FormState;
  /** Which of the forms `form` is of. */
  kind: string;
  years: number;
  mayEdit: boolean;
  done: string | null;
  now: Instant;
  timeZone: string;
  newKey: string;
}

/** Safety data sheets of a material: those that came, and what was found out about them. */
export function MaterialSheetsPage(props: Props) {
  const { found, mayEdit, done, now, timeZone } = props;
  const { material, sheets } = found;
  return (
    <>
      {done && <Flash words={done} />}
      <h1>Sheets of {material.name}</h1>
      <p>
        <SheetState sheet={material.sheet} />
      </p>
      <Caution />
      <div class="split">
        <Panel title="What is kept">
          {sheets.length === 0 ? (
            <p>No safety data sheet yet.</p>
          ) : (
            <Table
              columns={[
                { label: 'Sheet', main: true, wraps: true },
                { label: 'Look again', keepLabel: true },
                { label: 'Noted' },
              ]}
              rows={sheets.map((sheet) => ({
                key: sheet.number,
                cells: [
                  <What key="what" sheet={sheet} />,
                  sheet.reviewOn ? shownDay(sheet.reviewOn) : '',
                  `${shownTime(sheet.at, now, timeZone)}, ${sheet.by}`,
                ],
              }))}
            />
          )}
        </Panel>
        {mayEdit && (
          <div>
            <NewSheet {...props} />
            {material.sheet.sheet && <LookedAt {...props} />}
          </div>
        )}
      </div>
      <p class="row">
        <a href={`/materials/${material.id}`}>Back to {material.name}</a>
        <a href="/safety">Back to safety</a>
      </p>
    </>
  );
}

function What({ sheet }: { sheet: Sheet }) {
  if (sheet.kind === 'reviewed') return <>Looked through again: it holds</>;
  if (sheet.kind === 'newer-exists') return <>{sheet.supplier} has a newer one</>;
  return <SheetLink sheet={sheet} />;
}

function NewSheet({ found, form, kind, years, newKey }: Props) {
  const { material } = found;
  const state = kind === 'sheet' ? form : { typed: {}, errors: [] };
  const kept = typeof state.typed.kept === 'string' ? state.typed.kept : undefined;
  return (
    <Panel title="Add a sheet">
      <Form
        action={`/materials/${material.id}/sheets`}
        form={state}
        idempotencyKey={newKey}
        hidden={{ kind: 'sheet', kept }}
        id="s"
        takesFiles
      >
        {kept && (
          <p>
            <a href={`/files/${kept}`} hx-boost="false" download>
              The PDF you sent
            </a>{' '}
            is kept: no need to send it again.
          </p>
        )}
        <DocumentField
          name="sheet"
          label={kept ? 'Another PDF' : 'The sheet, as a PDF'}
          hint="As the supplier gives it out, at most 15 MB."
          optional={kept !== undefined}
        />
        <Field
          name="supplier"
          label="Supplier"
          value={material.facts.supplier}
          maxlength={80}
          autocomplete="off"
        />
        <Beside>
          <Field name="issuedOn" type="date" label="Its date" hint="Of issue or revision." />
          <Field name="language" label="Language" value="English" maxlength={40} />
        </Beside>
        <Field
          name="reviewOn"
          type="date"
          label="Look again on"
          hint={`Empty: ${years === 1 ? 'a year' : `${years} years`} after its date.`}
          optional
        />
        <Submit label="Keep this sheet" />
      </Form>
    </Panel>
  );
}

function LookedAt({ found, form, kind, years, newKey }: Props) {
  const { material } = found;
  const at = `/materials/${material.id}/sheets`;
  const of = (one: string) => (kind === one ? form : { typed: {}, errors: [] });
  return (
    <Panel title="The sheet that is kept">
      <Form
        action={at}
        form={of('reviewed')}
        idempotencyKey={`${newKey}-r`}
        hidden={{ kind: 'reviewed' }}
        id="r"
        takesFiles
      >
        <Field
          name="reviewOn"
          type="date"
          label="Look again on"
          hint={`Empty: in ${years === 1 ? 'a year' : `${years} years`}.`}
          optional
        />
        <Submit
          label="Looked through again: it holds"
          look="plain"
          small="and the supplier has no newer one"
        />
      </Form>
      <Form
        action={at}
        form={of('newer-exists')}
        idempotencyKey={`${newKey}-n`}
        hidden={{ kind: 'newer-exists' }}
        id="n"
        takesFiles
      >
        <Submit label="The supplier has a newer one" look="plain" small="asked for until it is here" />
      </Form>
    </Panel>
  );
}
