import type { Answered } from '../../server/buckets/actions/calculator.tsx';
import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { Way } from '../../server/buckets/advice.ts';
import { SCALE_NAMES, SCALES, type ScaleName } from '../../server/buckets/scales.ts';
import { gravityFigure, takeOutWords, wayWords } from '../../server/buckets/sentences.ts';
import type { FieldError } from '../../server/core/errors.ts';
import type { FormState } from '../../server/core/routes.ts';
import { volumeUnit } from '../../server/core/units.ts';
import { Beside, Form, NumberField, Select, Submit } from '../ui/field.tsx';
import { More, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { DryCaution } from './next-step.tsx';

type Advice = Answered<{ aim: number; ways: Way[] }>;
type Conversion = Answered<{ scale: ScaleName; text: string }[]>;

interface CalculatorPageProps {
  advice: Advice;
  conversion: Conversion;
  /** What was typed, with the errors of one of the two forms. */
  form: (errors: FieldError[]) => FormState;
  reader: Reader;
}

export function CalculatorPage({ advice, conversion, form, reader }: CalculatorPageProps) {
  const litres = volumeUnit(reader.units);
  return (
    <>
      <h1>Calculator</h1>
      <p class="soft">For any slurry, without a bucket. Nothing is recorded.</p>
      <div class="split">
        <Panel title="Thicken or thin">
          <div hx-get="/calculator" hx-trigger="input delay:400ms" hx-include="find form" hx-target="#ways">
            <Form action="/calculator" method="get" form={form(advice.errors)} id="a">
              <Beside>
                <NumberField name="litres" label="In it" unit={litres} />
                <NumberField name="sg" label="SG now" />
                <NumberField name="aim" label="SG wanted" />
              </Beside>
              <NumberField
                name="density"
                label="Density of the dry glaze"
                hint="2.6 for most; a recipe shows its own."
                unit="g/cm³"
                value={2.6}
              />
              <More
                summary="Bucket size, slurry to blend in"
                open={advice.errors.some((e) => RARE.has(e.path))}
              >
                <div class="form">
                  <NumberField name="capacity" label="The bucket holds" unit={litres} optional />
                  <NumberField name="blend" label="SG of a slurry to blend in" optional />
                </div>
              </More>
              <Submit label="What would do it?" />
            </Form>
          </div>
          <div id="ways" role="status">
            <WaysFound {...advice} reader={reader} quiet />
          </div>
        </Panel>
        <Panel title="SG, degrees and pints">
          <div hx-get="/calculator" hx-trigger="input delay:400ms" hx-include="find form" hx-target="#scales">
            <Form action="/calculator" method="get" form={form(conversion.errors)} id="c">
              <NumberField name="value" label="Value" />
              <Select
                name="scale"
                label="is"
                value="sg"
                options={SCALE_NAMES.map((name) => ({ value: name, label: SCALES[name].label }))}
              />
              <Submit label="On every scale" />
            </Form>
          </div>
          <div id="scales" role="status">
            <Conversions {...conversion} quiet />
          </div>
          <p class="soft">°Twaddell: SG = 1 + °Tw/200. °Baumé: SG = 145/(145 − °Bé), heavier than water.</p>
        </Panel>
      </div>
    </>
  );
}

const RARE = new Set(['capacity', 'blend']);

/** `quiet` leaves the errors to the form above. */
export function WaysFound({ found, errors, quiet, reader }: Advice & { quiet?: boolean; reader: Reader }) {
  if (found === null) return quiet ? null : <Missing errors={errors} />;
  if (found.ways.length === 0) return <p>It is at {gravityFigure(found.aim)} already: nothing to do.</p>;
  return (
    <ul>
      {found.ways.map((way) => {
        const words = wayWords(way, { aim: found.aim, units: reader.units });
        return (
          <li key={way.kind}>
            {way.takeOutFirst !== undefined && `${takeOutWords(way.takeOutFirst, reader.units).title}. `}
            <b>{words.title}:</b> {words.small}.{way.kind === 'add-dry' && <DryCaution />}
          </li>
        );
      })}
    </ul>
  );
}

export function Conversions({ found, errors, quiet }: Conversion & { quiet?: boolean }) {
  if (found === null) return quiet ? null : <Missing errors={errors} />;
  return (
    <Table
      columns={[
        { label: 'Scale', main: true },
        { label: 'Value', number: true },
      ]}
      rows={found.map(({ scale, text }) => ({ key: scale, cells: [SCALES[scale].label, <b>{text}</b>] }))}
    />
  );
}

/** While somebody types, what is not there yet is no mistake. */
function Missing({ errors }: { errors: FieldError[] }) {
  const said = errors.filter(({ message }) => message !== 'Type a number.');
  return <p class="soft">{said.map(({ message }) => message).join(' ') || 'Fill in the rest.'}</p>;
}
