import type { FormState } from '../../server/core/routes.ts';
import { bisqueAgainst } from '../../server/ware/absorption.ts';
import { bandWords, percentWords } from '../../server/ware/bisque.ts';
import type { Clay } from '../../server/ware/service/clays.ts';
import { Beside, Field, Form, NumberField, Submit, TextArea } from '../ui/field.tsx';
import { Empty, Flash, More, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { Act, PlainAct } from '../ui/verdict.tsx';
import { AgainstBand } from './bisque.tsx';

interface ClaysProps {
  /** With the retired ones for whoever may edit. */
  clays: Clay[];
  /** Percent that the newest boiled bisque of each took up, by its id. */
  absorbed: Map<number, number>;
  mayEdit: boolean;
  done: string | null;
}

export function ClaysPage({ clays, absorbed, mayEdit, done }: ClaysProps) {
  const inUse = clays.filter(({ isRetired }) => !isRetired);
  const retired = clays.filter(({ isRetired }) => isRetired);
  return (
    <>
      {done && <Flash words={done} />}
      <h1>Clays</h1>
      <p class="soft narrow">
        How hot each clay may go. A clay in a load hotter than it stands melts over shelf and neighbours: no
        load is approved with one.
      </p>
      {inUse.length === 0 ? (
        <Empty title="No clay yet">
          <p>Until there is one, every piece is of a clay nobody knows and needs a technician's yes.</p>
          {mayEdit && <Act href="/clays/new" label="Add the first clay" />}
        </Empty>
      ) : (
        <>
          <Panel>
            <Table
              columns={[
                { label: 'Clay', main: true },
                { label: 'Stands up to cone', number: true, keepLabel: true },
                { label: 'Bisque cone', number: true, keepLabel: true },
                { label: 'Bisque should absorb', number: true, keepLabel: true },
                { label: 'Bisque absorbs', wraps: true, keepLabel: true },
                { label: 'Shrinks dry', number: true, keepLabel: true },
                { label: 'Shrinks fired', number: true, keepLabel: true },
                { label: 'Note', wraps: true },
              ]}
              rows={inUse.map((clay) => ({
                key: clay.id,
                cells: [
                  mayEdit ? <a href={`/clays/${clay.id}`}>{clay.name}</a> : clay.name,
                  clay.maxCone,
                  clay.bisqueProgramme === '' ? (
                    clay.bisqueCone
                  ) : (
                    <>
                      {clay.bisqueCone}
                      <br />
                      <span class="soft">{clay.bisqueProgramme}</span>
                    </>
                  ),
                  clay.band && bandWords(clay.band),
                  <Absorbed key="absorbed" clay={clay} percent={absorbed.get(clay.id)} />,
                  `${clay.dryShrinkPercent} %`,
                  `${clay.firedShrinkPercent} %`,
                  clay.note,
                ],
              }))}
            />
          </Panel>
          {mayEdit && (
            <p>
              <a class="plain" href="/clays/new">
                New clay
              </a>
            </p>
          )}
        </>
      )}
      {retired.length > 0 && (
        <More summary="No longer offered">
          <ul>
            {retired.map(({ id, name }) => (
              <li key={id}>
                <a href={`/clays/${id}`}>{name}</a>
              </li>
            ))}
          </ul>
        </More>
      )}
      <p class="row">
        <a href="/ware/glazes">Glazes in the kiln</a>
        <a href="/ware">Back to my ware</a>
      </p>
    </>
  );
}

/** What its newest boiled bisque took up, with the way to its tests. */
function Absorbed({ clay, percent }: { clay: Clay; percent: number | undefined }) {
  const words = percent === undefined ? 'Not boiled yet' : percentWords(percent, clay.band);
  return (
    <>
      <a class="plain" href={`/clays/${clay.id}/bisque`} aria-label={`${words}: bisque of ${clay.name}`}>
        {words}
      </a>
      {percent !== undefined && clay.band && (
        <>
          {' '}
          <AgainstBand against={bisqueAgainst(clay.band, percent)} />
        </>
      )}
    </>
  );
}

interface ClayFormProps {
  /** Null: a new one. */
  clay: Clay | null;
  form: FormState;
  newKey: string;
}

export function ClayFormPage({ clay, form, newKey }: ClayFormProps) {
  const at = clay ? `/clays/${clay.id}` : '/clays/new';
  return (
    <>
      <h1>{clay ? clay.name : 'New clay'}</h1>
      {clay?.isRetired && <p class="soft">No longer offered.</p>}
      <Form action={at} form={form} idempotencyKey={newKey}>
        <Field
          name="name"
          label="Name"
          hint="As it is called in the studio: buff stoneware."
          maxlength={60}
        />
        <Beside>
          <Field
            name="maxCone"
            label="Stands up to cone"
            hint="The most its maker allows, such as 6."
            maxlength={6}
            autocomplete="off"
            spellcheck={false}
          />
          <Field
            name="bisqueCone"
            label="Bisque cone"
            hint="Such as 06."
            maxlength={6}
            autocomplete="off"
            spellcheck={false}
          />
        </Beside>
        <Field
          name="bisqueProgramme"
          label="Bisque programme"
          hint="As the kiln's list calls it."
          maxlength={60}
          optional
        />
        <Beside>
          <NumberField
            name="absorptionLow"
            label="Its bisque should absorb, from"
            hint="Boiled, of its dry mass. Both, or neither."
            unit="%"
            optional
          />
          <NumberField
            name="absorptionHigh"
            label="up to"
            hint="More than this was fired too little."
            unit="%"
            optional
          />
        </Beside>
        <Beside>
          <NumberField
            name="dryShrinkPercent"
            label="Shrinks until dry"
            hint="Of the wet length: 100 mm wet, 94 mm dry is 6 %."
            unit="%"
          />
          <NumberField
            name="firedShrinkPercent"
            label="Shrinks until fired"
            hint="Of the wet length too, at its own cone."
            unit="%"
          />
        </Beside>
        <TextArea
          name="note"
          label="Note"
          hint="Whatever helps: speckled, coarse, dries slowly."
          rows={2}
          maxlength={500}
          optional
        />
        <Submit label={clay ? 'Save' : 'Add this clay'} />
      </Form>
      {clay && (
        <p>
          <a class="plain" href={`/clays/${clay.id}/bisque`}>
            Tests of its bisque
          </a>
        </p>
      )}
      {clay && !clay.isRetired && (
        <More summary="Retire this clay">
          <PlainAct
            post={`${at}/retire`}
            idempotencyKey={`${newKey}-retire`}
            label="Do not offer it any more"
            small="Pieces made of it keep it."
          />
        </More>
      )}
      {clay?.isRetired && (
        <PlainAct post={`${at}/revive`} idempotencyKey={`${newKey}-revive`} label="Offer it again" />
      )}
      <p>
        <a href="/clays">All clays</a>
      </p>
    </>
  );
}
