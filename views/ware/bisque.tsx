import type { FormState } from '../../server/core/routes.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { AbsorptionBand, bisqueAgainst } from '../../server/ware/absorption.ts';
import type { Reader } from '../../server/ware/actions/reader.ts';
import {
  AGAINST_WORDS,
  type BisqueMethod,
  bandWords,
  percentWords,
  STANDARD_SPECIMENS,
} from '../../server/ware/bisque.ts';
import type { BisqueTest } from '../../server/ware/service/bisque.ts';
import type { Clay } from '../../server/ware/service/clays.ts';
import { upper } from '../../server/ware/words.ts';
import { Beside, Form, NumberField, Submit, TextArea } from '../ui/field.tsx';
import { State, StateIcon } from '../ui/icons.tsx';
import { Empty, Facts, Flash, More, Pages, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';

/** As many specimens as the form takes at once. */
export const ROWS = STANDARD_SPECIMENS;

const QUICK = 'Quick version, not C373, not held against the band';

/** Drop: drinks too much; barred triangle: too dense. */
const SHAPES = { in: 'ready', 'under-fired': 'too-thin', 'over-fired': 'too-thick' } as const;

export const AgainstBand = ({ against }: { against: ReturnType<typeof bisqueAgainst> }) => (
  <State state={SHAPES[against]} words={AGAINST_WORDS[against]} />
);

function meanWords({ meanPercent, spreadPercent }: BisqueTest, band: AbsorptionBand | null): string {
  const mean = percentWords(meanPercent, band);
  return spreadPercent === null ? mean : `${mean.replace(' %', '')} ± ${spreadPercent.toFixed(1)} %`;
}

interface Props {
  clay: Clay;
  mayEdit: boolean;
  /** Newest first. */
  tests: BisqueTest[];
  paged: { isFirst: boolean; next: number | null };
  wall: { soakShare: number | null; bulkDensity: number | null };
  done: string | null;
  form: FormState;
  reader: Reader;
}

export function BisquePage({ clay, mayEdit, tests, paged, wall, done, form, reader }: Props) {
  const at = `/clays/${clay.id}/bisque`;
  const { band } = clay;
  return (
    <>
      {done && <Flash words={done} />}
      <h1>Bisque of {clay.name}</h1>
      {clay.isRetired && <p class="soft">This clay is no longer offered.</p>}
      {paged.isFirst && <Newest tests={tests} band={band} reader={reader} />}
      <div class="split">
        <Panel title="What is known">
          <Facts
            items={[
              ['Bisque cone', clay.bisqueCone],
              ['Programme', clay.bisqueProgramme === '' ? 'not said' : clay.bisqueProgramme],
              ['Should absorb', band ? bandWords(band) : 'not said: no test can be judged'],
              [
                'In two minutes',
                wall.soakShare === null ? 'not tested yet' : percentWords(100 * wall.soakShare),
              ],
              [
                'Bulk density',
                wall.bulkDensity === null ? 'not tested yet' : `${wall.bulkDensity.toFixed(2)} g/cm³`,
              ],
            ]}
          />
          {(wall.soakShare === null || wall.bulkDensity === null) && (
            <p class="soft">
              Without the last two the bench cannot say when a wall is too thin to drink a whole coat.
            </p>
          )}
          {mayEdit && (
            <p>
              <a class="plain" href={`/clays/${clay.id}`}>
                Change the clay
              </a>
            </p>
          )}
        </Panel>
        <HowTo />
      </div>
      {tests.length > 0 && <Tests clay={clay} tests={tests} reader={reader} />}
      <Pages
        newest={paged.isFirst ? null : at}
        older={paged.next === null ? null : `${at}?before=${paged.next}`}
        olderWords="Older tests"
      />
      {reader.technician && <TestForms at={at} form={form} reader={reader} />}
      <p>
        <a href="/clays">All clays</a>
      </p>
    </>
  );
}

/** What the newest boiled test that counts says, by size of words. */
function Newest({ tests, band, reader }: Pick<Props, 'tests' | 'reader'> & { band: AbsorptionBand | null }) {
  const test = tests.find(({ method, struck }) => method === 'boiled' && struck === null);
  if (test?.method !== 'boiled')
    return (
      <Empty title="Not boiled yet">
        <p>Nobody has measured what this bisque absorbs.</p>
      </Empty>
    );
  const { against, load } = test;
  const words = against === null ? `Absorbs ${meanWords(test, band)}` : AGAINST_WORDS[against];
  return (
    <section class={`verdict bisque-newest is-${against === null ? 'needs-reading' : SHAPES[against]}`}>
      <StateIcon state={against === null ? 'needs-reading' : SHAPES[against]} />
      <h2>{words}</h2>
      <p class="verdict-why">
        {upper(shownTime(test.at, reader.now, reader.timeZone))}
        {load !== null && `, load ${load}`}: absorbs {meanWords(test, band)} when boiled,{' '}
        {band ? `should be ${bandWords(band)}` : 'and nobody said what it should'}.
      </p>
      {against === 'under-fired' && (
        <p class="verdict-why">It drinks more: count shorter, and it may crack easier.</p>
      )}
      {against === 'over-fired' && (
        <p class="verdict-why">It drinks less: count longer, and the coat may stay thin.</p>
      )}
    </section>
  );
}

function Tests({ clay, tests, reader }: Pick<Props, 'clay' | 'tests' | 'reader'>) {
  return (
    <Panel title="Tests">
      <Table
        columns={[
          { label: 'When', main: true },
          { label: 'How', wraps: true },
          { label: 'Load', number: true, keepLabel: true },
          { label: 'Absorbed', number: true, keepLabel: true },
          { label: 'Result', wraps: true },
          { label: 'Porosity', number: true, keepLabel: true },
          { label: 'Bulk density', number: true, keepLabel: true },
          { label: 'By', wraps: true },
        ]}
        rows={tests.map((test) => ({
          key: test.id,
          struck: test.struck !== null,
          cells: [
            upper(shownTime(test.at, reader.now, reader.timeZone)),
            <How key="how" test={test} />,
            test.load,
            meanWords(test, clay.band),
            <Result key="result" test={test} />,
            test.method === 'boiled' && `${test.found.mean.apparentPorosityPercent.toFixed(1)} %`,
            test.method === 'boiled' && `${test.found.mean.bulkDensity.toFixed(2)} g/cm³`,
            <>
              {test.by}
              {test.note !== null && (
                <>
                  : <q>{test.note}</q>
                </>
              )}
              {reader.technician && test.struck === null && (
                <>
                  {' '}
                  <a class="plain" href={`/clays/${clay.id}/bisque/${test.id}/strike`}>
                    Strike out
                  </a>
                </>
              )}
            </>,
          ],
        }))}
      />
    </Panel>
  );
}

function How({ test }: { test: BisqueTest }) {
  const { length } = test.specimens;
  if (test.method === 'soaked')
    return (
      <>
        Soaked 2 min, {length === 1 ? '1 piece' : `${length} pieces`}. <span class="soft">{QUICK}.</span>
      </>
    );
  return (
    <>
      Boiled (ASTM C373), {length === 1 ? '1 specimen' : `${length} specimens`}
      {length < STANDARD_SPECIMENS && (
        <span class="soft"> of the {STANDARD_SPECIMENS} that the standard asks for</span>
      )}
    </>
  );
}

function Result({ test }: { test: BisqueTest }) {
  if (test.struck !== null)
    return (
      <>
        Struck out by {test.struck.by}: <q>{test.struck.reason}</q>
      </>
    );
  if (test.method === 'soaked') return null;
  return test.against === null ? <>No band yet</> : <AgainstBand against={test.against} />;
}

/** Figures: ASTM C373-88 (2006), 4.1 to 5.4; cautions: common practice, no source. */
const HowTo = () => (
  <More summary="How to test bisque">
    <h3>Boiled, by ASTM C373</h3>
    <ol>
      <li>
        At least five pieces of unglazed bisque, 50 g and more each, without cracks; some of the surface
        freshly broken, sharp edges rubbed off.
      </li>
      <li>
        Dry them at 150 °C until they weigh the same twice, let them cool in a dry box, weigh to 0.01 g.
      </li>
      <li>Boil 5 h in distilled water, always covered, none touching the bottom.</li>
      <li>Leave them in that water for 24 h more.</li>
      <li>Weigh each hanging in water from a thin wire; the scale at zero with the empty wire in water.</li>
      <li>Roll each over a damp lint-free cloth, do not squeeze, weigh at once.</li>
    </ol>
    <h3>Quick version</h3>
    <ol>
      <li>Weigh a dry piece of bisque.</li>
      <li>Under water for two minutes by the clock.</li>
      <li>Roll it over a damp cloth, weigh at once.</li>
    </ol>
    <p>
      Air stays in the pores, so it comes out lower than boiled and is not held against the band. It is what a
      wall drinks at the bucket.
    </p>
    <p>
      <strong>Caution:</strong> boiling water scalds. Use tongs, put the lid on, stay within reach, top up
      with boiling water. Fresh breaks cut: wear gloves and goggles when you break pieces.
    </p>
  </More>
);

/** A form for each method; a refused one comes back filled in, the other fresh. */
function TestForms({ at, form, reader }: Pick<Props, 'form' | 'reader'> & { at: string }) {
  const fresh: FormState = { typed: {}, errors: [] };
  const of = (method: BisqueMethod): FormState =>
    form.typed.method === method || (method === 'boiled' && form.errors.length > 0 && !isMethod(form))
      ? form
      : fresh;
  return (
    <div class="split" id="new">
      <Panel title="Add a boiled test">
        <TestForm method="boiled" at={at} form={of('boiled')} reader={reader} />
      </Panel>
      <Panel title="Add a quick soak">
        <p class="soft">{QUICK}.</p>
        <TestForm method="soaked" at={at} form={of('soaked')} reader={reader} />
      </Panel>
    </div>
  );
}

const isMethod = ({ typed }: FormState): boolean => typed.method === 'boiled' || typed.method === 'soaked';

const MASSES: Record<BisqueMethod, [name: string, label: string][]> = {
  boiled: [
    ['dryGrams', 'Dry'],
    ['saturatedGrams', 'Full of water'],
    ['suspendedGrams', 'Hanging in water'],
  ],
  soaked: [
    ['dryGrams', 'Dry'],
    ['soakedGrams', 'After 2 min'],
  ],
};

interface TestFormProps {
  method: BisqueMethod;
  at: string;
  form: FormState;
  reader: Reader;
}

function TestForm({ method, at, form, reader }: TestFormProps) {
  return (
    <Form
      action={at}
      form={form}
      id={method}
      idempotencyKey={`${reader.key}-${method}`}
      hidden={{ method, confirm: form.doubtful ? 'yes' : undefined }}
    >
      <fieldset class={`field lines specimens is-${method}`}>
        <legend>Masses</legend>
        <p class="hint">Leave out the rows you do not need.</p>
        {Array.from({ length: ROWS }, (_, i) => (
          <Beside key={`row ${i + 1}`}>
            {MASSES[method].map(([name, label]) => (
              <NumberField
                key={name}
                name={`${name}${i + 1}`}
                label={`${label} ${i + 1}`}
                unit="g"
                optional
              />
            ))}
          </Beside>
        ))}
      </fieldset>
      <NumberField
        name="load"
        label="Bisque load"
        hint={
          method === 'boiled'
            ? 'The load these came out of. Out of the band, its pieces of this clay are flagged.'
            : 'The load these came out of, if you know it.'
        }
        optional
      />
      <TextArea name="note" label="Note" rows={2} maxlength={300} optional />
      <Submit label={form.doubtful ? 'Yes, it is right: keep it' : 'Keep this test'} />
    </Form>
  );
}

interface StrikeProps {
  clay: Clay;
  test: BisqueTest;
  form: FormState;
  reader: Reader;
}

export function StrikeTestPage({ clay, test, form, reader }: StrikeProps) {
  const at = `/clays/${clay.id}/bisque`;
  return (
    <>
      <h1>Strike out a test</h1>
      <p class="narrow">
        {clay.name}, {test.method === 'boiled' ? 'boiled' : 'soaked for two minutes'},{' '}
        {shownTime(test.at, reader.now, reader.timeZone)}: {meanWords(test, clay.band)}. It stays on the list,
        crossed through, and counts no longer.
      </p>
      {test.struck === null ? (
        <Form action={`${at}/${test.id}/strike`} form={form} idempotencyKey={reader.key}>
          <TextArea
            name="reason"
            label="What was wrong with it"
            hint="Everybody here reads this."
            maxlength={300}
          />
          <Submit label="Strike it out" />
        </Form>
      ) : (
        <Empty title={`Struck out by ${test.struck.by}`} />
      )}
      <p>
        <a href={at}>Back to the tests</a>
      </p>
    </>
  );
}
