import type { FormState } from '../../server/core/routes.ts';
import { type ExposureState, KNOWN_LIMITS } from '../../server/safety/exposure.ts';
import {
  type JudgedExposure,
  type JudgedSubstance,
  MOST_TASKS,
} from '../../server/safety/service/exposure.ts';
import { Beside, Form, NumberField, Select, Submit } from '../ui/field.tsx';
import { State } from '../ui/icons.tsx';
import { More, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { Caution } from './parts.tsx';

const STATES: Record<ExposureState, { state: Parameters<typeof State>[0]['state']; words: string }> = {
  unknown: { state: 'needs-reading', words: 'Unknown' },
  assumed: { state: 'needs-reading', words: 'Only assumed' },
  over: { state: 'do-not-use', words: 'Above the limit' },
  'action-level': { state: 'ask-technician', words: 'At the action level' },
  below: { state: 'ready', words: 'Below the limit' },
};

const BASES = [
  { value: 'measured', label: 'Measured here' },
  { value: 'assumed', label: 'Assumed' },
  { value: 'not-measured', label: 'Not measured' },
];

/** Rows that are shown open; the others are there for who needs them. */
const OPEN_TASKS = 3;

export function ExposurePage({ judged, form }: { judged: JudgedExposure | null; form: FormState }) {
  const limits = Object.entries(KNOWN_LIMITS);
  const rows = Array.from({ length: MOST_TASKS }, (_, i) => i + 1);
  const isUsed = (number: number) => [form.typed[`hours${number}`] ?? ''].flat().join('') !== '';
  return (
    <>
      <h1>Dust in the air</h1>
      <p class="narrow">
        What somebody breathes over eight hours: each task with its hours and what the air held meanwhile.
        Only a measurement says how it stands. Nothing of this is kept.
      </p>
      {judged?.substances.map((one) => (
        <Result key={one.name} {...one} />
      ))}
      <Form action="/safety/exposure" method="get" form={form} hidden={{ asked: 'yes' }}>
        <Beside>
          <Select
            name="substance"
            label="What is in the air"
            none="Something else"
            options={limits.map(([value, { name, value: limit }]) => ({
              value,
              label: `${name}: ${limit} µg/m³`,
            }))}
            optional
          />
          <NumberField
            name="limit"
            label="Or its limit over eight hours"
            hint="From local law or the safety data sheet."
            unit="µg/m³"
            optional
          />
        </Beside>
        {rows.slice(0, OPEN_TASKS).map((number) => (
          <Task key={number} number={number} />
        ))}
        <More summary="More tasks" open={rows.slice(OPEN_TASKS).some(isUsed)}>
          {rows.slice(OPEN_TASKS).map((number) => (
            <Task key={number} number={number} />
          ))}
        </More>
        <Submit label="Work it out" />
      </Form>
      <Panel title="The limits">
        <Table
          columns={[
            { label: 'In the air', main: true, wraps: true },
            { label: 'Limit, µg/m³', number: true, keepLabel: true },
            { label: 'Action level, µg/m³', number: true, keepLabel: true },
            { label: 'From', wraps: true },
          ]}
          rows={limits.map(([key, { name, value, actionLevel, source }]) => ({
            key,
            cells: [name, String(value), actionLevel === null ? '–' : String(actionLevel), source],
          }))}
        />
        <p class="soft">
          Averages over eight hours by US law. Manganese and vanadium have ceilings instead, which an average
          says nothing of.
        </p>
      </Panel>
      <p>
        <a href="/safety">Back to safety</a>
      </p>
      <Caution />
    </>
  );
}

function Task({ number }: { number: number }) {
  return (
    <fieldset class="field lines three">
      <legend>Task {number}</legend>
      <Beside>
        <NumberField name={`hours${number}`} label="Hours" unit="h" optional={number > 1} />
        <NumberField name={`air${number}`} label="In the air" unit="µg/m³" optional />
        <Select name={`basis${number}`} label="That was" options={BASES} value="not-measured" />
      </Beside>
    </fieldset>
  );
}

function Result({ name, state, words, source }: JudgedSubstance) {
  const { state: shape, words: said } = STATES[state];
  return (
    <section class={`notice is-${shape}`} data-announce={said}>
      <h2>
        <State state={shape} words={said} />
      </h2>
      <p>
        <b>{name}.</b> {words}
      </p>
      {source && <p class="soft">{source}</p>}
    </section>
  );
}
