import { OverviewPage } from '../../../views/fees/overview.tsx';
import type { Invalid } from '../../core/errors.ts';
import { type Answer, emptyForm, page, type Visit } from '../../core/routes.ts';
import { studioDay } from '../../core/session.ts';
import { monthAfter } from '../ledger.ts';
import { feeOverview } from '../service/overview.ts';
import { feeReader } from './reader.ts';

const MONTH = /^20\d\d-(0[1-9]|1[0-2])$/;
const MOST_MONTHS = 36;

/** A year up to this month, until other months are asked for. */
export async function showOverview(visit: Visit): Promise<Answer> {
  const thisMonth = (await studioDay(visit.read)).slice(0, 7);
  const asked = {
    from: [visit.query.from ?? ''].flat().at(-1) || monthAfter(thisMonth, -11),
    to: [visit.query.to ?? ''].flat().at(-1) || thisMonth,
  };
  const errors = faultsOf(asked);
  const { from, to } = errors.length > 0 ? { from: thisMonth, to: thisMonth } : asked;
  const overview = await feeOverview(visit.read, from, to);
  return page(
    'Overview of fees',
    'fees',
    <OverviewPage
      overview={overview}
      form={{ ...emptyForm(asked), errors }}
      month={thisMonth}
      reader={feeReader(visit)}
    />,
    errors.length > 0 ? 422 : 200,
  );
}

function faultsOf({ from, to }: { from: string; to: string }): Invalid['errors'] {
  const errors = Object.entries({ from, to }).flatMap(([path, value]) =>
    MONTH.test(value) ? [] : [{ path, message: 'A month such as 2026-03.' }],
  );
  if (errors.length > 0) return errors;
  if (to < from) return [{ path: 'to', message: 'This lies before the first month.' }];
  return monthAfter(from, MOST_MONTHS - 1) < to
    ? [{ path: 'from', message: `At most ${MOST_MONTHS} months at once.` }]
    : [];
}
