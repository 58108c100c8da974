import { coolingRead } from '../../server/kilns/calendar.ts';
import { COOLING_CAUTION, FEWEST_LOGS, type Forecast, mayOpen } from '../../server/kilns/cooling.ts';
import type { KilnSettings } from '../../server/kilns/settings.ts';
import { Choice, Form, NumberField, Submit } from '../ui/field.tsx';
import { Facts, Notice, Panel } from '../ui/panel.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { undoOf } from './firing-during.tsx';
import {
  AskWhom,
  degrees,
  FiringFoot,
  FiringHead,
  type FiringProps,
  isAsked,
  noteField,
  notNow,
  Written,
} from './firing-parts.tsx';
import { loadAddress } from './load-parts.tsx';
import { forecastWords } from './load-words.ts';

/** A kiln that cools: when it may be worth a look, and what the pyrometer must say before anything is opened. */
export function OpenPage({ firing, form, done, reader }: FiringProps) {
  const { load, settings, opened, isThere } = firing;
  const at = loadAddress(load.number);
  const undo = undoOf(firing, reader, 'opened') ?? undoOf(firing, reader, 'shut-off');
  const isDoubted = isAsked(form, questioned(form));
  const isTooHot = isDoubted && !(typedCelsius(form) < settings.lidShutAboveC);
  return (
    <>
      <FiringHead
        load={load}
        title={load.state === 'cooling' ? 'Cooling' : 'Open it'}
        done={done}
        undo={undo}
      />
      <Notice title="Read the pyrometer yourself" tone="ask-technician">
        <p>{COOLING_CAUTION}</p>
        <p>Isolate it and lock it off before reaching in.</p>
      </Notice>
      {load.state === 'cooling' ? (
        <>
          <LastRead {...{ firing, form, done, reader }} />
          {isThere ? (
            <Form action={`${at}/open`} form={form} idempotencyKey={`${reader.key}-open-${opened.length}`}>
              <NumberField name="celsius" label="The pyrometer says" unit="°C" big />
              <Choice
                name="how"
                label="What is done"
                options={[
                  {
                    value: 'cracked',
                    label: 'Cracked',
                    hint: `a finger wide, by who fires it, below ${settings.lidShutAboveC} °C`,
                  },
                  { value: 'opened', label: 'Opened', hint: `below ${settings.openBelowC} °C` },
                ]}
              />
              {notNow(form, reader)}
              {isTooHot ? noteField('Why it was done all the same', undefined, false) : noteField()}
              <Submit label="Write it down" />
              {isDoubted && (
                <Submit
                  label="It was done all the same"
                  look="plain"
                  name="confirm"
                  value={questioned(form)}
                />
              )}
            </Form>
          ) : (
            <AskWhom load={load} what="open it, and technicians" />
          )}
          {load.openedAt !== null && load.letsHandsIn && reader.mayLoad && (
            <PlainAct
              href={`${at}/unload`}
              label="Unload it"
              small={`By hand below ${settings.handsBelowC} °C, with gloves.`}
            />
          )}
        </>
      ) : (
        <p>{load.state === 'firing' ? 'It is firing: shut it off first.' : `It is ${load.state}.`}</p>
      )}
      <Panel title="What is done at what temperature">
        <Limits settings={settings} />
      </Panel>
      {opened.length > 0 && (
        <Panel title="Opened so far">
          <ul>
            {opened.map((one) => (
              <li key={one.event}>
                <Written at={one.at} by={one.by} reader={reader}>
                  {one.how === 'cracked' ? 'Cracked' : 'Opened'} at {degrees(one.celsius)}
                  {one.allowed === 'shut' && ': too hot by the studio’s settings'}
                </Written>
              </li>
            ))}
          </ul>
        </Panel>
      )}
      <FiringFoot load={load} here="open" reader={reader} />
    </>
  );
}

/** A yes to what was asked about this reading, and to no other that is typed instead. */
export const questioned = ({ typed }: FiringProps['form']): string =>
  `${[typed.celsius ?? ''].flat().join('')} ${[typed.how ?? ''].flat().join('')}`.trim();

/** °C that was typed, commas too; NaN where it is no number. */
const typedCelsius = ({ typed }: FiringProps['form']): number =>
  Number([typed.celsius ?? ''].flat().join('').replace(',', '.') || Number.NaN);

function LastRead({ firing, reader }: FiringProps) {
  const { load, forecasts, allows, cooling, settings } = firing;
  if (forecasts === null) return null;
  const read = coolingRead(load);
  return (
    <Panel title="When it may be cold">
      <p>
        {read ? (
          <Written at={read.at} by={null} reader={reader}>
            <b>Last read: {degrees(read.c)}.</b> {allows?.words}
          </Written>
        ) : (
          'Nobody has read the pyrometer since it was shut off. Until then this is by its plan alone.'
        )}
      </p>
      <Facts
        items={[
          [`Below ${settings.openBelowC} °C`, estimateWords(forecasts.open, reader)],
          [`Below ${settings.handsBelowC} °C`, estimateWords(forecasts.hands, reader)],
        ]}
      />
      <p class="soft">
        {cooling.logs >= FEWEST_LOGS
          ? `From the last ${cooling.logs} firings of ${load.kiln.name} that were logged.`
          : `A usual range: ${load.kiln.name} has fewer than ${FEWEST_LOGS} logged firings.`}{' '}
        It unlocks nothing.
      </p>
    </Panel>
  );
}

function estimateWords(forecast: Forecast | null, reader: FiringProps['reader']): string {
  if (!forecast) return 'no estimate';
  const words = forecastWords(forecast, reader);
  if (forecast.due) return `${words}: read it again`;
  return `${words}, estimate${forecast.rough ? ', rough from so hot' : ''}`;
}

/** The studio's limits, as sentences of one rule. */
function Limits({ settings }: { settings: KilnSettings }) {
  const { lidShutAboveC, openBelowC, handsBelowC } = settings;
  const steps: [string, number][] = [
    [`${lidShutAboveC} °C and above`, lidShutAboveC],
    [`${openBelowC} to ${lidShutAboveC} °C`, openBelowC],
    [`${handsBelowC} to ${openBelowC} °C`, handsBelowC],
    [`below ${handsBelowC} °C`, handsBelowC - 1],
  ];
  return <Facts items={steps.map(([range, c]) => [range, mayOpen(c, settings).words])} />;
}
