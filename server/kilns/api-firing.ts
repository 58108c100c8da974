import { z } from 'zod';
import { type Endpoint, read, write } from '../core/api.ts';
import { choice } from '../core/forms.ts';
import { iso, isoOrNull, whole } from '../core/json.ts';
import { FIRING_KINDS } from '../ware/firing.ts';
import { OUTCOMES } from '../ware/outcome.ts';
import { actsOnLoad, num, loadParams as params, part, time } from './api-acts.ts';
import { CHARTS, type ChartCode } from './cones.ts';
import { levelWord } from './firing-record.ts';
import { LOAD_STATES } from './load-fold.ts';
import * as kilns from './service/index.ts';
import { READINGS } from './witness.ts';

const firingAnswer = z.object({
  number: z.int(),
  version: z.int(),
  state: z.enum(LOAD_STATES),
  kiln: z.string(),
  startedAt: time.nullable(),
  shutOffAt: time.nullable(),
  openedAt: time.nullable(),
  unloadedAt: time.nullable(),
  /** The newest pyrometer reading that somebody typed. */
  measuredC: num.nullable(),
  measuredAt: time.nullable(),
});

const firingJson = (load: kilns.LoadNow): z.input<typeof firingAnswer> => ({
  number: load.number,
  version: load.version,
  state: load.state,
  kiln: load.kiln.code,
  startedAt: isoOrNull(load.startedAt),
  shutOffAt: isoOrNull(load.shutOffAt),
  openedAt: isoOrNull(load.openedAt),
  unloadedAt: isoOrNull(load.unloadedAt),
  measuredC: load.measuredC,
  measuredAt: isoOrNull(load.measuredAt),
});

const onFiring = actsOnLoad(firingAnswer, firingJson);

const chartCode = z.enum(Object.keys(CHARTS) as [ChartCode, ...ChartCode[]]);
const passing = z.object({ afterS: num, cPerH: num.nullable() }).nullable();

const findingsAnswer = z.object({
  number: z.int(),
  /** Where the figures come from. */
  from: z.enum(['log', 'readings', 'nothing']),
  peakC: num.nullable(),
  peakAfterS: num.nullable(),
  lastRateCPerH: num.nullable(),
  /** An equivalent cone is worth something only together with its chart; no hold is in it. */
  equivalentCone: z
    .object({
      words: z.string(),
      order: num,
      outside: z.boolean(),
      chart: chartCode,
      coneType: z.string(),
      edition: z.string(),
    })
    .nullable(),
  /** What the time near the peak adds, in cones: an estimate. */
  hold: z.object({ seconds: num, fromCones: num, toCones: num }).nullable(),
  quartzUp: passing,
  quartzDown: passing,
  /** How it cooled below 400 °C, an hour. */
  coolingPerH: num.nullable(),
  gaps: z.int(),
  unreadLines: z.int(),
  cones: z.array(
    z.object({
      part,
      level: z.int(),
      cones: z.array(z.object({ cone: z.string(), reading: z.enum(READINGS) })),
      /** Cones off what was wanted, below zero for cool; null where they leave it open. */
      off: num.nullable(),
      flagged: z.boolean(),
      words: z.string(),
    }),
  ),
  verdict: z.object({ by: z.enum(['cones', 'log', 'nothing']), flagged: z.boolean() }),
  /** What makes the log doubtful beside what was noted of the firing, in words. */
  doubt: z.string().nullable(),
  /** Levels of this kiln that have drifted for some firings, in words. */
  trend: z.array(z.string()),
});

function findingsJson(found: kilns.FiringFindings): z.input<typeof findingsAnswer> {
  const { findings, judgement } = found;
  const facts = findings?.facts ?? null;
  const pass = (one: { atS: number; cPerH: number | null } | null | undefined) =>
    one ? { afterS: one.atS, cPerH: one.cPerH } : null;
  return {
    number: found.load.number,
    from: !findings ? 'nothing' : found.log ? 'log' : 'readings',
    peakC: facts?.peakC ?? null,
    peakAfterS: facts?.peakAtS ?? null,
    lastRateCPerH: facts?.lastRateCPerH ?? null,
    equivalentCone:
      findings?.facts.equivalent != null
        ? {
            words: findings.facts.equivalent.words,
            order: findings.facts.equivalent.order,
            outside: findings.facts.equivalent.outside,
            chart: findings.chart,
            coneType: findings.coneType,
            edition: findings.edition,
          }
        : null,
    hold: facts ? { seconds: facts.nearPeakS, fromCones: facts.hold.from, toCones: facts.hold.to } : null,
    quartzUp: pass(facts?.quartzUp),
    quartzDown: pass(facts?.quartzDown),
    coolingPerH: findings?.cooling?.kPerH ?? null,
    gaps: findings?.gapCount ?? 0,
    unreadLines: findings?.problemCount ?? 0,
    cones: found.cones.map(({ part: side, level, cones }) => {
      const said = judgement.levels.find((one) => one.level === levelWord({ part: side, level }));
      return {
        part: side,
        level,
        cones,
        off: said?.off ?? null,
        flagged: said?.flagged ?? false,
        words: said?.words ?? '',
      };
    }),
    verdict: { by: judgement.by, flagged: judgement.flagged },
    doubt: found.doubt,
    trend: found.trend.map(({ words }) => words),
  };
}

const findings = read({
  path: '/firings/:number',
  permission: 'loads.see',
  summary:
    'What a firing came to: its curve’s figures, its witness cones, which decide, and the drift of its kiln',
  params,
  whole: 'what one firing has',
  answer: findingsAnswer,
  run: async (asked, { params: { number } }) => findingsJson(await kilns.judgeFiring(asked, number)),
});

const log = read({
  path: '/firings/:number/log',
  permission: 'loads.see',
  summary: 'The log of a firing that counts, thinned; null before the first',
  params,
  whole: 'thinned to 8,000 points',
  answer: z.object({
    log: z
      .object({
        source: z.enum(['import', 'api']),
        startsAt: time,
        /** How many points there were. */
        pointCount: z.int(),
        points: z.array(z.object({ at: time, celsius: num })),
      })
      .nullable(),
  }),
  async run(asked, { params: { number } }) {
    const found = await kilns.findLog(asked, number);
    return {
      log: found && {
        source: found.source,
        startsAt: iso(found.startsAt),
        pointCount: found.pointCount,
        points: found.points.map(({ atS, c }) => ({ at: iso(found.startsAt + atS * 1000), celsius: c })),
      },
    };
  },
});

const sendLog = write({
  path: '/firings/:number/log',
  permission: 'firings.log',
  summary:
    'Send a log: points, at most 20,000 and 256 kB a request, or a file’s text as csv. A longer one comes in parts: ' +
    'the first as it is, each further one with "more": true',
  params,
  body: kilns.sendLogForm,
  answer: findingsAnswer,
  async run(act, { params: { number }, body }) {
    await kilns.sendLog(act, number, body);
    return findingsJson(await kilns.judgeFiring(act, number));
  },
});

const share = z.object({ faulty: z.int(), all: z.int(), share: num, low: num, high: num });
const counted = z.array(z.object({ outcome: z.enum(OUTCOMES), count: z.int() }));
const lines = z.array(z.object({ what: z.string(), share, outcomes: counted, standsOut: z.boolean() }));

const FAULT_TABLES = [
  'buckets',
  'batches',
  'readings',
  'levels',
  'kilns',
  'clays',
  'coats',
  'counts',
  'gravities',
] as const;
const MOST_LINES = 100;

/** Something for each of the fault tables. */
const ofTables = <T>(of: (table: (typeof FAULT_TABLES)[number]) => T) =>
  Object.fromEntries(FAULT_TABLES.map((table) => [table, of(table)])) as Record<
    (typeof FAULT_TABLES)[number],
    T
  >;

const faults = read({
  path: '/faults',
  permission: 'faults.see',
  summary:
    'Which glaze, batch, reading, level, kiln and clay, and which thickness of its outer coats, count and gravity of the ' +
    'last, goes with which fault, with how many pieces it rests on: ' +
    `at most ${MOST_LINES} lines a table, first where the share is large beyond doubt; "left" counts the lines beyond them`,
  query: z.strictObject({
    outcome: choice(OUTCOMES).optional(),
    kind: choice(FIRING_KINDS).optional(),
    days: whole(1, 3650).optional(),
  }),
  whole: 'a hundred lines a table',
  answer: z.object({
    overall: share,
    outcomes: counted,
    ...ofTables(() => lines),
    left: z.object(ofTables(() => z.int())),
  }),
  async run(asked, { query }) {
    const { overall, outcomes, pieces: _, ...tables } = await kilns.faultTables(asked, query);
    const plain = (some: kilns.FaultLine[]) =>
      some.slice(0, MOST_LINES).map(({ words, share: of, outcomes: which, standsOut }) => ({
        what: words,
        share: of,
        outcomes: which,
        standsOut,
      }));
    return {
      overall,
      outcomes,
      ...ofTables((table) => plain(tables[table])),
      left: ofTables((table) => Math.max(0, tables[table].length - MOST_LINES)),
    };
  },
});

export const firingEndpoints: Endpoint[] = [
  onFiring('check', 'loads.fire', 'Tick the list before firing', kilns.checkForm, kilns.checkBeforeFiring),
  onFiring(
    'start',
    'loads.fire',
    'Start a firing, by somebody who may fire the kiln; what of the list is open needs a note, what speaks against it confirm',
    kilns.startForm,
    kilns.startFiring,
  ),
  onFiring('reading', 'loads.fire', 'Write down a pyrometer reading', kilns.readingForm, kilns.noteReading),
  onFiring(
    'hand-log',
    'loads.fire',
    'Write a line of the hand log of a gas kiln',
    kilns.gasForm,
    kilns.noteGasLine,
  ),
  onFiring(
    'shut-off',
    'loads.fire',
    'Say that a firing is shut off: it cools',
    kilns.shutOffForm,
    kilns.shutOff,
  ),
  onFiring(
    'open',
    'loads.fire',
    'Say that a kiln was cracked or opened, with the pyrometer reading; too hot needs confirm and a note',
    kilns.openForm,
    kilns.openKiln,
  ),
  onFiring(
    'unload',
    'firings.record',
    'Empty a kiln: every piece good but the exceptions',
    kilns.unloadForm,
    kilns.unloadKiln,
  ),
  onFiring(
    'cones',
    'firings.record',
    'Read the witness cones by the clock; cones that tell against each other need confirm',
    kilns.conesForm,
    kilns.readCones,
  ),
  onFiring(
    'outcomes',
    'firings.record',
    'Say anew how a piece came out',
    kilns.outcomeForm,
    (act, number, body) => kilns.correctOutcome(act, number, body),
  ),
  onFiring(
    'strike-out',
    'loads.fire',
    'Strike out a reading, a line, cones, or a start or shut-off tapped by mistake',
    kilns.strikeOutForm,
    kilns.strikeOutEvent,
  ),
  findings,
  log,
  sendLog,
  faults,
];
