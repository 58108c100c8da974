import type { ComponentChildren } from 'preact';
import { shownTime } from '../../server/core/wall-time.ts';
import type { LoadReader } from '../../server/kilns/actions/load-reader.ts';
import { coneAmount, type HoldEffect } from '../../server/kilns/cones.ts';
import type { Passing } from '../../server/kilns/curve.ts';
import { thin } from '../../server/kilns/firing-log.ts';
import { levelWord } from '../../server/kilns/firing-record.ts';
import { durationWords, plan } from '../../server/kilns/schedule.ts';
import type { FiringFindings } from '../../server/kilns/service/index.ts';
import { READING_WORDS } from '../../server/kilns/witness.ts';
import { State } from '../ui/icons.tsx';
import { Facts, Notice, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { CurvePlot } from './curve-plot.tsx';
import { degrees, FiringFoot, FiringHead } from './firing-parts.tsx';
import { loadAddress } from './load-parts.tsx';
import { floorName } from './plan-parts.tsx';

interface Props {
  judged: FiringFindings;
  scheduleWord: string;
  done: string | null;
  reader: LoadReader;
}

/** More points than this no screen shows. */
const MOST_DRAWN = 600;

/** A firing as it went, against its schedule, and what the cones say of it. */
export function CurvePage({ judged, scheduleWord, done, reader }: Props) {
  const { load, curves, findings, log, startsAt } = judged;
  const schedule = load.schedule;
  const planFromS =
    findings?.planFromS ??
    (startsAt !== null && load.startedAt !== null ? Math.max(0, (load.startedAt - startsAt) / 1000) : 0);
  return (
    <>
      <FiringHead load={load} title="How it was fired" done={done} />
      <Verdict judged={judged} reader={reader} />
      <Panel title="Curve">
        <CurvePlot
          measured={curves.map((curve) => ({ ...curve, points: thin(curve.points, MOST_DRAWN) }))}
          planned={
            schedule && load.startedAt !== null
              ? plan(schedule.segments).points.map(({ atS, c }) => ({ atS: atS + planFromS, c }))
              : []
          }
          gaps={findings?.gaps ?? []}
        />
        {judged.doubt && (
          <Notice title="Log and shut-off do not agree" tone="needs-reading">
            <p>{judged.doubt}</p>
          </Notice>
        )}
        {log && (
          <p class="soft">
            {log.pointCount.toLocaleString('en')} readings from{' '}
            {shownTime(log.startsAt, reader.now, reader.timeZone)}, brought in by {log.by}.
            {log.findings.problemCount > 0 &&
              ` ${log.findings.problemCount.toLocaleString('en')} lines could not be read.`}
          </p>
        )}
      </Panel>
      <div class="split">
        <Panel title="What the curve says">
          {findings ? (
            <Facts items={factsOf(judged, scheduleWord)} />
          ) : (
            <p>Two readings at different times, at least, make a curve.</p>
          )}
        </Panel>
        <div>
          <Cones judged={judged} />
          {judged.trend.length > 0 && (
            <Notice title={`${load.kiln.name} drifts`} tone="needs-reading">
              <ul>
                {judged.trend.map(({ words }) => (
                  <li key={words}>{words}</li>
                ))}
              </ul>
              <p>By the witness cones of its firings.</p>
            </Notice>
          )}
        </div>
      </div>
      <FiringFoot load={load} here="curve" reader={reader} />
    </>
  );
}

// A third of a cone is seen on the ware: common practice, no source. A hair less, for thirds in floating point.
const NEAR_CONES = 1 / 3 - 1e-9;

/** Cones decide; a log only where none were read. */
function Verdict({ judged, reader }: Pick<Props, 'judged' | 'reader'>) {
  const { load, judgement } = judged;
  const { by, flagged, levels, log } = judgement;
  if (by === 'nothing')
    return (
      <p>
        Nothing tells yet how hot it was.
        {reader.mayLoad && load.state !== 'firing' && (
          <>
            {' '}
            {load.openedAt !== null && (
              <>
                <a href={`${loadAddress(load.number)}/cones`}>Read the witness cones</a>, or{' '}
              </>
            )}
            <a href={`${loadAddress(load.number)}/log`}>
              {load.openedAt === null ? 'Bring in the log' : 'bring in the log'}
            </a>
            .
          </>
        )}
      </p>
    );
  const words =
    by === 'cones'
      ? flagged
        ? 'Off by its cones'
        : 'Within half a cone by its cones'
      : flagged
        ? 'A cone or more off by its log'
        : 'Within a cone by its log';
  const offs = by === 'cones' ? levels.map(({ off }) => off ?? 0) : [log?.off ?? 0];
  const isNear = offs.every((off) => Math.abs(off) < NEAR_CONES);
  return (
    <p>
      {flagged || isNear ? (
        <State state={flagged ? 'needs-reading' : 'ready'} words={words} />
      ) : (
        <b>{words}.</b>
      )}{' '}
      {by === 'cones' ? levels.map((one) => one.words).join(' ') : log?.words}
      {by === 'log' && ' Witness cones would tell for certain.'}
    </p>
  );
}

function Cones({ judged }: Pick<Props, 'judged'>) {
  const { cones, judgement, load } = judged;
  if (cones.length === 0) return null;
  return (
    <Panel title={`Witness cones, cone ${load.firing.cone} wanted`}>
      <Table
        columns={[{ label: 'Level', main: true }, { label: 'Cones' }, { label: 'So' }]}
        rows={[...cones].reverse().map((one) => {
          const said = judgement.levels.find(({ level }) => level === levelWord(one));
          return {
            key: levelWord(one),
            cells: [
              floorName(one),
              one.cones
                .map(({ cone, reading }) => `${cone}: ${READING_WORDS[reading].toLowerCase()}`)
                .join('; '),
              <>
                {said && (said.flagged ? <b>{afterColon(said.words)}</b> : afterColon(said.words))}
                {said?.reached.doubt && <small class="soft"> {said.reached.doubt}</small>}
              </>,
            ],
          };
        })}
      />
      {judgement.log && <p class="soft">{judgement.log.words} The cones decide.</p>}
    </Panel>
  );
}

/** 'Level 2: half a cone cool.' → 'half a cone cool' */
const afterColon = (words: string): string => words.slice(words.indexOf(': ') + 2).replace(/\.$/, '');

function factsOf(
  { findings, chartWords, load }: FiringFindings,
  scheduleWord: string,
): [string, ComponentChildren][] {
  if (!findings) return [];
  const { facts, comparison, gapCount } = findings;
  const rate = facts.lastRateCPerH;
  const isOver = load.state !== 'firing';
  const items: ([string, ComponentChildren] | false)[] = [
    [isOver ? 'Highest' : 'Highest so far', `${degrees(facts.peakC)} after ${durationWords(facts.peakAtS)}`],
    ['Over the last 100 °C', rate === null ? 'the log begins above them' : `${Math.round(rate)} °C an hour`],
    isOver && [
      'Amounts to',
      facts.equivalent ? (
        <>
          <b>{facts.equivalent.words}</b>
          {facts.equivalent.outside && ', outside what the chart prints'}
          <small class="soft">
            {' '}
            {chartWords}; cone {load.firing.cone} wanted
          </small>
        </>
      ) : (
        'no cone: the rate before the top is not known'
      ),
    ],
    isOver && ['Near the top', `${durationWords(facts.nearPeakS)} within 5 °C${holdWords(facts.hold)}`],
    ['Quartz, 573 °C', quartzWords(facts.quartzUp, facts.quartzDown)],
    comparison !== null && [`Against the ${scheduleWord}`, comparisonWords(comparison)],
    gapCount > 0 && ['Gaps', `${gapCount} without readings`],
    facts.spikes > 0 && ['Left out', `${facts.spikes} readings that stood apart from both their neighbours`],
  ];
  return items.filter((item) => item !== false);
}

function holdWords({ from, to }: HoldEffect): string {
  const [least, most] = [coneAmount(from), coneAmount(to)];
  if (most === '') return '';
  return `; a hold so long adds ${least === '' ? `up to ${most}` : least === most ? `about ${most}` : `${least} to ${most}`}, estimate`;
}

const quartzWords = (up: Passing | null, down: Passing | null): string => {
  const pass = (way: string, passing: Passing | null) =>
    passing &&
    `${way}${passing.cPerH === null ? '' : ` at ${Math.abs(Math.round(passing.cPerH))} °C an hour`}`;
  return [pass('up', up), pass('down', down)].filter(Boolean).join(', ') || 'not in this curve';
};

function comparisonWords({
  behind,
  ahead,
  topLateS,
}: NonNullable<NonNullable<FiringFindings['findings']>['comparison']>) {
  const parts = [
    behind && behind.byC >= 5 && `at most ${degrees(behind.byC)} behind, after ${durationWords(behind.atS)}`,
    ahead && ahead.byC >= 5 && `at most ${degrees(ahead.byC)} ahead, after ${durationWords(ahead.atS)}`,
    Math.abs(topLateS) >= 60 && `top ${durationWords(Math.abs(topLateS))} ${topLateS > 0 ? 'late' : 'early'}`,
  ].filter(Boolean);
  return parts.length === 0 ? 'as planned' : parts.join('; ');
}
