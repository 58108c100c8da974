import { ChargePage, CreditPage, PayPage } from '../../../views/fees/by-hand.tsx';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { findAccount, standingOf } from '../service/accounts.ts';
import {
  chargeByHand,
  chargeForm,
  creditByHand,
  creditForm,
  hourlyRate,
  itemsToCharge,
  paymentForm,
  recordPayment,
  type Written,
} from '../service/by-hand.ts';
import { feeSettings } from '../service/settings.ts';
import { accountNumber } from './accounts.tsx';
import { feeReader } from './reader.ts';

async function common(visit: Visit, form: FormState) {
  const account = await findAccount(visit.read, accountNumber(visit));
  const { balanceMinor } = await standingOf(visit.read, account);
  return { account, balanceMinor, form, reader: feeReader(visit) };
}

/** Money that comes in, or that a manager gives back. */
const paying = (way: 'payment' | 'refund') => {
  const isRefund = way === 'refund';
  const show = async (visit: Visit, form: FormState = emptyForm()): Promise<Answer> => {
    const props = await common(visit, form);
    return page(
      isRefund ? 'Give money back' : 'Take a payment',
      'fees',
      <PayPage {...props} isRefund={isRefund} />,
    );
  };
  const take = (visit: Visit): Promise<Answer> =>
    visit.submit(
      (form) => show(visit, form),
      async () => {
        const number = accountNumber(visit);
        const typed = visit.form(paymentForm);
        await visit.act((act) => recordPayment(act, number, typed, way));
        return go(`/fees/accounts/${number}?done=${isRefund ? 'back' : 'paid'}`);
      },
    );
  return { show, take };
};

export const payment = paying('payment');
export const refund = paying('refund');

export async function showCharge(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const [props, items] = await Promise.all([common(visit, form), itemsToCharge(visit.read)]);
  return page('Charge something', 'fees', <ChargePage {...props} items={items} />);
}

export const writeCharge = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showCharge(visit, form),
    async () => {
      const number = accountNumber(visit);
      const typed = visit.form(chargeForm);
      const written = await visit.act((act) => chargeByHand(act, number, typed));
      return go(afterwards(number, written, 'charged'));
    },
  );

export async function showCredit(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const [props, rate, { creditLimitMinor }] = await Promise.all([
    common(visit, form),
    hourlyRate(visit.read),
    feeSettings(visit.read),
  ]);
  const { about } = visit.query;
  return page(
    'Credit',
    'fees',
    <CreditPage
      {...props}
      rate={rate}
      limitMinor={creditLimitMinor}
      about={typeof about === 'string' && /^[1-9]\d{0,8}$/.test(about) ? about : undefined}
    />,
  );
}

export const writeCredit = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showCredit(visit, form),
    async () => {
      const number = accountNumber(visit);
      const typed = visit.form(creditForm);
      const written = await visit.act((act) => creditByHand(act, number, typed));
      return go(afterwards(number, written, 'credited'));
    },
  );

const afterwards = (number: number, written: Written, done: string): string =>
  `/fees/accounts/${number}?done=${'entry' in written ? done : 'asked'}`;
