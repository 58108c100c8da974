import { z } from 'zod';
import { cone } from '../../buckets/service/index.ts';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { unlessTaken } from '../../core/database.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { quantity, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import type { AbsorptionBand } from '../absorption.ts';
import { bandWords } from '../bisque.ts';
import { compareCones } from '../cone.ts';
import * as store from '../store/clays.ts';

/** A clay body that people here use. */
export interface Clay {
  id: number;
  name: string;
  /** The hottest cone it stands. */
  maxCone: string;
  bisqueCone: string;
  /** The programme it is bisqued by, as people here call it; '' where nobody said. */
  bisqueProgramme: string;
  /** What its bisque should absorb when boiled, percent of its dry mass; null: nobody said. */
  band: AbsorptionBand | null;
  /** Of its wet length: when bone dry, and when fired to its own cone. */
  dryShrinkPercent: number;
  firedShrinkPercent: number;
  note: string;
  isRetired: boolean;
}

/** A cone as it is written everywhere: '004' is 04, so that two writings are not two firings. */
export const writtenCone = () => cone().transform((typed) => typed.replace(/^00/, '0'));

export const clayForm = z.strictObject({
  name: text(60),
  maxCone: writtenCone(),
  bisqueCone: writtenCone(),
  bisqueProgramme: text(60).optional(),
  /** Both or neither. */
  absorptionLow: quantity(0, 40).optional(),
  absorptionHigh: quantity(0, 40).optional(),
  dryShrinkPercent: quantity(0, 20),
  firedShrinkPercent: quantity(0, 30),
  note: text(500).optional(),
});

const clayOf = (row: store.ClayRow): Clay => {
  const { retiredAt, absorptionLow, absorptionHigh, ...clay } = row;
  return { ...clay, band: bandOf(row), isRetired: retiredAt !== null };
};

const bandOf = ({
  absorptionLow: low,
  absorptionHigh: high,
}: Pick<store.ClayRow, 'absorptionLow' | 'absorptionHigh'>): AbsorptionBand | null =>
  low === null || high === null ? null : { low, high };

/** Clays in use by name; with the retired ones where asked for, since pieces still name them. */
export async function listClays(
  read: Read,
  { withRetired = false }: { withRetired?: boolean } = {},
): Promise<Clay[]> {
  mustBeAllowed(read.actor, 'ware.own');
  return (await store.listClays(read.tx, withRetired)).map(clayOf);
}

/** One clay, retired or not. Throws NotFound. */
export async function findClay(read: Read, id: number): Promise<Clay> {
  mustBeAllowed(read.actor, 'ware.own');
  const row = await store.findClay(read.tx, id);
  if (!row) throw new NotFound('There is no such clay.');
  return clayOf(row);
}

/** A new clay; answers its id. Throws Conflict where the name is taken, Invalid where figures contradict. */
export async function addClay(act: Act, command: z.output<typeof clayForm>): Promise<number> {
  mustBeAllowed(act.actor, 'ware.edit');
  const id = await freeName(store.insertClay(act.tx, columns(command)));
  await record(act, 'clay.add', `clay:${id}`, { maxCone: command.maxCone, bisqueCone: command.bisqueCone });
  return id;
}

/** Changes what is known of a clay: pieces of it are judged by the new figures from now on. */
export async function changeClay(act: Act, id: number, command: z.output<typeof clayForm>): Promise<void> {
  mustBeAllowed(act.actor, 'ware.edit');
  const before = await mustLock(act, id);
  const after = columns(command);
  await freeName(store.updateClay(act.tx, id, after));
  await record(act, 'clay.change', `clay:${id}`, {
    maxCone: `${before.maxCone} → ${after.maxCone}`,
    bisqueCone: `${before.bisqueCone} → ${after.bisqueCone}`,
    absorption: `${bandText(before)} → ${bandText(after)}`,
    dryShrinkPercent: `${before.dryShrinkPercent} → ${after.dryShrinkPercent}`,
    firedShrinkPercent: `${before.firedShrinkPercent} → ${after.firedShrinkPercent}`,
  });
}

/** No longer offered; pieces made of it keep it. */
export async function retireClay(act: Act, id: number): Promise<void> {
  mustBeAllowed(act.actor, 'ware.edit');
  await mustLock(act, id);
  await store.retireClay(act.tx, id, act.now);
  await record(act, 'clay.retire', `clay:${id}`);
}

/** Offered again. */
export async function reviveClay(act: Act, id: number): Promise<void> {
  mustBeAllowed(act.actor, 'ware.edit');
  await mustLock(act, id);
  await store.updateClay(act.tx, id, { retiredAt: null });
  await record(act, 'clay.revive', `clay:${id}`);
}

function bandText(row: Parameters<typeof bandOf>[0]): string {
  const band = bandOf(row);
  return band ? bandWords(band) : 'not said';
}

async function mustLock({ tx }: Act, id: number): Promise<store.ClayRow> {
  const row = await store.lockClay(tx, id);
  if (!row) throw new NotFound('There is no such clay.');
  return row;
}

function columns(command: z.output<typeof clayForm>) {
  if (command.dryShrinkPercent > command.firedShrinkPercent)
    throw new Invalid([
      {
        path: 'firedShrinkPercent',
        message: 'Fired ware has shrunk more than dry ware: both are counted from the wet length.',
      },
    ]);
  if (compareCones(command.bisqueCone, command.maxCone) > 0)
    throw new Invalid([
      { path: 'bisqueCone', message: `Hotter than cone ${command.maxCone}, which is the most it stands.` },
    ]);
  const { absorptionLow: low, absorptionHigh: high } = command;
  if ((low === undefined) !== (high === undefined))
    throw new Invalid([
      {
        path: low === undefined ? 'absorptionLow' : 'absorptionHigh',
        message: 'Give both ends of the band, or neither.',
      },
    ]);
  if (low !== undefined && high !== undefined && low >= high)
    throw new Invalid([{ path: 'absorptionHigh', message: `It must lie above the low end, ${low} %.` }]);
  return {
    ...command,
    bisqueProgramme: command.bisqueProgramme ?? '',
    absorptionLow: low ?? null,
    absorptionHigh: high ?? null,
    note: command.note ?? '',
  };
}

const freeName = <T>(work: Promise<T>): Promise<T> =>
  unlessTaken(work, new Conflict('Another clay has this name, perhaps a retired one.', 'name'));
