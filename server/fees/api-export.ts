import { csvFile, type Endpoint } from '../core/api.ts';
import { exportForm } from './export-form.ts';
import { chargesCsv, journalCsv, summaryCsv } from './service/export.ts';

const query = exportForm;
const permission = 'fees.export';

export const exportEndpoints: Endpoint[] = [
  csvFile({
    path: '/fees/export.csv',
    permission,
    query,
    summary: 'Every charge, credit and payment of a period, an entry a line',
    run: (read, input) => chargesCsv(read, input.query),
  }),
  csvFile({
    path: '/fees/summary.csv',
    permission,
    query,
    summary: 'What a period comes to for each member, kiln and line of a price list, against the ledger',
    run: (read, input) => summaryCsv(read, input.query),
  }),
  csvFile({
    path: '/fees/journal.csv',
    permission,
    query,
    summary: 'The same entries as a double-entry journal under the studio’s account codes',
    run: (read, input) => journalCsv(read, input.query),
  }),
];
