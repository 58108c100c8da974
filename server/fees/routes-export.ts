import { get, type Route } from '../core/routes.ts';
import { downloadCharges, downloadJournal, downloadSummary, showExport } from './actions/export.tsx';

export const exportRoutes: Route[] = [
  get('/fees/export', 'fees.export', showExport),
  get('/fees/export/charges.csv', 'fees.export', downloadCharges),
  get('/fees/export/summary.csv', 'fees.export', downloadSummary),
  get('/fees/export/journal.csv', 'fees.export', downloadJournal),
];
