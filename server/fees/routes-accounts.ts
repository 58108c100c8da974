import { get, post, type Route } from '../core/routes.ts';
import { backToAccount, openOne, saveClass, showAccount, showAccounts } from './actions/accounts.tsx';
import { payment, refund, showCharge, showCredit, writeCharge, writeCredit } from './actions/by-hand.tsx';
import { backToEntry, showEntry, strikeOne } from './actions/entries.tsx';
import { answerRequest, showRequest, showRequests } from './actions/requests.tsx';

export const accountRoutes: Route[] = [
  get('/fees/accounts', 'fees.see-all', showAccounts),
  post('/fees/accounts', 'fees.charge', openOne),
  get('/fees/accounts/:number', 'fees.own', (visit) => showAccount(visit)),
  get('/fees/accounts/:number/class', 'fees.charge', backToAccount),
  post('/fees/accounts/:number/class', 'fees.charge', saveClass),
  get('/fees/accounts/:number/pay', 'fees.pay', (visit) => payment.show(visit)),
  post('/fees/accounts/:number/pay', 'fees.pay', payment.take),
  get('/fees/accounts/:number/give-back', 'fees.decide', (visit) => refund.show(visit)),
  post('/fees/accounts/:number/give-back', 'fees.decide', refund.take),
  get('/fees/accounts/:number/charge', 'fees.charge', (visit) => showCharge(visit)),
  post('/fees/accounts/:number/charge', 'fees.charge', writeCharge),
  get('/fees/accounts/:number/credit', 'fees.credit', (visit) => showCredit(visit)),
  post('/fees/accounts/:number/credit', 'fees.credit', writeCredit),

  get('/fees/entries/:number', 'fees.own', (visit) => showEntry(visit)),
  get('/fees/entries/:number/strike-out', 'fees.charge', backToEntry),
  post('/fees/entries/:number/strike-out', 'fees.charge', strikeOne),

  get('/fees/requests', 'fees.see-all', showRequests),
  get('/fees/requests/:number', 'fees.see-all', (visit) => showRequest(visit)),
  post('/fees/requests/:number', 'fees.decide', answerRequest),
];
