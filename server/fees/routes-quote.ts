import { get, type Route } from '../core/routes.ts';
import { showQuote } from './actions/quote.tsx';

export const quoteRoutes: Route[] = [get('/fees/quote', 'fees.own', showQuote)];
