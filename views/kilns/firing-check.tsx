import type { FormState } from '../../server/core/routes.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { LoadReader } from '../../server/kilns/actions/load-reader.ts';
import { CHECK_WORDS, type CheckKey, checksFor } from '../../server/kilns/firing-record.ts';
import { segmentWords } from '../../server/kilns/schedule.ts';
import type { FiringPage } from '../../server/kilns/service/index.ts';
import { Beside, Check, Field, Form, Select, Submit } from '../ui/field.tsx';
import { Facts, Notice, Panel } from '../ui/panel.tsx';
import {
  AskWhom,
  FiringFoot,
  FiringHead,
  type FiringProps,
  isAsked,
  noteField,
  notNow,
  Written,
} from './firing-parts.tsx';
import { Checks, loadAddress } from './load-parts.tsx';

interface CheckProps extends FiringProps {
  scheduleWord: string;
  /** Rows of the watch to show. */
  turns: number;
}

/** What is ticked; the rest has a field of its own. */
const TICKED: readonly CheckKey[] = [
  'posts',
  'washed',
  'cones',
  'lid',
  'clear',
  'vent',
  'schedule',
  'coAlarm',
];

/** Software cannot smell or look: said wherever burners are lit. */
export function BurnerCaution({ emergency }: { emergency: string }) {
  return (
    <Notice title="Never unattended with burners lit" tone="do-not-use">
      <p>Software watches nothing. CO has no smell.</p>
      {emergency && <p class="lines-kept">{emergency}</p>}
    </Notice>
  );
}

/** The list before a firing, gone through at the kiln. */
export function CheckPage({ firing, form, done, scheduleWord, turns, reader }: CheckProps) {
  const { load, checked, isThere } = firing;
  const { kiln } = load;
  const ticks = checked?.ticks ?? [];
  return (
    <>
      <FiringHead load={load} title="Before firing" done={done} />
      {kiln.power === 'gas' && <BurnerCaution emergency={kiln.emergency} />}
      <ScheduleToRead firing={firing} scheduleWord={scheduleWord} />
      {!isThere || load.state !== 'loaded' ? (
        <AskWhom load={load} what="go through this list" />
      ) : (
        <Form
          action={`${loadAddress(load.number)}/check`}
          form={form}
          idempotencyKey={`${reader.key}-check`}
          hidden={{ turns }}
        >
          <fieldset class="field">
            <legend>Tick what you have seen yourself</legend>
            {checksFor(kiln.power)
              .filter((key) => TICKED.includes(key))
              .map((key) => (
                <Check
                  key={key}
                  name={key}
                  label={
                    key === 'schedule'
                      ? CHECK_WORDS.schedule.replace('schedule', scheduleWord)
                      : CHECK_WORDS[key]
                  }
                  checked={ticks.includes(key)}
                />
              ))}
          </fieldset>
          <Field
            name="onCall"
            label="Who is on call"
            hint="Name and how they are reached tonight."
            value={load.onCall}
            maxlength={120}
          />
          {kiln.power === 'gas' && (
            <>
              <Field
                name="latestShutOff"
                type="datetime-local"
                label="Burners off at the latest"
                hint="Whatever the cones say by then."
              />
              <fieldset class="field lines">
                <legend>Who watches it</legend>
                <p class="hint">
                  One after the other without a gap, each of them named as one who fires this kiln.
                </p>
                {Array.from({ length: turns }, (_, i) => turnFields(firing, i))}
                <Submit label="More rows" look="plain" name="more" value="yes" />
              </fieldset>
            </>
          )}
          {noteField('Anything else', 'What is open may be explained at the start.')}
          <Submit
            label="Keep this list"
            small="Then it is started. What is not ticked has to be explained before it is started."
          />
        </Form>
      )}
      <FiringFoot load={load} here="check" reader={reader} />
    </>
  );
}

function turnFields({ load }: FiringPage, i: number) {
  const options = load.kiln.firers.map(({ name }) => ({ value: name, label: name }));
  return (
    <Beside key={i}>
      <Select name={`watcher${i + 1}`} label={`Turn ${i + 1}`} options={options} none="Nobody" optional />
      <Field name={`from${i + 1}`} type="datetime-local" label="From" optional />
      <Field name={`to${i + 1}`} type="datetime-local" label="To" optional />
    </Beside>
  );
}

function ScheduleToRead({ firing: { load }, scheduleWord }: Pick<CheckProps, 'firing' | 'scheduleWord'>) {
  const { schedule } = load;
  return (
    <Panel title={schedule ? `Read aloud: ${schedule.name}` : `No ${scheduleWord} is chosen`}>
      {schedule ? (
        <ol>
          {schedule.segments.map((segment, i) => (
            <li key={i}>{segmentWords(segment)}</li>
          ))}
        </ol>
      ) : (
        <p>Set the controller by hand, and say in the note to what.</p>
      )}
    </Panel>
  );
}

/** A yes to what was asked about a start at this time, and at no other that is typed instead. */
export const startAsked = ({ typed }: FormState): string => [typed.happenedAt ?? ''].flat().join('') || 'now';

/** What is ticked and what is not, and the one act that lights it. */
export function StartPage({ firing, form, done, reader }: FiringProps) {
  const { load, checked, open, found } = firing;
  const { kiln } = load;
  const isPlain = open.length + found.length === 0;
  return (
    <>
      <FiringHead load={load} title="Start it" done={done} />
      {kiln.power === 'gas' && <BurnerCaution emergency={kiln.emergency} />}
      {load.state === 'loaded' && (
        <p>
          {load.startsAt === null
            ? 'Not on the calendar.'
            : `On the calendar: ${shownTime(load.startsAt, reader.now, reader.timeZone)}.`}
        </p>
      )}
      {found.length > 0 && (
        <Notice title="This has come to light since it was approved" tone="do-not-use">
          <Checks checks={found} />
        </Notice>
      )}
      <Panel title="The list before firing">
        {checked === null ? (
          <p>Nobody has gone through it yet.</p>
        ) : (
          <p>
            <Written at={checked.at} by={checked.by} reader={reader}>
              {open.length === 0 ? 'All of it is ticked.' : 'Gone through.'}
            </Written>
          </p>
        )}
        <Checks
          checks={checksFor(kiln.power).map((check) => ({
            check,
            ok: !open.includes(check),
            words: CHECK_WORDS[check],
          }))}
          open="Not ticked"
        />
        <Agreed firing={firing} reader={reader} />
      </Panel>
      {kiln.mayFire && load.state === 'loaded' ? (
        <Form action={`${loadAddress(load.number)}/start`} form={form} idempotencyKey={`${reader.key}-start`}>
          {noteField(
            isPlain ? 'Note' : 'Why it is started all the same',
            open.length > 0 ? `Not ticked: ${open.length} of ${checksFor(kiln.power).length}.` : undefined,
            isPlain,
          )}
          {notNow(form, reader)}
          {isAsked(form, startAsked(form)) ? (
            <Submit
              label="It is started all the same"
              small="What speaks against it is kept."
              look="plain"
              name="confirm"
              value={startAsked(form)}
            />
          ) : (
            <Submit
              label={`Start load ${load.number}`}
              small={`In ${kiln.name}, by ${load.schedule?.name ?? 'hand'}.`}
            />
          )}
        </Form>
      ) : (
        <AskWhom load={load} what="start it" />
      )}
      <FiringFoot load={load} here="start" reader={reader} />
    </>
  );
}

/** Who is on call and who watches, as it was agreed before. */
export function Agreed({ firing, reader }: { firing: FiringPage; reader: LoadReader }) {
  const { load, watch, checked, isThere } = firing;
  const at = (instant: number) => shownTime(instant, reader.now, reader.timeZone);
  const facts: [string, string][] = [];
  if (isThere && checked && load.onCall) facts.push(['On call', load.onCall]);
  for (const { name, from, to } of watch) facts.push(['Watches', `${name}, ${at(from)} to ${at(to)}`]);
  if (checked?.latestShutOff !== undefined)
    facts.push(['Burners off at the latest', at(checked.latestShutOff)]);
  return facts.length === 0 ? null : <Facts items={facts} />;
}
