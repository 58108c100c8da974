import type { FormState } from '../../server/core/routes.ts';
import type { RegisteredMaterial } from '../../server/materials/service/index.ts';
import { Caution, NotHarmless } from '../safety/parts.tsx';
import { Field, Form, Submit } from '../ui/field.tsx';
import { Empty, Filter, Flash } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { Classification, SheetState } from './material-parts.tsx';

export const SHOWN = {
  all: 'In use',
  hazards: 'Classified',
  unknown: 'Unknown',
  'no-sheet': 'No sheet',
  'look-again': 'Sheet to look at',
  retired: 'Retired',
} as const;
export type Shown = keyof typeof SHOWN;

interface Props {
  materials: RegisteredMaterial[];
  /** How many there are in all, whatever is searched for. */
  total: number;
  shown: Shown;
  search: FormState;
  mayEdit: boolean;
  done: string | null;
  newKey: string;
}

/** The register: what is in the building. */
export function MaterialListPage({ materials, total, shown, search, mayEdit, done, newKey }: Props) {
  const typed = [search.typed.q ?? ''].flat().join(' ').trim();
  const asked = typed && `&q=${encodeURIComponent(typed)}`;
  return (
    <>
      {done && <Flash words={done} />}
      <h1>Materials</h1>
      <p class="soft narrow">
        What is in the building, what it can do to people, and whether its safety data sheet is at hand.
      </p>
      <Caution />
      <div class="row">
        {mayEdit && (
          <>
            <a class="plain" href="/materials/new">
              New material
            </a>
            <PlainAct
              post="/materials/common"
              idempotencyKey={newKey}
              label="Add the common ones"
              small="with what public lists say of them"
            />
          </>
        )}
        <a class="plain" href="/stock">
          Stock
        </a>
      </div>
      <div class="narrow">
        <Form action="/materials" method="get" form={search} hidden={{ show: shown }}>
          <Field
            name="q"
            type="search"
            label="Find"
            hint="A name, another name, or a CAS number."
            maxlength={80}
            optional
          />
          <Submit label="Find" look="plain" />
        </Form>
      </div>
      <Filter
        label="Show"
        options={(Object.keys(SHOWN) as Shown[]).map((one) => ({
          href: `/materials?show=${one}${asked}`,
          label: SHOWN[one],
          current: one === shown,
        }))}
      />
      {materials.length === 0 ? (
        <Empty title={total === 0 ? 'No material yet' : 'None like this'}>
          <p>
            {total === 0
              ? 'They come with the first recipe, or all at once with “Add the common ones”.'
              : 'Look under another heading, or search for less.'}
          </p>
        </Empty>
      ) : (
        <>
          <NotHarmless />
          <section class="panel">
            <Table
              columns={[
                { label: 'Material', main: true, wraps: true },
                { label: 'Classified', keepLabel: true },
                { label: 'Safety data sheet', keepLabel: true },
              ]}
              rows={materials.map((material) => ({
                key: material.id,
                cells: [
                  <>
                    <a href={`/materials/${material.id}`}>{material.name}</a>
                    {material.facts.otherNames.length > 0 && (
                      <small class="soft"> {material.facts.otherNames.join(', ')}</small>
                    )}
                    {material.isRetired && <small class="soft"> retired</small>}
                  </>,
                  <Classification key="class" facts={material.facts} />,
                  <SheetState key="sheet" sheet={material.sheet} />,
                ],
              }))}
            />
          </section>
        </>
      )}
      <p>
        <a href="/safety">Back to safety</a>
      </p>
    </>
  );
}
