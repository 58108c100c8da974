import type { FormState } from '../../server/core/routes.ts';
import { VERB_WORDS } from '../../server/safety/induction.ts';
import type { Stopped } from '../../server/safety/service/inductions.ts';
import { Beside, Form, NumberField, Select, Submit } from '../ui/field.tsx';
import { Flash } from '../ui/panel.tsx';
import { Ticks } from '../ui/ticks.tsx';
import { NotGated } from './inductions.tsx';
import { Caution } from './parts.tsx';

interface Props {
  form: FormState;
  stopped: Stopped[];
  isGated: boolean;
  saved: boolean;
  newKey: string;
}

const RULES = [
  { value: 'eu-clp', label: 'European Union (CLP)' },
  { value: 'us-hazcom', label: 'United States (HazCom)' },
  { value: 'un', label: 'United Nations (GHS)' },
];

const LEACH_RULES = [
  { value: 'eu-84-500', label: 'European Union (84/500/EEC)' },
  { value: 'us-fda', label: 'United States (FDA guides)' },
  { value: 'iso-6486-2', label: 'ISO 6486-2' },
];

export function SafetySettingsPage({ form, stopped, isGated, saved, newKey }: Props) {
  return (
    <>
      {saved && <Flash words="Saved. It counts from now on." />}
      <h1>Safety settings</h1>
      {!isGated && <NotGated mayChoose={false} />}
      <Form action="/safety/settings" form={form} idempotencyKey={newKey}>
        <Ticks
          name="gated"
          legend="What asks for an induction"
          hint="Whoever was not shown it, or too long ago, is stopped when they record it. The common rules stand beneath all the others that are ticked."
          options={stopped.map((one) => ({
            value: one.verb,
            label: VERB_WORDS[one.verb].name,
            hint: stoppedWords(one),
          }))}
          form={form}
        />
        <Beside>
          <NumberField name="inductionMonths" label="An induction holds" unit="months" />
          <NumberField
            name="childAge"
            label="A child is younger than"
            hint="For buckets that are not for children."
            unit="years"
          />
          <NumberField name="sheetYears" label="A safety data sheet is asked for again after" unit="years" />
        </Beside>
        <Select
          name="rules"
          label="Mixtures are classified by"
          hint="The cut-offs differ a little. Take those of the country you are in."
          options={RULES}
        />
        <Select name="leachRules" label="Lead and cadmium are judged by" options={LEACH_RULES} />
        <Submit label="Save" />
      </Form>
      <p>
        <a href="/safety/inductions">Inductions</a>
      </p>
      <p>
        <a href="/safety">Back to safety</a>
      </p>
      <Caution />
    </>
  );
}

function stoppedWords({ verb, stopped, of }: Stopped): string {
  if (verb === 'spray') return 'Spraying is not recorded here. Nobody is stopped, but it is asked for again.';
  if (of === 0) return 'Nobody does it here yet.';
  if (stopped === 0) return of === 1 ? 'Whoever does it was shown.' : `All ${of} who do it were shown.`;
  return `Would stop ${stopped} of ${of} today.`;
}
