import type { Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { NotFound } from '../../core/errors.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioDay } from '../../core/session.ts';
import { shownDay } from '../../core/wall-time.ts';
import { fewOrOne, type SafetyDue } from '../due.ts';
import { foldLot, foldStock, isExpired, isLow, stockWords, toMg, usableMg } from '../stock.ts';
import * as store from '../store/stock.ts';

export type { LedgerRow as StockRow } from '../store/stock.ts';

/** A lot as it stands, for whoever weighs from it. */
export interface LotNow {
  materialId: number;
  number: number;
  lot: string;
  supplier: string;
  expiresOn: string | null;
  isExpired: boolean;
  recalledAt: Instant | null;
  onHandMg: number;
}

export interface StockNow {
  id: number;
  name: string;
  reorderKg: number | null;
  isRetired: boolean;
  isLow: boolean;
  /** On hand of lots that may be weighed: neither recalled nor expired. */
  usableMg: number;
  /** Newest first. */
  lots: LotNow[];
}

export interface StockPage extends StockNow {
  /** Of the material or of one lot, the row written last first. */
  rows: store.LedgerRow[];
  /** Where to go on; null at the end. */
  next: number | null;
  /** The rows of each lot that took more than was there, since it was last counted: by the lot's number. */
  doubts: Map<number, number[]>;
}

/** A batch into which something of a lot was weighed, and the buckets it went into. */
export interface LotBatch {
  number: number;
  recipe: string;
  grams: number;
  weighedAt: Instant;
  isAbandoned: boolean;
  buckets: LotBucket[];
}

export interface LotBucket {
  code: string;
  name: string;
  colour: string;
  /** The event of that bucket's ledger by which it went in. */
  number: number;
  happenedAt: Instant;
  /** That event was struck out. */
  isVoided: boolean;
  /** Neither set up anew since nor retired. */
  isStillIn: boolean;
}

type WhereLotWent = (read: Pick<Read, 'tx'>, lot: { materialId: number; lot: string }) => Promise<LotBatch[]>;

let answer: WhereLotWent = async () => [];

/** The batches that a lot was weighed into, and the buckets those went into. */
export const whereItWent: WhereLotWent = (read, lot) => answer(read, lot);

/** The buckets stand to the right of this feature; the app tells here how they answer. */
export const fillLotTrace = (filled: WhereLotWent): void => {
  answer = filled;
};

export const NO_MATERIAL = 'There is no such material.';

export function lotNow({ madeAt: _, ...row }: store.LotRow, today: string): LotNow {
  return { ...row, isExpired: isExpired(row, today) };
}

function byMaterial<T extends { materialId: number }>(lots: T[]): Map<number, T[]> {
  const grouped = new Map<number, T[]>();
  for (const lot of lots) grouped.set(lot.materialId, [...(grouped.get(lot.materialId) ?? []), lot]);
  return grouped;
}

const stockNow = (material: store.StockedMaterial, lots: LotNow[], today: string): StockNow => ({
  id: material.id,
  name: material.name,
  reorderKg: material.reorderKg,
  isRetired: material.retiredAt !== null,
  isLow: isLow(material.reorderKg, lots, today),
  usableMg: usableMg(lots, today),
  lots,
});

/** Every material with its lots, by name. */
export async function listStock(read: Read): Promise<StockNow[]> {
  mustBeAllowed(read.actor, 'materials.see');
  return allStock(read);
}

async function allStock(read: Pick<Read, 'tx' | 'now'>): Promise<StockNow[]> {
  const [materials, rows, today] = await Promise.all([
    store.listMaterials(read.tx),
    store.listLots(read.tx),
    studioDay(read),
  ]);
  const lots = byMaterial(rows);
  return materials.map((material) =>
    stockNow(
      material,
      (lots.get(material.id) ?? []).map((row) => lotNow(row, today)),
      today,
    ),
  );
}

/** The lots of each of these materials that a person may have in hand, the newest first. */
export async function lotsOf(read: Read, materialIds: number[]): Promise<Map<number, LotNow[]>> {
  if (materialIds.length === 0) return new Map();
  const [rows, today] = await Promise.all([
    store.listLots(read.tx, [...new Set(materialIds)]),
    studioDay(read),
  ]);
  return byMaterial(rows.map((row) => lotNow(row, today)));
}

/** What is on hand of one material, and its ledger from the row before `before` on. */
export async function showStock(
  read: Read,
  id: number,
  page: { limit: number; before: number | null; lot?: number },
): Promise<StockPage> {
  mustBeAllowed(read.actor, 'materials.see');
  const { tx } = read;
  const [material, lots, rows, events, today] = await Promise.all([
    store.findMaterial(tx, id),
    store.listLots(tx, [id]),
    store.listEvents(tx, id, { ...page, limit: page.limit + 1, before: page.before ?? 2 ** 31 - 1 }),
    store.eventsOf(tx, id, page.lot),
    studioDay(read),
  ]);
  if (!material) throw new NotFound(NO_MATERIAL);
  const shown = rows.slice(0, page.limit);
  return {
    ...stockNow(
      material,
      lots.map((row) => lotNow(row, today)),
      today,
    ),
    rows: shown,
    next: rows.length > page.limit ? (shown.at(-1)?.number ?? null) : null,
    doubts: new Map([...foldStock(events)].map(([number, { doubts }]) => [number, doubts])),
  };
}

interface LotPage {
  stock: StockPage;
  lot: LotNow;
  batches: LotBatch[];
}

/** One lot: what came and went of it, the batches it was weighed into, and the buckets those went into. */
export async function lotTrace(
  read: Read,
  id: number,
  number: number,
  page: { limit: number; before: number | null } = { limit: 50, before: null },
): Promise<LotPage> {
  const stock = await showStock(read, id, { ...page, lot: number });
  const found = stock.lots.find((one) => one.number === number);
  if (!found) throw new NotFound('There is no such lot.');
  return { stock, lot: found, batches: await whereItWent(read, { materialId: id, lot: found.lot }) };
}

export async function findStockRow(read: Read, id: number, number: number): Promise<store.LedgerRow> {
  mustBeAllowed(read.actor, 'materials.see');
  const row = await store.findEvent(read.tx, id, number);
  if (!row) throw new NotFound('There is no row with this number.');
  return row;
}

export const lotHref = (id: number, number: number): string => `/materials/${id}/lots/${number}`;

/** What something of a lot is still in, each once: buckets, and batches that may yet be poured into one. */
export function placesOf(batches: LotBatch[]): string[] {
  const buckets = batches.flatMap((batch) =>
    batch.buckets.filter(({ isStillIn }) => isStillIn).map(({ name }) => name),
  );
  const waiting = batches
    .filter((batch) => !batch.isAbandoned && batch.buckets.every(({ isVoided }) => isVoided))
    .map(({ number }) => `batch ${number}`);
  return [...new Set([...buckets, ...waiting])];
}

export const listed = (names: string[]): string =>
  names.length < 2 ? names.join('') : `${names.slice(0, -1).join(', ')} and ${names.at(-1)}`;

/** Recalled lots that are in a bucket, a batch or on the shelf, then expired ones, then what is to be bought. */
export async function stockDue(read: Read): Promise<SafetyDue[]> {
  const all = await allStock(read);
  const lots = all.flatMap((material) => material.lots.map((one) => ({ material, lot: one })));
  const recalled = await Promise.all(
    lots
      .filter(({ lot: { recalledAt } }) => recalledAt !== null)
      .map(async (one) => ({ ...one, places: placesOf(await whereItWent(read, one.lot)) })),
  );
  const kept = (mg: number) => stockWords(mg, read.actor.units);
  return [
    ...recalled
      .filter(({ places }) => places.length > 0)
      .map(({ material, lot: { lot: name, number }, places }) => ({
        title: material.name,
        what: `Lot ${name} is recalled, and it is in ${listed(places)}.`,
        act: { label: 'See where it went', href: lotHref(material.id, number) },
      })),
    ...recalled
      .filter(({ lot: { onHandMg }, places }) => places.length === 0 && onHandMg > 0)
      .map(({ material, lot: { lot: name, number, onHandMg } }) => ({
        title: material.name,
        what: `Lot ${name} is recalled, and ${kept(onHandMg)} of it are still here.`,
        act: { label: 'Set it aside, say where it went', href: lotHref(material.id, number) },
      })),
    ...fewOrOne(
      lots
        .filter(({ lot: one }) => one.isExpired && one.recalledAt === null && one.onHandMg > 0)
        .map(({ material, lot: { lot: name, number, onHandMg, expiresOn } }) => ({
          title: material.name,
          what: `Lot ${name} was good until ${shownDay(expiresOn)}; ${kept(onHandMg)} of it are still here.`,
          act: { label: 'Use it no more, or throw it away', href: lotHref(material.id, number) },
        })),
      { title: 'lots past their day', label: 'See them', href: '/stock' },
    ),
    ...fewOrOne(
      all
        .filter((material) => material.isLow && !material.isRetired)
        .map(({ id, name, usableMg: left, reorderKg }) => ({
          title: name,
          what: `${left === 0 ? 'None' : `Only ${kept(left)}`} left to use; it is bought below ${kept(toMg(reorderKg ?? 0))}.`,
          act: { label: 'Buy some, then record the delivery', href: `/materials/${id}/stock` },
        })),
      { title: 'materials to buy', label: 'See what is left', href: '/stock' },
    ),
  ];
}

/** Where stored stock and its ledger differ, in words; nothing where all is well. */
export async function examineStock({ tx }: Pick<Read, 'tx'>): Promise<string[]> {
  const [materials, rows] = await Promise.all([store.listMaterials(tx), store.listLots(tx)]);
  const lots = byMaterial(rows);
  const found: string[] = [];
  for (const { id, name, lastStockNumber } of materials) {
    const own = lots.get(id) ?? [];
    if (own.length === 0 && lastStockNumber === 0) continue;
    const events = await store.eventsOf(tx, id);
    const last = Math.max(0, ...events.map(({ number }) => number));
    if (last !== lastStockNumber)
      found.push(`${name}: its last row is ${last}, stored is ${lastStockNumber}.`);
    const folded = foldStock(events);
    for (const { number, lot: lotName, onHandMg, recalledAt } of own) {
      const state = folded.get(number) ?? foldLot([]);
      if (state.mg !== onHandMg || state.recalledAt !== recalledAt)
        found.push(
          `${name}, lot ${lotName}: stored ${onHandMg} mg${recalledAt === null ? '' : ', recalled'}; by its ledger ${state.mg} mg${state.recalledAt === null ? '' : ', recalled'}.`,
        );
    }
  }
  return found;
}
