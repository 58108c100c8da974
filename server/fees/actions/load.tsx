import { LoadFeesPage } from '../../../views/fees/load.tsx';
import { numberIn } from '../../core/param.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { chargeRest } from '../service/charging.ts';
import { loadFees } from '../service/load-fees.ts';
import { feeReader } from './reader.ts';

const loadIn = (visit: Visit): number => numberIn(visit, 'number', 'There is no such load.');

/** What a load cost whom, piece by piece. */
export async function showLoadFees(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const fees = await loadFees(visit.read, loadIn(visit));
  return page(
    `What load ${fees.number} cost`,
    'fees',
    <LoadFeesPage
      fees={fees}
      refused={form.errors.map(({ message }) => message).join(' ')}
      done={visit.done({ charged: 'Charged, and the payers were told.' })}
      reader={feeReader(visit)}
    />,
  );
}

/** Charges what was not charged when the load was emptied. */
export const chargeNow = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showLoadFees(visit, form),
    async () => {
      const number = loadIn(visit);
      await visit.act((act) => chargeRest(act, number));
      return go(`/fees/loads/${number}?done=charged`);
    },
  );

/** The address of the act, opened by itself, leads to the load. */
export const backToLoadFees = async (visit: Visit): Promise<Answer> => go(`/fees/loads/${loadIn(visit)}`);
