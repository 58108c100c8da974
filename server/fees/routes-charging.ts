import { get, post, type Route } from '../core/routes.ts';
import { backToLoadFees, chargeNow, showLoadFees } from './actions/load.tsx';

export const chargingRoutes: Route[] = [
  get('/fees/loads/:number', 'fees.own', (visit) => showLoadFees(visit)),
  get('/fees/loads/:number/charge', 'fees.charge', backToLoadFees),
  post('/fees/loads/:number/charge', 'fees.charge', chargeNow),
];
