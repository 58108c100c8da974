import type { FormState } from '../../server/core/routes.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { LoadReader } from '../../server/kilns/actions/load-reader.ts';
import { CHARTS, type ChartCode } from '../../server/kilns/cones.ts';
import { USUAL_CHART } from '../../server/kilns/findings.ts';
import { type LogPreview, MOST_LOG_CHARS } from '../../server/kilns/firing-log.ts';
import type { FiringPage, PreparedLog } from '../../server/kilns/service/index.ts';
import { Beside, Field, Form, NumberField, Select, Submit, TextArea } from '../ui/field.tsx';
import { Flash, More, Notice, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { FiringFoot, FiringHead } from './firing-parts.tsx';
import { loadAddress } from './load-parts.tsx';

interface Props {
  firing: FiringPage;
  form: FormState;
  /** The log that counts now. */
  current: { at: number; by: string; pointCount: number } | null;
  reader: LoadReader;
}

/** First the file; its columns are chosen on the page after. */
export function LogPage({ firing, form, current, reader }: Props) {
  const { load } = firing;
  const at = `${loadAddress(load.number)}/log`;
  const isOn = ['firing', 'cooling', 'unloaded'].includes(load.state);
  const isPasted = form.typed.text !== undefined;
  return (
    <>
      <FiringHead load={load} title="The controller's log" done={null} />
      {current && (
        <p>
          {current.pointCount.toLocaleString('en')} readings were brought in by {current.by},{' '}
          {shownTime(current.at, reader.now, reader.timeZone)}. A new log takes their place.
        </p>
      )}
      {isOn ? (
        <>
          <Form
            action={at}
            form={isPasted ? undefined : form}
            idempotencyKey={`${reader.key}-log`}
            takesFiles
          >
            <FileField form={isPasted ? null : form} />
            <Submit
              label="Look at it"
              small="Then its columns are chosen. Nothing is kept of the firing yet."
            />
          </Form>
          <More summary="Paste it instead" open={isPasted}>
            <Form
              id="p"
              action={at}
              form={isPasted ? form : undefined}
              idempotencyKey={`${reader.key}-paste`}
            >
              <TextArea
                name="text"
                label="The log"
                hint="As it stands in the file, with its heading."
                rows={8}
              />
              <Submit label="Look at it" look="plain" />
            </Form>
          </More>
          <p class="soft">
            No log? Every reading that was typed makes the curve too:{' '}
            <a href={`${loadAddress(load.number)}/readings`}>readings</a>.
          </p>
        </>
      ) : (
        <p>It is {load.state}: a log belongs to a firing that was started.</p>
      )}
      <FiringFoot load={load} here="log" reader={reader} />
    </>
  );
}

/** A file picker without the camera that `PhotoField` opens. */
function FileField({ form }: { form: FormState | null }) {
  const error = form?.errors.find(({ path }) => path === 'log')?.message;
  return (
    <div class="field">
      <label for="f-log">File</label>
      <p class="hint" id="f-log-hint">
        CSV or text, as the controller or its program writes it; up to 15 MB and {MOST_LOG_CHARS / 1e6}{' '}
        million characters.
      </p>
      {error && (
        <p class="error" id="f-log-error">
          {error}
        </p>
      )}
      <input
        class="input"
        id="f-log"
        type="file"
        name="log"
        accept=".csv,.txt,.tsv,.log,text/*"
        aria-invalid={error ? 'true' : undefined}
        aria-describedby={error ? 'f-log-hint f-log-error' : 'f-log-hint'}
      />
    </div>
  );
}

interface ColumnsProps extends Props {
  file: string;
  preview: LogPreview;
  /** What the chosen columns make of the whole log; null before they were tried. */
  tried: PreparedLog | null;
}

const TIME_FORMS = [
  { value: 'date-time', label: 'Date and time' },
  { value: 'clock', label: 'Time of day' },
  { value: 'elapsed', label: 'Since the start, h:min:s' },
  { value: 'seconds', label: 'Seconds' },
  { value: 'minutes', label: 'Minutes' },
  { value: 'hours', label: 'Hours' },
  { value: 'milliseconds', label: 'Milliseconds' },
];

/** The first lines, what they were taken for, and what comes of it. */
export function LogColumnsPage({ firing, form, file, preview, tried, reader }: ColumnsProps) {
  const { load } = firing;
  const at = loadAddress(load.number);
  const columns = preview.columns.map(({ name, sample }, i) => ({
    value: String(i + 1),
    label: `${i + 1}: ${name}${sample[0] ? `, such as ${sample[0]}` : ''}`,
  }));
  return (
    <>
      <FiringHead load={load} title="Columns of the log" done={null} />
      {preview.problems.map(({ why }) => (
        <Flash key={why} tone="refused" words={why} />
      ))}
      <Panel title="The first lines">
        <Table
          columns={preview.columns.map(({ name }, i) => ({
            label: `${i + 1} ${name}`,
            keepLabel: true,
            main: i === 0,
          }))}
          rows={preview.rows.map((cells, i) => ({
            key: i,
            cells: preview.columns.map((_, j) => cells[j] ?? ''),
          }))}
        />
      </Panel>
      {tried && <Tried tried={tried} reader={reader} />}
      <Form action={`${at}/log/import`} form={form} idempotencyKey={`${reader.key}-import`} hidden={{ file }}>
        <Beside>
          <Select name="time" label="Time stands in" options={columns} />
          <Select name="timeForm" label="It is a" options={TIME_FORMS} />
        </Beside>
        <Beside>
          <Select name="temperature" label="Temperature stands in" options={columns} />
          <Select
            name="unit"
            label="In"
            options={[
              { value: 'C', label: '°C' },
              { value: 'F', label: '°F' },
            ]}
          />
        </Beside>
        <Field
          name="startsAt"
          type="datetime-local"
          label="The log begins"
          hint="Only where it has no date, or its clock was wrong. Left empty: its own date, or when the firing was started."
          optional
        />
        <Select
          name="chart"
          label="Judged by"
          value={USUAL_CHART}
          options={(Object.keys(CHARTS) as ChartCode[]).map((value) => ({
            value,
            label: `${CHARTS[value].type} cones, ${CHARTS[value].edition}`,
          }))}
        />
        <More summary="Separators and dates" open={preview.choice === null}>
          <Beside>
            <Select
              name="delimiter"
              label="Between cells"
              options={[
                { value: 'comma', label: 'Comma' },
                { value: 'semicolon', label: 'Semicolon' },
                { value: 'tab', label: 'Tab' },
              ]}
            />
            <Select
              name="decimal"
              label="Decimals"
              options={[
                { value: 'point', label: '1.5' },
                { value: 'comma', label: '1,5' },
              ]}
            />
          </Beside>
          <Beside>
            <NumberField name="skip" label="Lines above the first reading" />
            <Select
              name="dateOrder"
              label="Dates are written"
              options={[
                { value: 'ymd', label: 'Year first' },
                { value: 'dmy', label: 'Day first' },
                { value: 'mdy', label: 'Month first' },
              ]}
            />
          </Beside>
        </More>
        <Submit label="Bring it in" />
        <Submit label="Try these columns first" look="plain" name="do" value="try" />
      </Form>
      <p class="row">
        <a class="plain" href={`${at}/log`}>
          Another file
        </a>
      </p>
    </>
  );
}

/** What the whole log comes to by the chosen columns, before it is kept. */
function Tried({ tried, reader }: { tried: PreparedLog; reader: LoadReader }) {
  const { pointCount, startsAt, points, findings, problems, doubt } = tried;
  const hours = (points.at(-1)?.[0] ?? 0) / 3600;
  return (
    <Panel title="What comes of it">
      <p>
        <b>
          {pointCount.toLocaleString('en')} readings over {hours.toFixed(1)} h from{' '}
          {shownTime(startsAt, reader.now, reader.timeZone)}, highest {Math.round(findings.facts.peakC)} °C.
        </b>
        {findings.gapCount > 0 &&
          ` ${findings.gapCount} ${findings.gapCount === 1 ? 'gap' : 'gaps'} without readings.`}
      </p>
      {doubt && (
        <Notice title="Log and shut-off do not agree" tone="needs-reading">
          <p>{doubt}</p>
        </Notice>
      )}
      {findings.problemCount > 0 && (
        <Notice
          title={`${findings.problemCount.toLocaleString('en')} ${findings.problemCount === 1 ? 'line' : 'lines'} left out`}
          tone="needs-reading"
        >
          <ul>
            {problems.map(({ line, column, why }) => (
              <li key={`${line} ${column}`}>
                Line {line}: {why}
              </li>
            ))}
          </ul>
          {findings.problemCount > problems.length && <p>The rest is left out like these.</p>}
        </Notice>
      )}
    </Panel>
  );
}
