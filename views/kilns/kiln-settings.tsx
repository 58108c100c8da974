import type { FormState } from '../../server/core/routes.ts';
import type { KilnReader } from '../../server/kilns/actions/kiln-reader.ts';
import type { KilnNow } from '../../server/kilns/service/index.ts';
import { Beside, Choice, Field, Form, NumberField, Submit } from '../ui/field.tsx';
import { Flash, Panel } from '../ui/panel.tsx';
import { Group } from './kiln-parts.tsx';

interface Props {
  form: FormState;
  /** Tells whether somebody else changed them since. */
  seen: string;
  retired: Pick<KilnNow, 'code' | 'name'>[];
  saved: boolean;
  reader: KilnReader;
}

const DAYS = ['Monday', 'Tuesday', 'Wednesday', 'Thursday', 'Friday', 'Saturday', 'Sunday'];

export function KilnSettingsPage({ form, seen, retired, saved, reader }: Props) {
  return (
    <>
      {saved && <Flash words="Saved. It counts from now on; loads that are proposed stay as they are." />}
      <h1>Kiln settings</h1>
      <p class="soft narrow">For all kilns. What is filled in at first is common practice.</p>
      <Form action="/kilns/settings" form={form} idempotencyKey={reader.key} hidden={{ seen }}>
        <div class="groups">
          <Group title="How hot is cold enough">
            <p class="hint">By the pyrometer that somebody reads, never by a forecast.</p>
            <NumberField name="lidShutAboveC" label="The lid stays shut above" unit="°C" />
            <NumberField
              name="openBelowC"
              label="It is opened below"
              unit="°C"
              hint="Between the two, whoever may fire it may crack it."
            />
            <NumberField name="handsBelowC" label="Hands with gloves go in below" unit="°C" />
          </Group>
          <Group title="Air between pieces">
            <NumberField name="gapMeasuredMm" label="Glazed, measured by a technician" unit="mm" />
            <NumberField name="gapMm" label="Glazed, measured by anybody else" unit="mm" />
            <NumberField name="gapBisqueMm" label="Bisque" unit="mm" hint="0: pieces may touch." />
          </Group>
          <Group title="When a load is proposed">
            <NumberField
              name="proposePercent"
              label="It is as full as this share of what the kiln usually takes"
              unit="%"
            />
            <NumberField name="longestWaitDays" label="Or a glazed piece has waited" unit="days" />
            <NumberField name="longestWaitBisqueDays" label="Or a piece for bisque has waited" unit="days" />
          </Group>
          <Group title="When somebody is here">
            <p class="hint">
              Loads are begun and opened in these hours. Leave a day empty when nobody is here; 00:00 at the
              end is midnight.
            </p>
            {DAYS.map((day, i) => (
              <Beside key={day}>
                <Field name={`from${i + 1}`} type="time" label={`${day} from`} optional />
                <Field name={`until${i + 1}`} type="time" label={`${day} until`} optional />
              </Beside>
            ))}
          </Group>
          <Group title="Power">
            <NumberField
              name="siteKilowatts"
              label="Kilns draw at most, together"
              unit="kW"
              hint="Empty: no limit. Firings are planned so that they stay under it."
              optional
            />
            <NumberField
              name="pricePerKwh"
              label="A kWh costs"
              hint={`In the smallest unit of ${reader.currency}, such as 28.5. Empty: no costs are shown.`}
              optional
            />
          </Group>
          <Group title="Words">
            <Choice
              name="scheduleWord"
              label="Ramps and holds together are a"
              options={[
                { value: 'schedule', label: 'Schedule' },
                { value: 'programme', label: 'Programme' },
              ]}
            />
          </Group>
        </div>
        <Submit label="Save" />
      </Form>
      {retired.length > 0 && (
        <Panel title="Retired kilns">
          <ul>
            {retired.map(({ code, name }) => (
              <li key={code}>
                <a href={`/kilns/${code}`}>{name}</a> <span class="code">{code}</span>
              </li>
            ))}
          </ul>
        </Panel>
      )}
      <p>
        <a href="/kilns">Back to the kilns</a>
      </p>
    </>
  );
}
