import { moneyText } from '../../server/core/money.ts';
import type { FormState } from '../../server/core/routes.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { KilnReader } from '../../server/kilns/actions/kiln-reader.ts';
import { type Estimate, estimate } from '../../server/kilns/estimate.ts';
import { durationWords, plan, segmentWords } from '../../server/kilns/schedule.ts';
import type { KilnNow, Schedule } from '../../server/kilns/service/index.ts';
import type { KilnSettings } from '../../server/kilns/settings.ts';
import { compareCones } from '../../server/ware/cone.ts';
import { FIRING_KINDS, type FiringKind } from '../../server/ware/firing.ts';
import { Beside, Check, Field, Form, NumberField, type Option, Select, Submit } from '../ui/field.tsx';
import { Empty, Facts, More, Notice, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { Act, PlainAct } from '../ui/verdict.tsx';
import { CurvePlot } from './curve-plot.tsx';

const KIND_WORDS: Record<FiringKind, string> = {
  bisque: 'Bisque',
  glaze: 'Glaze',
  lustre: 'Lustre or decal',
  other: 'Other',
};

const KINDS: Option[] = FIRING_KINDS.map((value) => ({ value, label: KIND_WORDS[value] }));

const hoursWords = (hours: number): string => durationWords(hours * 3600);

interface ListProps {
  /** The retired ones too. */
  schedules: Schedule[];
  word: KilnSettings['scheduleWord'];
  reader: KilnReader;
}

export function SchedulesPage({ schedules, word, reader }: ListProps) {
  const inUse = schedules.filter(({ retiredAt }) => retiredAt === null);
  const retired = schedules.filter(({ retiredAt }) => retiredAt !== null);
  return (
    <>
      <h1>Firing {word}s</h1>
      <p class="soft narrow">
        Ramps and holds by kind and cone. A load takes the newest one of exactly its kind and cone.
      </p>
      {inUse.length === 0 ? (
        <Empty title={`No ${word} yet`}>
          <p>Without one, nobody knows how long a firing takes.</p>
          {reader.mayEdit && schedules.length === 0 && (
            <Act
              post="/kilns/schedules/usual"
              idempotencyKey={reader.key}
              label="Begin with the usual ones"
              small="Bisque to cone 06, thin and thick ware, and glaze to cone 6. Change them as you like."
            />
          )}
        </Empty>
      ) : (
        <Panel>
          <Table
            columns={[
              { label: 'Name', main: true },
              { label: 'Kind' },
              { label: 'Cone', number: true, keepLabel: true },
              { label: 'Top', number: true, keepLabel: true },
              { label: 'Takes', number: true, keepLabel: true },
            ]}
            rows={inUse.map((one) => ({
              key: one.number,
              cells: [
                <a key="name" href={`/kilns/schedules/${one.number}`}>
                  {one.name}
                </a>,
                one.forThick ? `${KIND_WORDS[one.kind]}, for thick ware` : KIND_WORDS[one.kind],
                one.cone,
                `${Math.round(one.topC)} °C`,
                hoursWords(one.hours),
              ],
            }))}
          />
        </Panel>
      )}
      {reader.mayEdit && <PlainAct href="/kilns/schedules/new" label={`New ${word}`} />}
      {retired.length > 0 && (
        <More summary="No longer used">
          <ul>
            {retired.map(({ number, name, cone }) => (
              <li key={number}>
                <a href={`/kilns/schedules/${number}`}>
                  {name}, cone {cone}
                </a>{' '}
                <span class="code">{number}</span>
              </li>
            ))}
          </ul>
        </More>
      )}
      <p>
        <a href="/kilns">Back to the kilns</a>
      </p>
    </>
  );
}

interface PageProps {
  schedule: Schedule;
  settings: KilnSettings;
  kilns: KilnNow[];
  reader: KilnReader;
}

export function SchedulePage({ schedule, settings, kilns, reader }: PageProps) {
  const at = `/kilns/schedules/${schedule.number}`;
  const word = settings.scheduleWord;
  const fitting = kilns.filter(({ maxCone }) => compareCones(schedule.cone, maxCone) <= 0);
  return (
    <>
      <h1>
        {schedule.name} <span class="code">{schedule.number}</span>
      </h1>
      {schedule.retiredAt !== null && (
        <Notice title="No longer used">
          <p>Loads that were fired by it still name it. New ones take another {word}.</p>
        </Notice>
      )}
      <div class="split">
        <Panel title="Steps">
          <ol class="steps">
            {schedule.segments.map((segment, i) => (
              <li key={i}>{segmentWords(segment)}</li>
            ))}
          </ol>
          <CurvePlot measured={[]} planned={plan(schedule.segments).points} />
        </Panel>
        <div>
          <Panel title="In short">
            <Facts
              items={[
                [
                  'For',
                  `${KIND_WORDS[schedule.kind]}, cone ${schedule.cone}${schedule.forThick ? ', thick ware' : ''}`,
                ],
                ['Top', `${Math.round(schedule.topC)} °C`],
                ['Takes', hoursWords(schedule.hours)],
                [
                  'Written',
                  `${shownTime(schedule.madeAt, reader.now, reader.timeZone)} by ${schedule.madeBy}`,
                ],
              ]}
            />
          </Panel>
          {fitting.length > 0 && (
            <Panel title="In your kilns, estimated">
              <Facts
                items={fitting.map((kiln) => [
                  kiln.name,
                  estimateWords(kiln, estimate(kiln, schedule, settings), reader.currency),
                ])}
              />
              <p class="soft">Open and unload by the pyrometer only.</p>
            </Panel>
          )}
          {reader.mayEdit && schedule.retiredAt === null && (
            <div class="row">
              <PlainAct href={`${at}/edit`} label="Change" />
              <PlainAct post={`${at}/retire`} idempotencyKey={reader.key} label="Use it no longer" />
            </div>
          )}
        </div>
      </div>
      <p>
        <a href="/kilns/schedules">All {word}s</a>
      </p>
    </>
  );
}

/** '66 kWh, £18.90; cold enough to empty 12.5 to 37 h after the end' */
function estimateWords(
  { power }: Pick<KilnNow, 'power'>,
  { kWh, costMinor, coolHours: { from, to } }: Estimate,
  currency: string,
): string {
  const drawn = [
    power === 'gas' && 'gas: not metered here',
    kWh !== null && `${Math.round(kWh)} kWh`,
    costMinor !== null && moneyText(BigInt(costMinor), currency),
  ].filter((part) => part !== false);
  const cold = `cold enough to empty ${from === to ? to : `${from} to ${to}`} h after the end`;
  return [drawn.join(', '), cold].filter(Boolean).join('; ');
}

interface FormProps {
  /** The schedule that a better one takes the place of; null for a new one. */
  replaced: Schedule | null;
  /** Kind and cone to begin with, where they were asked for. */
  usual?: FormState;
  form: FormState;
  rows: number;
  word: KilnSettings['scheduleWord'];
  reader: KilnReader;
}

export function ScheduleFormPage({ replaced, usual, form, rows, word, reader }: FormProps) {
  const at = replaced ? `/kilns/schedules/${replaced.number}` : '/kilns/schedules';
  const steps = (
    <Form action={replaced ? `${at}/edit` : '/kilns/schedules/new'} form={form} idempotencyKey={reader.key}>
      {what()}
      <Field name="name" label="Name" maxlength={60} autocomplete="off" />
      <fieldset class="field lines" id="f-steps">
        <legend>Steps</legend>
        <p class="hint">
          Each is a ramp and a hold. Leave the rate empty for as fast as the kiln goes, and the rows you do
          not need. A step down is cooling on purpose.
        </p>
        {Array.from({ length: rows }, (_, i) => (
          <Beside key={`step ${i + 1}`}>
            <NumberField name={`rate${i + 1}`} label={`Step ${i + 1}, °C an hour`} optional />
            <NumberField name={`to${i + 1}`} label="To, °C" optional />
            <NumberField name={`hold${i + 1}`} label="Hold, min" optional />
          </Beside>
        ))}
      </fieldset>
      <Submit label={replaced ? `Save as a new ${word}` : `Save this ${word}`} />
      <Submit label="More rows" look="plain" name="more" value="yes" />
    </Form>
  );
  return (
    <>
      <h1>{replaced ? `Change ${replaced.name}` : `New ${word}`}</h1>
      {replaced && (
        <p class="soft narrow">
          It gets a new number. Loads that have number {replaced.number} keep it as it is.
        </p>
      )}
      {usual ? (
        <>
          <Panel title="Begin with the usual steps">
            <Form action="/kilns/schedules/new" method="get" form={usual} id="usual">
              {what()}
              <Submit label="Fill them in" />
            </Form>
          </Panel>
          <More summary="Or write every step yourself">{steps}</More>
        </>
      ) : (
        steps
      )}
      <p>
        <a href={at}>{replaced ? `Back to ${replaced.name}` : `All ${word}s`}</a>
      </p>
    </>
  );
}

/** Called, not mounted: what is wrong is listed with the labels found among the form's own children. */
const what = () => (
  <>
    <Beside>
      <Select name="kind" label="Kind" options={KINDS} />
      <Field name="cone" label="Cone" hint="Such as 06 or 6." maxlength={4} />
    </Beside>
    <Check
      name="forThick"
      label="For thick ware"
      hint="Dries it slowly first. A bisque load with a thick piece in it takes this one only."
    />
  </>
);
