import type { Reader } from '../../server/buckets/actions/reader.ts';
import {
  middleOf,
  missOf,
  mmPerHundredth,
  rangeOf,
  residualSg,
  warnings,
} from '../../server/buckets/float.ts';
import type { DatedCalibration, Float } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import { Beside, Form, NumberField, Submit } from '../ui/field.tsx';
import { Empty, Facts, Flash, Notice, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { Act } from '../ui/verdict.tsx';

interface Props {
  float: Float;
  /** It was calibrated just now. */
  fresh: boolean;
  form: FormState;
  rows: number;
  reader: Reader;
}

export function FloatPage({ float, fresh, form, rows, reader }: Props) {
  const { code, name, calibration } = float;
  const troubles = form.errors.filter(({ path }) => path === 'points');
  return (
    <>
      {fresh && calibration && <Flash words={`${name} is calibrated: it is offered where SG is checked.`} />}
      <h1>
        {name} <span class="code">{code}</span>
      </h1>
      {calibration && <Warnings said={warnings(calibration)} />}
      <div class="split">
        <div>
          {calibration ? (
            <Found calibration={calibration} code={code} reader={reader} />
          ) : (
            <Empty title="Not calibrated yet">
              <p>Two pairs make it read; a third shows whether they agree.</p>
            </Empty>
          )}
        </div>
        <Panel title={calibration ? 'Calibrate again' : 'Calibrate'}>
          <ol>
            <li>Stir a glaze to the bottom and weigh it: Check SG with a cup, or with grams and mL.</li>
            <li>Wet the float, bob it, let it come to rest in the same glaze.</li>
            <li>Read how many mm of its scale are under.</li>
          </ol>
          <p>Again in a glaze that differs: a thin one and a thick one, and one between. Water is 1.00.</p>
          <Form action={`/gear/floats/${code}`} form={form} idempotencyKey={reader.key}>
            <fieldset class="field lines pairs" id="f-points">
              <legend>Pairs</legend>
              {troubles.map(({ message }) => (
                <p key={message} class="error">
                  {message}
                </p>
              ))}
              {calibration && (
                <p class="hint">Those of the last time are filled in: add to them, or clear them.</p>
              )}
              {Array.from({ length: rows }, (_, i) => (
                <Beside key={`pair ${i + 1}`}>
                  <NumberField name={`millimetres${i + 1}`} label={`Mark ${i + 1}`} unit="mm" optional />
                  <NumberField name={`specificGravity${i + 1}`} label={`SG ${i + 1}`} optional />
                </Beside>
              ))}
            </fieldset>
            <Submit label="Calibrate" />
          </Form>
        </Panel>
      </div>
      <p>
        <a href="/gear/floats">All floats</a>
      </p>
    </>
  );
}

function Found({
  calibration,
  code,
  reader,
}: {
  calibration: DatedCalibration;
  code: string;
  reader: Reader;
}) {
  const { points, madeAt } = calibration;
  const { low, high } = rangeOf(calibration);
  const off = residualSg(calibration);
  return (
    <Panel title="Calibration">
      <Facts
        items={[
          ['Taken', shownTime(madeAt, reader.now, reader.timeZone)],
          ['Good for', `SG ${low.toFixed(2)} to ${high.toFixed(2)}, and 0.05 beyond`],
          [
            '0.01 SG is',
            `${mmPerHundredth(calibration, middleOf(calibration)).toFixed(1)} mm at SG ${middleOf(calibration).toFixed(2)}`,
          ],
          ['Residual', off === null ? 'not known with two pairs' : `${off.toFixed(4)} SG off the line`],
        ]}
      />
      <h3>Pairs, and how far each lies off the line</h3>
      <Table
        columns={[
          { label: 'mm under', main: true },
          { label: 'SG, weighed', number: true, keepLabel: true },
          { label: 'Off', number: true, keepLabel: true },
        ]}
        rows={points.map((point) => ({
          key: point.millimetres,
          cells: [
            `${point.millimetres} mm`,
            point.specificGravity.toFixed(3),
            points.length === 2 ? '–' : signed(missOf(calibration, point)),
          ],
        }))}
      />
      <Act href={`/gear/floats/${code}/sheet`} label="Every bucket's lines, to print" />
    </Panel>
  );
}

export function Warnings({ said }: { said: string[] }) {
  if (said.length === 0) return null;
  return (
    <Notice title={said.length === 1 ? 'To know about this float' : 'Things to know about this float'}>
      {said.map((words) => (
        <p key={words}>{words}</p>
      ))}
    </Notice>
  );
}

const signed = (value: number): string => `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(4)}`;
