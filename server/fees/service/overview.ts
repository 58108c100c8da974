import type { Read } from '../../core/actor.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioDay, studioTimeZone } from '../../core/session.ts';
import { toWallTime } from '../../core/wall-time.ts';
import { costMinor } from '../../kilns/energy.ts';
import { firedLoads, kilnSettings } from '../../kilns/service/index.ts';
import { type Age, agedBy } from '../allocation.ts';
import { monthAfter, monthStart } from '../ledger.ts';
import { type KilnMonthFigures, kilnMonths } from '../overview.ts';
import { openByMonth } from '../store/open-charges.ts';
import * as store from '../store/overview.ts';
import { feeSettings } from './settings.ts';

export interface Overview {
  /** First and last month, both included: 'YYYY-MM'. */
  from: string;
  to: string;
  rows: KilnMonthFigures[];
  /** 'payers', 'income:firing' … → what they moved by; all of it sums to zero. */
  moved: Map<string, bigint>;
  /** Whether a kWh has a price here. */
  knowsEnergyPrice: boolean;
  unpaid: { account: { number: number; name: string }; balanceMinor: bigint; ages: Age[] }[];
}

/** Income against what firing took, by kiln and month, and what is unpaid by its age. */
export async function feeOverview(read: Read, from: string, to: string): Promise<Overview> {
  mustBeAllowed(read.actor, 'fees.export');
  const timeZone = await studioTimeZone(read.tx);
  const [fired, earned, moved, settings, kilnsChose, unpaid] = await Promise.all([
    firedLoads(read, monthStart(from, timeZone), monthStart(monthAfter(to), timeZone)),
    store.earnedByKiln(read.tx, from, to),
    store.movedByAccount(read.tx, from, to),
    feeSettings(read),
    kilnSettings(read),
    unpaidByAge(read),
  ]);
  const { pricePerKwh } = kilnsChose;
  const loads = fired.map(({ kiln, litres, kWh, emptiedAt }) => ({
    period: toWallTime(emptiedAt, timeZone).slice(0, 7),
    kiln,
    litres,
    energyMinor: kWh === null || pricePerKwh === null ? null : costMinor(kWh, pricePerKwh.toFixed(6)),
  }));
  return {
    from,
    to,
    rows: kilnMonths(loads, earned, settings.wearMinor),
    moved,
    knowsEnergyPrice: pricePerKwh !== null,
    unpaid,
  };
}

async function unpaidByAge(read: Read): Promise<Overview['unpaid']> {
  const [debtors, today, { dueDays }] = await Promise.all([
    store.debtors(read.tx),
    studioDay(read),
    feeSettings(read),
  ]);
  const open = await openByMonth(
    read.tx,
    debtors.map(({ id }) => id),
  );
  const unpaid = debtors.map(({ id, number, name, balanceMinor }) => ({
    account: { number, name },
    balanceMinor,
    ages: agedBy(open.get(id) ?? [], today, dueDays),
  }));
  return unpaid.sort((a, b) =>
    a.balanceMinor === b.balanceMinor ? 0 : a.balanceMinor < b.balanceMinor ? 1 : -1,
  );
}
