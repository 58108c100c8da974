import { get, post, type Route } from '../core/routes.ts';
import {
  backToMonth,
  closeOne,
  remindThem,
  reopenOne,
  showMonthPage,
  showMonths,
  showReminders,
} from './actions/months.tsx';
import { printStatements, showStatement, showStatements } from './actions/statements.tsx';

export const monthRoutes: Route[] = [
  get('/fees/months', 'fees.close', showMonths),
  get('/fees/months/:period', 'fees.close', (visit) => showMonthPage(visit)),
  get('/fees/months/:period/statements', 'fees.close', printStatements),
  get('/fees/months/:period/close', 'fees.close', backToMonth),
  post('/fees/months/:period/close', 'fees.close', closeOne),
  get('/fees/months/:period/reopen', 'fees.close', backToMonth),
  post('/fees/months/:period/reopen', 'fees.close', reopenOne),

  get('/fees/reminders', 'fees.close', (visit) => showReminders(visit)),
  post('/fees/reminders', 'fees.close', remindThem),

  get('/fees/statements/:account', 'fees.own', showStatements),
  get('/fees/statements/:account/:period', 'fees.own', showStatement),
];
