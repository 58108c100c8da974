import { brimfulCup, waterDensity } from '../../server/buckets/gravity.ts';
import type { listCups } from '../../server/buckets/service/index.ts';
import { plusMinus } from '../../server/buckets/verdict.ts';
import type { FormState } from '../../server/core/routes.ts';
import { Beside, Field, Form, NumberField, Submit } from '../ui/field.tsx';
import { Empty, Flash, More, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { PlainAct } from '../ui/verdict.tsx';

type Cup = Awaited<ReturnType<typeof listCups>>[number];

interface Props {
  cups: Cup[];
  /** The one that has just been added. */
  added: Cup | null;
  form: FormState;
  newKey: string;
}

export function GearPage({ cups, added, form, newKey }: Props) {
  return (
    <>
      {added && <Flash words={`${added.name} is ready: fill it to the brim with glaze and weigh it.`} />}
      <h1>Cups</h1>
      <p class="soft narrow">
        A cup that was weighed once empty and once brim-full of water turns one weighing of glaze into a
        specific gravity. The larger the cup, the finer it reads.
      </p>
      <div class="split">
        {cups.length === 0 ? (
          <Empty title="No cup yet">
            <p>Any cup with a level rim will do: steel, enamel or glass, from 100 mL up.</p>
          </Empty>
        ) : (
          <Panel title="In use">
            <Table
              columns={[
                { label: 'Cup', main: true },
                { label: 'Empty', number: true, keepLabel: true },
                { label: 'Holds', number: true, keepLabel: true },
                { label: 'Reads SG to', number: true, keepLabel: true },
                { label: 'Out of use' },
              ]}
              rows={cups.map((cup) => ({
                key: cup.code,
                cells: [
                  <>
                    {cup.name} <span class="code">{cup.code}</span>
                  </>,
                  `${cup.tareG} g`,
                  `${Math.round(millilitres(cup))} mL`,
                  finest(cup),
                  <More key="retire" summary="Retire">
                    <PlainAct
                      post={`/gear/${cup.code}/retire`}
                      idempotencyKey={`${newKey}-${cup.code}`}
                      label={`Retire ${cup.code} for good`}
                      small="What was read with it stays."
                    />
                  </More>,
                ],
              }))}
            />
          </Panel>
        )}
        <Panel title="Add a cup">
          <Form action="/gear" form={form} idempotencyKey={newKey}>
            <Beside>
              <Field name="code" label="Code" hint="As marked on it: C1." maxlength={12} spellcheck={false} />
              <Field name="name" label="Name" hint="Such as: enamel cup." maxlength={60} />
            </Beside>
            <NumberField name="tareG" label="Empty and dry" unit="g" />
            <NumberField
              name="waterG"
              label="Brim-full of water"
              unit="g"
              hint="Cup and water together. Slide a flat edge across the rim, wipe the outside."
            />
            <More
              summary="Water temperature, scale"
              open={form.errors.some(({ path }) => path === 'waterC' || path === 'resolutionG')}
            >
              <Beside>
                <NumberField name="waterC" label="Water" unit="°C" value={20} />
                <NumberField name="resolutionG" label="The scale shows steps of" unit="g" value={1} />
              </Beside>
            </More>
            <Submit label="Add this cup" />
          </Form>
        </Panel>
      </div>
    </>
  );
}

const millilitres = ({ tareG, waterG, waterC }: Cup): number => (waterG - tareG) / waterDensity(waterC);

/** The ± of one weighing of an ordinary glaze. */
function finest({ tareG, waterG, waterC, resolutionG }: Cup): string {
  const grams = [tareG + 1.5 * (waterG - tareG)];
  return plusMinus(
    brimfulCup({ grams, tareG, waterG, calibrationC: waterC, resolutionG }).standardUncertainty,
  );
}
