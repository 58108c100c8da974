import type { FormState } from '../../server/core/routes.ts';
import { shownDay } from '../../server/core/wall-time.ts';
import { SAYS_NOTHING_OF } from '../../server/safety/food.ts';
import {
  LEACH_RULES,
  LEACH_UNITS,
  type LeachRules,
  type Metal,
  RULES_WORDS,
  UNIT_WORDS,
  WARE_SHAPES,
  type WareShape,
} from '../../server/safety/leach.ts';
import type { LeachTest } from '../../server/safety/service/food.ts';
import { upper } from '../../server/ware/words.ts';
import { Beside, DocumentField, Field, Form, NumberField, Select, Submit, TextArea } from '../ui/field.tsx';
import { State } from '../ui/icons.tsx';
import { Empty, Facts, Flash, Pages, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { Caution } from './parts.tsx';

const SHAPE_WORDS: Record<WareShape, string> = {
  plate: 'Plate or saucer',
  bowl: 'Bowl',
  cup: 'Cup',
  mug: 'Mug',
  pitcher: 'Pitcher or jug',
  storage: 'Storage vessel',
  cookware: 'Cookware',
  flatware: 'Other flatware',
  hollowware: 'Other hollowware',
  other: 'Something else',
};

const BackToFood = () => (
  <p>
    <a href="/safety/food">Back to food contact</a>
  </p>
);

const Outcome = ({ passed, struck }: Pick<LeachTest, 'passed' | 'struck'>) =>
  struck !== null ? (
    <>Struck out</>
  ) : passed ? (
    <State state="ready" words="Passed" />
  ) : (
    <State state="do-not-use" words="Did not pass" />
  );

const Counts = () => (
  <p class="narrow">
    A test counts for one recipe as it was mixed, on one clay, fired to one cone, in one layer. It is void for
    a new version of the recipe, for layers, for a firing off the cone and once the glaze crazes.{' '}
    {SAYS_NOTHING_OF}
  </p>
);

interface ListProps {
  tests: LeachTest[];
  next: number | null;
  mayRecord: boolean;
}

/** What laboratories found, the newest first. */
export function FoodTestsPage({ tests, next, mayRecord }: ListProps) {
  return (
    <>
      <h1>Food contact</h1>
      <p class="narrow">
        Glazes whose lead and cadmium a laboratory has measured. Any other glaze is not tested: not for food.
      </p>
      <Counts />
      {mayRecord && (
        <p>
          <a class="do" href="/safety/food/new">
            Add a test
          </a>
        </p>
      )}
      {tests.length === 0 ? (
        <Empty title="No glaze was tested yet">
          <p>Until one is, every bucket and piece says: not tested, not for food.</p>
        </Empty>
      ) : (
        <Table
          columns={[
            { label: 'Glaze', main: true, wraps: true },
            { label: 'Result' },
            { label: 'On', wraps: true },
            { label: 'Rules', wraps: true },
            { label: 'Laboratory', wraps: true },
            { label: 'Day' },
          ]}
          rows={tests.map((test) => ({
            key: test.number,
            struck: test.struck !== null,
            cells: [
              <a href={`/safety/food/${test.number}`}>
                {test.recipe.name}, version {test.recipe.version}
              </a>,
              <Outcome {...test} />,
              `${test.clay}, cone ${test.cone}`,
              RULES_WORDS[test.rules],
              test.lab,
              shownDay(test.testedOn),
            ],
          }))}
        />
      )}
      <Pages
        newest={null}
        older={next === null ? null : `/safety/food?before=${next}`}
        olderWords="Older tests"
      />
      <p>
        <a href="/safety">Back to safety</a>
      </p>
      <Caution />
    </>
  );
}

interface NewProps {
  recipes: { recipeId: number; name: string; version: number }[];
  clays: { id: number; name: string }[];
  rules: LeachRules;
  form: FormState;
  newKey: string;
}

/** The American guides want six; more rarely come from a laboratory. */
const SAMPLES = 6;

export function NewTestPage({ recipes, clays, rules, form, newKey }: NewProps) {
  // A recipe stands in one field with its version, and what is wrong with either is said there.
  const errors = form.errors.map((error) =>
    error.path === 'recipe' || error.path === 'version'
      ? { path: 'mixed', message: 'Choose the recipe as it was mixed.' }
      : error,
  );
  const once = errors.filter(({ path }, at) => errors.findIndex((error) => error.path === path) === at);
  return (
    <>
      <h1>A test for lead and cadmium</h1>
      <Counts />
      <Form action="/safety/food/new" form={{ ...form, errors: once }} idempotencyKey={newKey} takesFiles>
        <Select
          name="mixed"
          label="Recipe as it was mixed"
          none="Choose"
          options={recipes.flatMap(({ recipeId, name, version }) =>
            Array.from({ length: version }, (_, i) => ({
              value: `${recipeId}.${version - i}`,
              label: `${name}, version ${version - i}`,
            })),
          )}
        />
        <Beside>
          <Select
            name="clay"
            label="On clay"
            none="Choose"
            options={clays.map(({ id, name }) => ({ value: String(id), label: name }))}
          />
          <Field name="cone" label="Fired to cone" maxlength={5} spellcheck={false} />
        </Beside>
        <h2>The ware that was tested</h2>
        <Beside>
          <Select
            name="shape"
            label="Shape"
            none="Choose"
            options={WARE_SHAPES.map((value) => ({ value, label: SHAPE_WORDS[value] }))}
          />
          <NumberField
            name="internalDepthMm"
            label="Depth inside"
            hint="0 if it cannot be filled."
            unit="mm"
          />
          <NumberField
            name="volumeMl"
            label="Holds"
            hint="To the brim. A lid counts with its vessel."
            unit="mL"
          />
          <NumberField
            name="areaDm2"
            label="Glazed area"
            hint="Only to turn mg/L into mg/dm²."
            unit="dm²"
            optional
          />
        </Beside>
        <h2>What the laboratory found</h2>
        <Beside>
          <Select
            name="rules"
            label="Judged by"
            value={rules}
            options={LEACH_RULES.map((value) => ({ value, label: RULES_WORDS[value] }))}
          />
          <Select
            name="unit"
            label="Figures are in"
            value="mg/L"
            options={LEACH_UNITS.map((value) => ({ value, label: UNIT_WORDS[value] }))}
          />
        </Beside>
        <Samples metal="lead" />
        <Samples metal="cadmium" />
        <Beside>
          <Field name="lab" label="Laboratory" maxlength={80} />
          <Field name="testedOn" label="Tested on" type="date" />
        </Beside>
        <DocumentField name="report" label="Its report" hint="A PDF. Everybody here can open it." optional />
        <Submit label="Keep it" />
      </Form>
      <BackToFood />
      <Caution />
    </>
  );
}

function Samples({ metal }: { metal: Metal }) {
  return (
    <fieldset class="field lines pairs">
      <legend>{upper(metal)}, by sample</legend>
      <p class="hint">
        For “less than”, write the figure behind it. Leave the fields you do not need: the US guides want six
        samples, ISO four, the EU one, and three more where that one is over.
      </p>
      <Beside>
        {Array.from({ length: SAMPLES }, (_, i) => (
          <NumberField
            key={`${metal} ${i + 1}`}
            name={metal}
            index={i}
            label={`Sample ${i + 1}`}
            optional={i > 0}
          />
        ))}
      </Beside>
    </fieldset>
  );
}

interface TestProps {
  test: LeachTest;
  mayRecord: boolean;
  done: string | null;
}

export function FoodTestPage({ test, mayRecord, done }: TestProps) {
  const { recipe, ware, unit, struck } = test;
  const samples = (values: number[]) => `${values.join(' · ')} ${UNIT_WORDS[unit]}`;
  return (
    <>
      {done && <Flash words={done} />}
      <h1>
        Test {test.number}: {recipe.name}
      </h1>
      <p class="test-outcome">
        <Outcome {...test} />
      </p>
      {struck !== null && (
        <p class="narrow">
          It counts no longer: <q>{struck}</q>
        </p>
      )}
      {!test.passed && struck === null && (
        <p class="narrow">
          Ware with this glaze is decorative only. In the US it carries a sticker that says so and a permanent
          mark or a bored hole (21 CFR 109.16).
        </p>
      )}
      <Panel title="Lead and cadmium">
        <p>
          <b>Lead.</b> {test.said.lead}
        </p>
        <p>
          <b>Cadmium.</b> {test.said.cadmium}
        </p>
        <p>
          <b>{SAYS_NOTHING_OF}</b>
        </p>
      </Panel>
      <Panel title="What was tested">
        <Facts
          items={[
            ['Recipe', <a href={`/recipes/${recipe.id}`}>{`${recipe.name}, version ${recipe.version}`}</a>],
            ['Clay', test.clay],
            ['Fired to', `cone ${test.cone}`],
            [
              'Ware',
              `${SHAPE_WORDS[ware.shape]}, ${ware.internalDepthMm} mm deep inside, holds ${ware.volumeMl} mL${ware.areaDm2 === undefined ? '' : `, ${ware.areaDm2} dm² glazed`}`,
            ],
            ['Judged by', `${RULES_WORDS[test.rules]}. ${test.category}`],
            ['Lead', samples(test.lead)],
            ['Cadmium', samples(test.cadmium)],
            ['Laboratory', `${test.lab}, ${shownDay(test.testedOn)}`],
            ...(test.report
              ? [
                  [
                    'Report',
                    <a href={`/files/${test.report}`} hx-boost="false">
                      PDF
                    </a>,
                  ] as Parameters<typeof Facts>[0]['items'][number],
                ]
              : []),
            ['Kept by', test.by],
          ]}
        />
      </Panel>
      {mayRecord && struck === null && (
        <p>
          <a class="plain" href={`/safety/food/${test.number}/void`}>
            Strike it out
          </a>
        </p>
      )}
      <Counts />
      <BackToFood />
      <Caution />
    </>
  );
}

interface VoidProps {
  test: LeachTest;
  form: FormState;
  newKey: string;
}

export function VoidTestPage({ test, form, newKey }: VoidProps) {
  const at = `/safety/food/${test.number}`;
  return (
    <>
      <h1>Strike out test {test.number}</h1>
      <p class="narrow">
        {test.recipe.name}, version {test.recipe.version}, by {test.lab} on {shownDay(test.testedOn)}. It
        stays in the list, crossed through, and counts no longer.
      </p>
      <Form action={`${at}/void`} form={form} idempotencyKey={newKey}>
        <TextArea name="reason" label="Why it counts no longer" maxlength={500} />
        <Submit label="Strike it out" />
      </Form>
      <p>
        <a href={at}>Back to the test</a>
      </p>
      <Caution />
    </>
  );
}
