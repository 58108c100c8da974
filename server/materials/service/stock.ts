import { z } from 'zod';
import type { Act } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { FUTURE, type Instant, MINUTE } from '../../core/clock.ts';
import { Conflict, Doubtful, Invalid, NotFound } from '../../core/errors.ts';
import { day, flag, instant, quantity, text } from '../../core/forms.ts';
import { tell } from '../../core/messages.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioDay } from '../../core/session.ts';
import { foldLot, type LotState, type StockEvent, type StockKind, stockWords, toMg } from '../stock.ts';
import * as store from '../store/stock.ts';
import { type LotNow, listed, lotHref, lotNow, NO_MATERIAL, placesOf, whereItWent } from './stock-read.ts';

/** kg; a tenth of a gram is the least that anybody weighs. */
const LEAST_KG = 0.0001;
const MOST_KG = 100_000;
const MOST_LOT_LETTERS = 40;

/** As the supplier prints it; upper and lower case are the same. */
const lot = () => text(MOST_LOT_LETTERS);
const amount = () => quantity(LEAST_KG, MOST_KG, 'kg');
const confirm = () =>
  flag().default(false).meta({
    description: 'It is right, although the ledger says that less is left or that the lot is recalled',
  });
const common = { happenedAt: instant().optional(), note: text(500).optional() };

export const deliveryBody = z.strictObject({
  lot: lot(),
  kg: amount(),
  supplier: text(120).optional(),
  /** The last good day. */
  expiresOn: day().optional(),
  ...common,
});
export const useBody = z.strictObject({ lot: lot(), kg: amount(), confirm: confirm(), ...common });
export const countBody = z.strictObject({ lot: lot(), kg: quantity(0, MOST_KG, 'kg'), ...common });
export const disposalBody = z.strictObject({ lot: lot(), kg: amount(), confirm: confirm(), ...common });
export const recallBody = z.strictObject({ lot: lot(), note: text(500) });
export const reorderBody = z.strictObject({ kg: quantity(0, MOST_KG, 'kg').optional() });
export const stockVoidBody = z.strictObject({ reason: text(500), confirm: confirm() });

/** No statement waits longer: see `statement_timeout`. */
const LONGEST_WAIT = MINUTE / 4;

/** What was written, and the lot as it is then. */
export interface StockRecorded {
  number: number;
  lot: LotNow;
}

/** A delivery: a new lot, or more of one that is known. */
export async function deliver(
  act: Act,
  id: number,
  command: z.output<typeof deliveryBody>,
): Promise<StockRecorded> {
  const material = await lockStock(act, id);
  if (material.retiredAt !== null) throw new Conflict(`${material.name} is not used any more.`);
  const { kg, happenedAt, note } = command;
  const target = await lotFor(act, material, command);
  return append(act, material, target, { kind: 'delivery', mg: toMg(kg), happenedAt, note });
}

async function lotFor(
  act: Act,
  { id }: store.StockedMaterial,
  { lot: name, supplier, expiresOn }: z.output<typeof deliveryBody>,
): Promise<store.LotRow> {
  const known = await store.findLotNamed(act.tx, id, name);
  if (!known)
    return store.insertLot(act.tx, {
      materialId: id,
      lot: name,
      supplier: supplier ?? '',
      expiresOn: expiresOn ?? null,
      onHandMg: 0,
      recalledAt: null,
      madeAt: act.now,
    });
  if (supplier !== undefined && known.supplier !== '' && supplier !== known.supplier)
    throw new Conflict(
      `Lot ${known.lot} came from ${known.supplier}. Put the supplier into this lot's name to tell the two apart.`,
      'supplier',
    );
  if (expiresOn !== undefined && known.expiresOn !== null && expiresOn !== known.expiresOn)
    throw new Conflict(`Lot ${known.lot} is down as good until ${known.expiresOn}.`, 'expiresOn');
  const learnt = {
    supplier: known.supplier || (supplier ?? ''),
    expiresOn: known.expiresOn ?? expiresOn ?? null,
  };
  if (learnt.supplier === known.supplier && learnt.expiresOn === known.expiresOn) return known;
  await store.updateLot(act.tx, known, learnt);
  await record(act, 'material.lot', `material:${id}`, { lot: known.number, ...learnt });
  return { ...known, ...learnt };
}

/** Something taken out by hand, in no batch. */
export const takeStock = (act: Act, id: number, command: z.output<typeof useBody>): Promise<StockRecorded> =>
  appendAmount(act, id, 'use', command);

/** What was found: from then on that is what is there, and what was doubtful before is settled. */
export const countStock = (
  act: Act,
  id: number,
  command: z.output<typeof countBody>,
): Promise<StockRecorded> => appendAmount(act, id, 'count', command);

export const disposeStock = (
  act: Act,
  id: number,
  command: z.output<typeof disposalBody>,
): Promise<StockRecorded> => appendAmount(act, id, 'disposal', command);

async function appendAmount(
  act: Act,
  id: number,
  kind: StockKind,
  { lot: name, kg, ...rest }: z.output<typeof countBody> & { confirm?: boolean },
): Promise<StockRecorded> {
  const material = await lockStock(act, id);
  return append(act, material, await namedLot(act, id, name), { kind, mg: toMg(kg), ...rest });
}

/** Nobody weighs from it any more; technicians and managers are told which buckets and batches it is in. */
export async function recallLot(
  act: Act,
  id: number,
  { lot: name, note }: z.output<typeof recallBody>,
): Promise<StockRecorded> {
  const material = await lockStock(act, id);
  const target = await namedLot(act, id, name);
  if (target.recalledAt !== null) throw new Conflict(`Lot ${target.lot} is recalled already.`, 'lot');
  const recorded = await append(act, material, target, { kind: 'recall', mg: null, note });
  const places = placesOf(await whereItWent(act, { materialId: id, lot: target.lot }));
  await tell(act, {
    personIds: await store.staffIds(act.tx),
    kind: 'stock.recall',
    words: `Lot ${target.lot} of ${material.name} is recalled. ${
      places.length > 0 ? `It is in ${listed(places)}.` : 'No batch in a bucket was weighed from it.'
    } Do not weigh from it.`,
    href: lotHref(id, target.number),
  });
  return recorded;
}

/** It may be used again. */
export async function liftRecall(
  act: Act,
  id: number,
  { lot: name, note }: z.output<typeof recallBody>,
): Promise<StockRecorded> {
  const material = await lockStock(act, id);
  const target = await namedLot(act, id, name);
  if (target.recalledAt === null) throw new Conflict(`Lot ${target.lot} is not recalled.`, 'lot');
  return append(act, material, target, { kind: 'recall-lifted', mg: null, note });
}

/** Below how many kilograms a material is listed to be bought; without any it is not watched. */
export async function setReorderLevel(
  act: Act,
  id: number,
  { kg }: z.output<typeof reorderBody>,
): Promise<void> {
  await lockStock(act, id);
  await store.updateMaterial(act.tx, id, { reorderKg: kg ?? null });
  await record(act, 'material.reorder', `material:${id}`, { kg: kg ?? null });
}

/** Strikes a wrong row out, with the reason; the lot is reckoned anew without it. */
export async function voidStock(
  act: Act,
  id: number,
  number: number,
  { reason, confirm: isSure }: z.output<typeof stockVoidBody>,
): Promise<StockRecorded> {
  const material = await lockStock(act, id);
  const row = await store.findEvent(act.tx, id, number);
  if (!row) throw new NotFound('There is no row with this number.');
  if (row.kind === 'void') throw new Conflict('This only strikes out another row.');
  if (row.voidedBy !== null) throw new Conflict('This is struck out already.');
  return append(act, material, await namedLot(act, id, row.lotName), {
    kind: 'void',
    mg: null,
    voids: number,
    note: reason,
    confirm: isSure,
    path: 'reason',
  });
}

/** What is weighed for a batch, and in whose lot. */
interface BatchUse {
  materialId: number;
  /** As it was typed: of a lot that is not known nothing is written. */
  lot: string;
  grams: number;
  batch: number;
}

/** Writes off what was weighed for a batch. */
export async function useForBatch(act: Act, use: BatchUse & { confirm?: boolean }): Promise<void> {
  const known = await lockKnownLot(act, use);
  if (!known) return;
  await append(act, known.material, known.target, {
    kind: 'use',
    mg: toMg(use.grams / 1000),
    batch: use.batch,
    confirm: use.confirm ?? false,
    path: 'lot',
  });
}

/** The tick was taken back: what it wrote off is there again. */
export async function undoForBatch(act: Act, use: BatchUse): Promise<void> {
  const known = await lockKnownLot(act, use);
  if (!known) return;
  const { materialId, batch } = use;
  const mg = toMg(use.grams / 1000);
  const number = await store.findUseFor(act.tx, { materialId, lot: known.target.number, batch, mg });
  if (number === null) return;
  const strike = { kind: 'void', mg: null, batch, voids: number, confirm: true } as const;
  await append(act, known.material, known.target, strike);
}

/** The lot that was typed, its material locked first: it may be delivered at this very moment. */
async function lockKnownLot(act: Act, use: BatchUse) {
  if (use.lot === '') return null;
  const material = await lockStock(act, use.materialId);
  const target = await store.findLotNamed(act.tx, use.materialId, use.lot);
  return target && { material, target };
}

async function lockStock(act: Act, id: number): Promise<store.StockedMaterial> {
  mustBeAllowed(act.actor, 'stock.edit');
  const material = await store.lockMaterial(act.tx, id);
  if (!material) throw new NotFound(NO_MATERIAL);
  return material;
}

async function namedLot({ tx }: Act, id: number, name: string): Promise<store.LotRow> {
  const found = await store.findLotNamed(tx, id, name);
  if (!found) throw new Invalid([{ path: 'lot', message: 'No lot of this name was delivered.' }]);
  return found;
}

interface NewRow {
  kind: StockKind;
  mg: number | null;
  happenedAt?: Instant | undefined;
  note?: string | undefined;
  batch?: number;
  voids?: number;
  /** Taken although the ledger says that less is there. */
  confirm?: boolean;
  /** The field beside which a doubt is said. */
  path?: string;
}

/** Appends one row to a locked material's ledger, and stores what follows for its lot. */
async function append(
  act: Act,
  material: store.StockedMaterial,
  target: store.LotRow,
  row: NewRow,
): Promise<StockRecorded> {
  const { tx, actor, now } = act;
  const events = await store.eventsOf(tx, material.id, target.number);
  const event: StockEvent = {
    number: material.lastStockNumber + 1,
    lot: target.number,
    kind: row.kind,
    mg: row.mg,
    happenedAt: timeOf(act, row.happenedAt, events),
    voids: row.voids ?? null,
  };
  const before = foldLot(events);
  const after = foldLot([...events, event]);
  if (!row.confirm) {
    if (event.kind === 'use' && target.recalledAt !== null)
      throw new Doubtful(
        'lot',
        `Lot ${target.lot} is recalled: nobody is to use it. Is it recorded all the same?`,
      );
    mustAddUp(act, target, event, before, after, events, row.path ?? 'kg');
  }
  const { lot: lotNumber, ...stored } = event;
  await store.insertEvent(tx, {
    ...stored,
    materialId: material.id,
    lotNumber,
    recordedAt: now,
    by: actor.id,
    tokenId: actor.tokenId,
    batch: row.batch ?? null,
    noteId: row.note === undefined ? null : await store.insertNote(tx, row.note),
    v: 1,
  });
  const state = { onHandMg: after.mg, recalledAt: after.recalledAt };
  await store.updateMaterial(tx, material.id, { lastStockNumber: event.number });
  await store.updateLot(tx, target, state);
  return { number: event.number, lot: lotNow({ ...target, ...state }, await studioDay(act)) };
}

/** What happens now is not put before what those wrote down who had the lock first. */
function timeOf({ now }: Act, given: Instant | undefined, events: StockEvent[]): Instant {
  if (given !== undefined && given > now + FUTURE)
    throw new Invalid([{ path: 'happenedAt', message: 'This lies in the future.' }]);
  if (given !== undefined) return Math.min(given, now);
  const waited = Math.max(now, ...events.map(({ happenedAt }) => happenedAt)) - now;
  return waited <= LONGEST_WAIT ? now + waited : now;
}

/** @throws Doubtful where the lot would have to give more than it had */
function mustAddUp(
  { actor }: Act,
  { lot: name }: store.LotRow,
  event: StockEvent,
  before: LotState,
  after: LotState,
  events: StockEvent[],
  path: string,
): void {
  const unheard = after.doubts.filter((number) => !before.doubts.includes(number));
  if (unheard.length === 0) return;
  if (!unheard.includes(event.number))
    throw new Doubtful(
      path,
      `Then more was taken from lot ${name} later than was there. Is it recorded all the same?`,
    );
  const then = foldLot(
    events.filter(({ happenedAt, voids }) => voids !== null || happenedAt <= event.happenedAt),
  );
  const left = then.mg === 0 ? 'nothing is' : `${stockWords(then.mg, actor.units)} are`;
  throw new Doubtful(
    path,
    `The ledger says ${left} left of lot ${name}. Is it recorded all the same? Count it then.`,
  );
}
