import type { Read } from '../../core/actor.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { theStudio } from '../../core/session.ts';
import { toWallTime } from '../../core/wall-time.ts';
import type { EmptiedLoad } from '../../kilns/service/fee-gate.ts';
import { emptiedLoad } from '../../kilns/service/index.ts';
import { fromStored } from '../events.ts';
import { isRush } from '../piece-price.ts';
import { type Preview, type PreviewLoad, type PreviewPiece, preview } from '../preview.ts';
import * as store from '../store/preview.ts';
import { findPayers } from './ledger.ts';
import { feeSettings } from './settings.ts';
import { findTariff } from './tariffs.ts';

/** Months whose firings can be priced anew, the newest first. */
export async function monthsToPreview(read: Read): Promise<string[]> {
  mustBeAllowed(read.actor, 'tariffs.edit');
  return store.monthsWithFirings(read.tx);
}

/**
 * The firings of a month priced anew by a price list, beside what they were charged. Litres that were included cover
 * as much as they did. Nothing is charged by looking.
 * @param period 'YYYY-MM'
 * @throws NotFound for no such list
 */
export async function previewTariff(read: Read, number: number, period: string): Promise<Preview> {
  mustBeAllowed(read.actor, 'tariffs.edit');
  const [{ value }, { classes }, { timeZone, currency }, charged] = await Promise.all([
    findTariff(read, number),
    feeSettings(read),
    theStudio(read.tx),
    store.firingsOf(read.tx, period),
  ]);
  const usualClass = classes[0] ?? null;
  const byLoad = new Map<number, typeof charged>();
  for (const row of charged) {
    const rows = byLoad.get(row.load);
    if (rows) rows.push(row);
    else byLoad.set(row.load, [row]);
  }
  const firedLoads = await asTheyWere(read, [...byLoad.keys()]);
  const loads: PreviewLoad[] = [];
  for (const [load, rows] of byLoad) {
    const fired = firedLoads.get(load);
    if (!fired) continue;
    const known = new Set(rows.map((row) => row.number));
    const asPriced = (row: store.PieceRow) => ({
      number: row.number,
      form: row.form,
      widthMm: row.widthMm,
      // A circle is as deep as it is wide.
      depthMm: row.footprint === 'circle' ? row.widthMm : row.depthMm,
      heightMm: row.heightMm,
      kg: row.kg,
      ...fired.firing,
      isRush: isRush(value, row.wantedBy, toWallTime(row.registeredAt, timeZone).slice(0, 10)),
    });
    const others = await withPayers(
      read,
      fired.pieces.map((piece) => piece.number).filter((one) => !known.has(one)),
    );
    const pieces: PreviewPiece[] = [
      ...rows.map((row) => ({
        ...asPriced(row),
        memberClass: row.memberClass ?? usualClass,
        payer: `account ${row.accountId}`,
        includedCm3: fromStored(row.payload).coveredCm3 ?? 0,
        chargedMinor: row.amountMinor,
      })),
      ...others.map(({ row, payer }) => ({
        ...asPriced(row),
        memberClass: payer?.memberClass ?? usualClass,
        payer: payer ? `account ${payer.id}` : `piece ${row.number}`,
        includedCm3: 0,
        chargedMinor: null,
      })),
    ];
    // As charging has them: what is left over of a share goes to the first.
    const order = new Map(fired.pieces.map((piece, i) => [piece.number, i]));
    pieces.sort((a, b) => (order.get(a.number) ?? 0) - (order.get(b.number) ?? 0));
    loads.push({ number: load, kWh: fired.kWh, power: fired.power, pieces });
  }
  return preview(value, currency, loads);
}

// A busy month has more than a hundred loads: a few at once take half the time and leave connections to others.
const AT_ONCE = 5;

async function asTheyWere(read: Read, numbers: number[]): Promise<Map<number, EmptiedLoad>> {
  const found = new Map<number, EmptiedLoad>();
  for (let i = 0; i < numbers.length; i += AT_ONCE) {
    const some = await Promise.all(numbers.slice(i, i + AT_ONCE).map((one) => emptiedLoad(read, one)));
    for (const load of some) if (load) found.set(load.number, load);
  }
  return found;
}

/** Pieces of a load that were charged in another month or not at all; they bear their share of it all the same. */
async function withPayers(read: Read, numbers: number[]) {
  if (numbers.length === 0) return [];
  const rows = await store.piecesByNumber(read.tx, numbers);
  const holderOf = (row: (typeof rows)[number]) => {
    const [person, group] =
      row.payerId === null && row.payerGroupId === null
        ? [row.ownerId, row.ownerGroupId]
        : [row.payerId, row.payerGroupId];
    if (person !== null) return { kind: 'person' as const, id: person };
    return group === null ? null : { kind: 'group' as const, id: group };
  };
  const payers = await findPayers(
    read,
    rows.flatMap((row) => holderOf(row) ?? []),
  );
  return rows.map((row) => {
    const holder = holderOf(row);
    const payer = payers.find(
      (one) => holder && (holder.kind === 'person' ? one.personId : one.groupId) === holder.id,
    );
    return { row, payer };
  });
}
