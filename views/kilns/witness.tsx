import type { Shelf } from '../../server/kilns/load-fold.ts';
import { READING_WORDS, READINGS } from '../../server/kilns/witness.ts';
import { Beside, Field, Form, Select, Submit } from '../ui/field.tsx';
import { Panel } from '../ui/panel.tsx';
import { FiringFoot, FiringHead, type FiringProps } from './firing-parts.tsx';
import { loadAddress } from './load-parts.tsx';
import { floorName } from './plan-parts.tsx';

/** Cones of a level that have a row. */
export const CONES_A_LEVEL = 3;

interface Props extends FiringProps {
  /** What usually stands on a level around the wanted cone. */
  usual: string[];
}

/** A yes to cones as they were asked about, and to no others that are typed instead. */
export const conesAsked = ({ typed }: FiringProps['form']): string =>
  Object.keys(typed)
    .filter((name) => /^(?:cone|reading)-/.test(name))
    .sort()
    .map((name) => [typed[name] ?? ''].flat().join())
    .join(' ');

/** The witness cones by the clock, level by level from the top, as they stand before a shelf is lifted. */
export function ConesPage({ firing, form, done, usual, reader }: Props) {
  const { load, shelves, cones } = firing;
  const isReadable = load.state === 'cooling' || load.state === 'unloaded';
  const before = (shelf: Shelf, i: number) =>
    cones.find(({ part, level }) => part === shelf.part && level === shelf.level)?.cones[i];
  const fromTop = shelves.map((shelf, at) => ({ shelf, at })).sort((a, b) => b.shelf.level - a.shelf.level);
  return (
    <>
      <FiringHead load={load} title="Witness cones" done={done} />
      <p>
        By the clock: upright is twelve, a tip level with its base is six. Leave what did not stand there.
      </p>
      {isReadable ? (
        <Form
          action={`${loadAddress(load.number)}/cones`}
          form={form}
          idempotencyKey={`${reader.key}-cones-${cones.length}`}
        >
          {fromTop.map(({ shelf, at }) => (
            <fieldset key={at} class="field lines pairs" id={`f-level-${at + 1}`}>
              <legend>{floorName(shelf)}</legend>
              {Array.from({ length: CONES_A_LEVEL }, (_, i) => (
                <Beside key={i}>
                  <Field
                    name={`cone-${at + 1}-${i + 1}`}
                    label="Cone"
                    value={before(shelf, i)?.cone ?? usual[i]}
                    maxlength={6}
                    autocomplete="off"
                    optional
                  />
                  <Select
                    name={`reading-${at + 1}-${i + 1}`}
                    label="How it stands"
                    value={before(shelf, i)?.reading}
                    options={READINGS.map((value) => ({ value, label: READING_WORDS[value] }))}
                    none="Not there"
                    optional
                  />
                </Beside>
              ))}
            </fieldset>
          ))}
          <Submit label="Keep the cones" small="They decide: the log only helps to explain them." />
          {form.doubtful && (
            <Submit label="They stand so" look="plain" name="confirm" value={conesAsked(form)} />
          )}
        </Form>
      ) : (
        <Panel>
          <p>It is {load.state}: cones are read when the kiln is open.</p>
        </Panel>
      )}
      <FiringFoot load={load} here="cones" reader={reader} />
    </>
  );
}
