import { ExportPage, type Preset } from '../../../views/fees/export.tsx';
import { CSV_TYPE } from '../../core/csv.ts';
import { Invalid } from '../../core/errors.ts';
import { readForm, type Typed } from '../../core/forms.ts';
import { type Answer, download, page, type Visit } from '../../core/routes.ts';
import { toWallTime } from '../../core/wall-time.ts';
import { addDays } from '../../kilns/calendar.ts';
import { dialectWords, exportForm } from '../export-form.ts';
import { monthAfter } from '../ledger.ts';
import { chargesCsv, journalCsv, type Reconciled, reconcile, summaryCsv } from '../service/export.ts';
import { feeSettings } from '../service/settings.ts';
import { feeReader } from './reader.ts';

/** A period, its three files and what they come to; last month unless asked otherwise. */
export async function showExport(visit: Visit): Promise<Answer> {
  const presets = presetsOf(visit);
  const [{ from, to }] = presets as [Preset];
  const settings = await feeSettings(visit.read);
  const asked = Object.entries(visit.query).filter(([, value]) => value !== '');
  const typed: Typed = { from, to, by: 'day', ...dialectWords(settings), ...Object.fromEntries(asked) };
  let found: Reconciled | null = null;
  let errors: Invalid['errors'] = [];
  try {
    found = await reconcile(visit.read, readForm(exportForm, typed, visit.formSetting));
  } catch (error) {
    if (!(error instanceof Invalid)) throw error;
    errors = error.errors;
  }
  return page(
    'Export of fees',
    'fees',
    <ExportPage {...{ form: { typed, errors }, found, presets, reader: feeReader(visit) }} />,
    errors.length > 0 ? 422 : 200,
  );
}

function presetsOf({ now, studio }: Visit): Preset[] {
  const today = toWallTime(now, studio.timeZone).slice(0, 10);
  const month = today.slice(0, 7);
  const year = today.slice(0, 4);
  const first = (period: string) => `${period}-01`;
  return [
    {
      label: 'Last month',
      from: first(monthAfter(month, -1)),
      to: addDays(first(month), -1),
    },
    { label: 'This month', from: first(month), to: today },
    { label: 'This year', from: `${year}-01-01`, to: today },
    { label: 'Last year', from: `${Number(year) - 1}-01-01`, to: `${Number(year) - 1}-12-31` },
  ];
}

const downloadOf =
  (name: string, make: typeof chargesCsv) =>
  async (visit: Visit): Promise<Answer> => {
    const wish = readForm(exportForm, visit.query, visit.formSetting);
    return download(`${name}-${wish.from}-${wish.to}.csv`, CSV_TYPE, await make(visit.read, wish));
  };

export const downloadCharges = downloadOf('fees', chargesCsv);
export const downloadSummary = downloadOf('fees-summary', summaryCsv);
export const downloadJournal = downloadOf('fees-journal', journalCsv);
