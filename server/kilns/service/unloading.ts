import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { Conflict, Doubtful } from '../../core/errors.ts';
import type { Picture } from '../../core/files.ts';
import { choice, count, flag, instant, quantity, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { OUTCOMES, type Outcome } from '../../ware/outcome.ts';
import { piecesWords } from '../../ware/presets.ts';
import { comeOut, writtenCone } from '../../ware/service/index.ts';
import { upper } from '../../ware/words.ts';
import { mayOpen } from '../cooling.ts';
import { estimate } from '../estimate.ts';
import { type Shelf, shelvesOf } from '../load-fold.ts';
import * as faultStore from '../store/faults.ts';
import * as ledgerStore from '../store/load-ledger.ts';
import * as store from '../store/loads.ts';
import { doubtOf, READINGS } from '../witness.ts';
import { type EmptiedLoad, loadFees } from './fee-gate.ts';
import { measured, timeOf } from './firing.ts';
import { append, lockLoad, mustBe } from './load-ledger.ts';
import { findLoad } from './load-page.ts';
import {
  firingOf,
  keyOf,
  levelCount,
  MOST,
  partChoice,
  piecesHere,
  refused,
  rowOf,
  shelfName,
} from './loads.ts';
import { kilnSettings } from './settings.ts';

const outcomeFields = {
  piece: count(1, MOST),
  outcome: choice(OUTCOMES),
  note: text(500).optional(),
  /** Out of a bisque, but not to be glazed any more. */
  beyondUse: flag().optional(),
  /** It went wrong by the studio's doing: what its firing cost is given back. */
  studiosFault: flag().optional(),
};
export const outcomeForm = z.strictObject(outcomeFields);

const coneRow = z.strictObject({ cone: writtenCone(), reading: choice(READINGS) });
const conesLevel = z.strictObject({
  part: partChoice(),
  level: levelCount(),
  cones: z.array(coneRow).max(6, 'At most 6 a level.'),
});

export { coneRow };
export const conesForm = z.strictObject({
  levels: z.array(conesLevel).min(1, 'Read at least one cone.').max(120, 'At most 120 levels.'),
  /** They stand so although of two cones the harder bent as much as the softer, or more. */
  confirm: flag().optional(),
});

export const unloadForm = z.strictObject({
  /** °C that the pyrometer shows as the first shelf is lifted. */
  celsius: quantity(-30, 1500, '°C'),
  /** What did not come out well, or wants a word; everything else is good. */
  exceptions: z.array(outcomeForm).max(500, 'At most 500.').default([]),
  /** It was emptied although it is too hot by the settings. */
  confirm: flag().optional(),
  happenedAt: instant().optional(),
  note: text(500).optional(),
});
/** The fields of the form but for the pieces. */
export const unloadFields = unloadForm.omit({ exceptions: true });

/**
 * Empties a kiln: every piece of the load comes out, good but for the exceptions, and its owner is told.
 * @throws Conflict before it was opened, Doubtful above what hands go in at; confirmed, and with the reason in a note,
 * it is recorded as it was done
 */
export async function unloadKiln(
  act: Act,
  number: number,
  command: z.output<typeof unloadForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'firings.record');
  const load = await lockLoad(act, number);
  mustBe(load, ['cooling'], 'unloaded');
  const { celsius: c, exceptions, confirm, happenedAt, note } = command;
  if (load.openedAt === null)
    throw new Conflict('It has not been opened yet: type the reading it was opened at first.');
  const here = await piecesHere(act, load);
  const byNumber = new Map(exceptions.map((one) => [one.piece, one]));
  if (byNumber.size < exceptions.length) throw refused('exceptions', 'Name each piece once.');
  const strangers = [...byNumber.keys()].filter((piece) => !here.some((row) => row.number === piece));
  if (strangers.length > 0)
    throw refused('exceptions', `${upper(piecesWords(strangers))}: not in load ${number}.`);
  const ours = exceptions.findIndex(isNobodysFault);
  if (ours !== -1) throw refused(`exceptions.${ours}.studiosFault`, ONLY_FAULTS);
  const { step, words } = mayOpen(c, await kilnSettings(act));
  const isTooHot = step !== 'unload-with-gloves';
  if (isTooHot && !confirm) {
    const lead = step === 'shut' ? 'Shut it. Do not reach in.' : 'Do not reach in.';
    throw new Doubtful('celsius', `${lead} At ${c} °C: ${words} Was it emptied all the same? Say why.`);
  }
  if (isTooHot && note === undefined) throw refused('note', `Say why it was emptied at ${c} °C.`);
  const at = timeOf(act, happenedAt, load.openedAt, 'opened');
  const items = here.map((row) => {
    const { outcome = 'good', note: said, beyondUse } = byNumber.get(row.number) ?? {};
    return {
      number: row.number,
      level: row.level,
      outcome: outcome as Outcome,
      note: said,
      isBeyondUse: beyondUse,
    };
  });
  await comeOut(act, number, firingOf(load), items);
  await store.updatePieces(act.tx, load.id, { reserves: false });
  await append(
    act,
    load,
    {
      kind: 'unloaded',
      state: 'unloaded',
      payload: {
        celsius: c,
        allowed: step,
        pieces: items.length,
        faults: items.flatMap(({ number: piece, outcome }) =>
          outcome === 'good'
            ? []
            : [{ piece, outcome, studiosFault: byNumber.get(piece)?.studiosFault ?? false }],
        ),
      },
      happenedAt: at,
      note,
    },
    { unloadedAt: at, ...measured(load, c, at) },
  );
  const emptied = await emptiedLoad(act, number);
  if (emptied) await loadFees().emptied(act, emptied);
}

const ONLY_FAULTS = 'Only what did not come out well can be the doing of the studio.';
const isNobodysFault = ({
  outcome,
  studiosFault,
}: {
  outcome: Outcome;
  studiosFault?: boolean | undefined;
}) => outcome === 'good' && studiosFault === true;

/** A load as it was emptied, for whoever charges for it; null before it was. @throws NotFound */
export async function emptiedLoad(read: Read, number: number): Promise<EmptiedLoad | null> {
  mustBeAllowed(read.actor, 'loads.see');
  const row = await rowOf(read, number);
  if (row.unloadedAt === null) return null;
  const load = await findLoad(read, number);
  const [settings, here, ours] = await Promise.all([
    kilnSettings(read),
    piecesHere(read, row),
    studiosFaults(read, row.id),
  ]);
  const { kiln, schedule } = load;
  return {
    number,
    kilnId: kiln.id,
    firing: firingOf(row),
    firedAt: row.startedAt ?? row.shutOffAt ?? row.unloadedAt,
    emptiedAt: row.unloadedAt,
    power: kiln.power,
    kWh: schedule ? estimate(kiln, schedule, settings).kWh : null,
    pieces: here.map((piece) => ({ number: piece.number, isStudiosFault: ours.has(piece.number) })),
  };
}

/** Pieces that came out ruined by the studio's doing, by the newest word on each. */
async function studiosFaults({ tx }: Read, loadId: number): Promise<Set<number>> {
  const ours = new Set<number>();
  for (const { kind, payload } of await ledgerStore.eventsOf(tx, loadId)) {
    if (kind !== 'unloaded' && kind !== 'outcomes') continue;
    const { faults } = payload as { faults: { piece: number; studiosFault?: boolean }[] };
    for (const { piece, studiosFault } of faults)
      if (studiosFault) ours.add(piece);
      else ours.delete(piece);
  }
  return ours;
}

/**
 * How a piece of an emptied load came out, said anew; the newest word counts, also on whether it was the studio's doing,
 * and its owner is told.
 */
export async function correctOutcome(
  act: Act,
  number: number,
  { piece, outcome, note, beyondUse, studiosFault = false }: z.output<typeof outcomeForm>,
  picture: Picture | null = null,
): Promise<void> {
  mustBeAllowed(act.actor, 'firings.record');
  const load = await lockLoad(act, number);
  mustBe(load, ['unloaded'], 'judged');
  const row = (await piecesHere(act, load)).find((one) => one.number === piece);
  if (!row) throw refused('piece', `Piece ${piece} was not in load ${number}.`);
  if (isNobodysFault({ outcome, studiosFault })) throw refused('studiosFault', ONLY_FAULTS);
  await comeOut(act, number, firingOf(load), [
    { number: piece, level: row.level, outcome, note, picture, isBeyondUse: beyondUse },
  ]);
  await append(act, load, { kind: 'outcomes', payload: { faults: [{ piece, outcome, studiosFault }] } });
  await loadFees().judged(act, number, { number: piece, isStudiosFault: studiosFault });
}

/**
 * The witness cones, by the clock, of the levels that are named; read again they count as read last.
 * @throws Doubtful where of two cones of a level the harder bent as much as the softer, or more
 */
export async function readCones(
  act: Act,
  number: number,
  { levels, confirm }: z.output<typeof conesForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'firings.record');
  const load = await lockLoad(act, number);
  mustBe(load, ['cooling', 'unloaded'], 'judged by its cones');
  const shelves = shelvesOf(load.plan).map(keyOf);
  const keys = levels.map(keyOf);
  const at = keys.findIndex((key, i) => !shelves.includes(key) || keys.indexOf(key) < i);
  if (at !== -1)
    throw refused(
      `levels.${at}.level`,
      shelves.includes(keys[at] as string) ? 'Name each level once.' : 'This load has no such level.',
    );
  if (levels.every(({ cones }) => cones.length === 0)) throw refused('levels', 'Read at least one cone.');
  const doubts = levels.map(({ cones }) => doubtOf(cones));
  const odd = doubts.findIndex((doubt) => doubt !== null);
  if (odd !== -1 && !confirm)
    throw new Doubtful(
      `levels.${odd}.cones`,
      `${shelfName(levels[odd] as Shelf)}: ${doubts[odd]} Do they stand so?`,
    );
  await append(act, load, { kind: 'witness', payload: { levels } });
}

/** How a piece came out of a load, as it counts. */
export interface PieceOutcome extends Shelf {
  number: number;
  form: string;
  outcome: Outcome;
  /** Ruined by the studio's doing, as somebody said last. */
  isStudiosFault: boolean;
}

/** How the pieces of an emptied load came out, by number; empty before. */
export async function outcomesOf(read: Read, number: number): Promise<PieceOutcome[]> {
  mustBeAllowed(read.actor, 'firings.record');
  const { id } = await rowOf(read, number);
  const [found, rows, ours] = await Promise.all([
    faultStore.outcomesOfLoad(read.tx, number),
    store.piecesOf(read.tx, id),
    studiosFaults(read, id),
  ]);
  return found.flatMap(({ number: piece, form, outcome }) => {
    const row = rows.find((one) => one.number === piece);
    return row
      ? [
          {
            number: piece,
            form,
            outcome: outcome as Outcome,
            isStudiosFault: ours.has(piece),
            part: row.part,
            level: row.level,
          },
        ]
      : [];
  });
}
