import type { Read } from '../../core/actor.ts';
import { HOUR, type Instant } from '../../core/clock.ts';
import { may, mustBeAllowed } from '../../core/policy.ts';
import { formWord } from '../../ware/presets.ts';
import { findPieces } from '../../ware/service/index.ts';
import type { Check } from '../approval.ts';
import { coolingRead, downAbout } from '../calendar.ts';
import { type Cooling, type Forecast, mayOpen } from '../cooling.ts';
import { estimate } from '../estimate.ts';
import { type Findings, findingsOf, topAfterOff, USUAL_CHART } from '../findings.ts';
import {
  type Checked,
  type CheckKey,
  type ConesRead,
  celsiusOf,
  checkedSince,
  conesOf,
  type GasLine,
  HAND_LOG_EVERY,
  levelCones,
  type Opened,
  openChecks,
  type Reading,
  type RecordEvent,
  readingsOf,
  reductionsOf,
  type Started,
  standing,
  struckIn,
} from '../firing-record.ts';
import { type Shelf, shelvesOf } from '../load-fold.ts';
import type { KilnSettings } from '../settings.ts';
import * as ledgerStore from '../store/load-ledger.ts';
import { type Drifting, type Judgement, judge } from '../witness.ts';
import { handPoints, kilnCooling, kilnTrend } from './kiln-history.ts';
import { findLoad, type LoadNow } from './load-page.ts';
import { openNow, piecesHere, rowOf } from './loads.ts';
import { type FiringLog, findLog } from './logs.ts';
import { kilnSettings } from './settings.ts';

/** A line of the hand log, a struck-out one too. */
export interface WrittenLine extends GasLine {
  number: number;
  at: Instant;
  /** Initials, for technicians and who fires the kiln. */
  by: string | null;
  note: string | null;
  isStruck: boolean;
}

export interface WrittenReading extends Reading {
  number: number;
  kind: string;
  by: string | null;
  note: string | null;
  isStruck: boolean;
}

type Undoable = 'started' | 'shut-off' | 'opened';

/** A firing as its pages show it. */
export interface FiringPage {
  load: LoadNow;
  /** Whoever asks may write in it: they fire this kiln, or are a technician. */
  isThere: boolean;
  settings: KilnSettings;
  shelves: Shelf[];
  /** The list before firing as it was ticked last; null before. */
  checked: (Checked & { at: Instant; by: string | null }) | null;
  open: CheckKey[];
  /** Turns of the watch, by name for who may know. */
  watch: { name: string; from: Instant; to: Instant }[];
  /** What has come to light since it was approved and before it is started, for whoever may write in it. */
  found: Check[];
  /** What was not ticked when it was started, what had come to light, what else spoke against it, and why it was started. */
  startedWithout: (Required<Pick<Started, 'open' | 'found' | 'against'>> & { why: string | null }) | null;
  /** Every typed temperature, the newest first. */
  readings: WrittenReading[];
  /** The hand log, the oldest line first. */
  lines: WrittenLine[];
  reductions: ReturnType<typeof reductionsOf>;
  /** When the next line of the hand log is due; null where none is. */
  nextLineAt: Instant | null;
  /** The events that may be taken back by a tap: the start or the shut-off, while it is the last of its kind. */
  undo: { event: number; kind: Undoable } | null;
  opened: (Opened & { at: Instant; by: string | null; event: number })[];
  cones: ConesRead['levels'];
  cooling: Cooling;
  /** By `downAbout`: when it is likely down to what it is opened and emptied at; null unless it cools. */
  forecasts: { open: Forecast | null; hands: Forecast | null } | null;
  /** What the newest reading since it was shut off allows; null without one. */
  allows: ReturnType<typeof mayOpen> | null;
}

const UNDONE: Partial<Record<LoadNow['state'], Undoable>> = { firing: 'started', cooling: 'shut-off' };

/** A firing in whatever state its load is. @throws NotFound */
export async function showFiring(read: Read, number: number): Promise<FiringPage> {
  mustBeAllowed(read.actor, 'loads.see');
  const load = await findLoad(read, number);
  const [events, settings, cooling] = await Promise.all([
    ledgerStore.eventsOf(read.tx, load.id),
    kilnSettings(read),
    kilnCooling(read, load.kiln.id),
  ]);
  const isThere = load.kiln.mayFire || may(read.actor.role, 'firings.record');
  const told = (name: string): string | null => (isThere ? name : null);
  const struck = struckIn(events);
  const valid = standing(events);
  const last = (kind: string) => valid.findLast((event) => event.kind === kind);
  const checkedEvent = checkedSince(events);
  const checked = (checkedEvent?.payload as Checked | undefined) ?? null;
  const started = last('started');
  const lines = events
    .filter(({ kind }) => kind === 'gas-reading')
    .map(
      (event): WrittenLine => ({
        ...(event.payload as GasLine),
        number: event.number,
        at: event.happenedAt,
        by: isThere ? initials(event.byName) : null,
        note: told(event.note ?? '') || null,
        isStruck: struck.has(event.number),
      }),
    )
    .sort((a, b) => a.at - b.at || a.number - b.number);
  const standingLines = lines.filter(({ isStruck }) => !isStruck);
  const opened = valid.flatMap((event) =>
    event.kind === 'opened'
      ? [{ ...(event.payload as Opened), at: event.happenedAt, by: told(event.byName), event: event.number }]
      : [],
  );
  const newest = coolingRead(load);
  const takes = load.schedule && estimate(load.kiln, load.schedule, settings, cooling);
  const reckoned = { takes, settings, cooling, now: read.now };
  const undone = opened.length > 0 && load.state === 'cooling' ? 'opened' : UNDONE[load.state];
  const undoable = undone && last(undone);
  return {
    load,
    isThere,
    settings,
    shelves: shelvesOf(load.plan),
    checked:
      checked && checkedEvent
        ? { ...checked, at: checkedEvent.happenedAt, by: told(checkedEvent.byName) }
        : null,
    open: openChecks(load.kiln.power, checked),
    watch: isThere
      ? (checked?.watch ?? []).map(({ person, from, to }) => ({
          name: load.kiln.firers.find(({ id }) => id === person)?.name ?? 'no longer named',
          from,
          to,
        }))
      : [],
    found:
      isThere && load.state === 'loaded' ? await openNow(read, await rowOf(read, number), load.kiln) : [],
    startedWithout: started
      ? { ...startedOf(started.payload as Started), why: told(started.note ?? '') || null }
      : null,
    readings: events
      .flatMap((event): WrittenReading[] => {
        const c = celsiusOf(event);
        return c === null || event.kind === 'void'
          ? []
          : [
              {
                number: event.number,
                kind: event.kind,
                at: event.happenedAt,
                c,
                by: told(event.byName),
                note: told(event.note ?? '') || null,
                isStruck: struck.has(event.number),
              },
            ];
      })
      .sort((a, b) => b.at - a.at || b.number - a.number),
    lines,
    reductions: reductionsOf(standingLines),
    nextLineAt:
      load.kiln.power === 'gas' && load.state === 'firing' && load.startedAt !== null
        ? (standingLines.at(-1)?.at ?? load.startedAt) + HAND_LOG_EVERY
        : null,
    undo: isThere && undone && undoable ? { event: undoable.number, kind: undone } : null,
    opened,
    cones: conesOf(events),
    cooling,
    forecasts:
      load.state === 'cooling'
        ? { open: downAbout(load, 'open', reckoned), hands: downAbout(load, 'hands', reckoned) }
        : null,
    allows: newest ? mayOpen(newest.c, settings) : null,
  };
}

const startedOf = ({ open, found = [], against }: Started) => ({ open, found, against });

/** 'Wren Alder' → 'WA': a paper log has as much room. */
const initials = (name: string): string =>
  name
    .split(/\s+/)
    .map((word) => [...word][0]?.toUpperCase() ?? '')
    .join('')
    .slice(0, 3);

/** A piece that stands in the kiln, for whoever empties it. */
export interface StoodIn extends Shelf {
  number: number;
  form: string;
  owner: string | null;
  photo: string | null;
}

/** What stands in the kiln, level by level from the top. */
export async function piecesIn(read: Read, number: number): Promise<StoodIn[]> {
  mustBeAllowed(read.actor, 'firings.record');
  const rows = await piecesHere(read, await rowOf(read, number));
  const pieces = await findPieces(
    read,
    rows.map((row) => row.number),
  );
  return pieces
    .flatMap(({ number: piece, form, owner, photo }) => {
      const row = rows.find((one) => one.number === piece);
      if (!row) return [];
      return [
        {
          number: piece,
          form: formWord(form),
          owner: owner?.name ?? null,
          photo,
          part: row.part,
          level: row.level,
        },
      ];
    })
    .sort((a, b) => b.level - a.level || (a.part < b.part ? -1 : a.part > b.part ? 1 : a.number - b.number));
}

/** A firing judged: its curve, what follows from it, and the cones, which decide. */
export interface FiringFindings {
  load: LoadNow;
  shelves: Shelf[];
  /** Instant of second 0 of the curves. */
  startsAt: Instant | null;
  /** Of the log if there is one, else what was read by hand, at the top and at the bottom of a kiln with burners. */
  curves: { label: string; isByHand: boolean; points: { atS: number; c: number }[] }[];
  log: FiringLog | null;
  /** Null without two readings at different times. */
  findings: Findings | null;
  /** The chart that `findings` were taken from. */
  chartWords: string | null;
  cones: ConesRead['levels'];
  judgement: Judgement;
  trend: Drifting[];
  cooling: Cooling;
  /** That the log tells against what was noted of the firing. */
  doubt: string | null;
}

/** Curve, findings and cones of a firing that was started. @throws NotFound */
export async function judgeFiring(read: Read, number: number): Promise<FiringFindings> {
  mustBeAllowed(read.actor, 'loads.see');
  const load = await findLoad(read, number);
  const [events, log, { lidShutAboveC }, drift, cooling] = await Promise.all([
    ledgerStore.eventsOf(read.tx, load.id),
    findLog(read, number),
    kilnSettings(read),
    kilnTrend(read, load.kiln.id),
    kilnCooling(read, load.kiln.id),
  ]);
  const readings = readingsOf(events);
  const startsAt = log?.startsAt ?? load.startedAt ?? readings[0]?.at ?? null;
  const findings = log
    ? log.findings
    : startsAt === null
      ? null
      : foundByHand(load, readings, startsAt, lidShutAboveC);
  const cones = conesOf(events);
  // Until it is off nobody knows how hot it gets.
  const isOver = load.state !== 'firing';
  return {
    load,
    shelves: shelvesOf(load.plan),
    startsAt,
    curves: startsAt === null ? [] : curvesOf(events, log, startsAt),
    log,
    findings,
    chartWords: findings && `${findings.edition}, ${findings.coneType} cones`,
    cones,
    judgement: judge(
      levelCones(cones),
      isOver ? (findings?.facts.equivalent?.order ?? null) : null,
      load.firing.cone,
    ),
    trend: drift,
    cooling,
    doubt: log && topAfterOff(log.startsAt, log.findings.facts, load.shutOffAt),
  };
}

function foundByHand(
  load: LoadNow,
  readings: readonly Reading[],
  startsAt: Instant,
  lidShutAboveC: number,
): Findings | null {
  const found = findingsOf(handPoints(readings, startsAt), {
    startsAt,
    startedAt: load.startedAt,
    segments: load.schedule?.segments ?? null,
    chart: USUAL_CHART,
    lidShutAboveC,
  });
  return found && { ...found, gaps: [], gapCount: 0, problemCount: 0 };
}

function curvesOf(
  events: readonly RecordEvent[],
  log: FiringLog | null,
  startsAt: Instant,
): FiringFindings['curves'] {
  const readings = readingsOf(events);
  if (log) {
    // Typed readings stand beside the log and go on where it ended; those from long before it have no place on its axis.
    const byHand = readings.filter(({ at }) => at >= startsAt - HOUR);
    return [
      { label: 'Log', isByHand: false, points: log.points },
      ...(byHand.length > 0
        ? [{ label: 'Typed by hand', isByHand: true, points: handPoints(byHand, startsAt) }]
        : []),
    ];
  }
  const bottom = standing(events).flatMap(({ kind, payload, happenedAt }) => {
    const { bottomC } = Object(payload) as Partial<GasLine>;
    return kind === 'gas-reading' && bottomC !== undefined ? [{ at: happenedAt, c: bottomC }] : [];
  });
  if (bottom.length === 0)
    return readings.length > 0
      ? [{ label: 'Typed by hand', isByHand: true, points: handPoints(readings, startsAt) }]
      : [];
  const top = standing(events).flatMap(({ kind, payload, happenedAt }) => {
    const c = kind === 'gas-reading' ? (payload as GasLine).topC : celsiusOf({ kind, payload });
    return c === null ? [] : [{ at: happenedAt, c }];
  });
  const inOrder = (some: Reading[]) =>
    handPoints(
      some.sort((a, b) => a.at - b.at),
      startsAt,
    );
  return [
    { label: 'Top', isByHand: true, points: inOrder(top) },
    { label: 'Bottom', isByHand: true, points: inOrder(bottom) },
  ];
}
