import { z } from 'zod';
import { HistoryPage, KIND_WORDS } from '../../../views/buckets/history.tsx';
import { DAY, type Instant } from '../../core/clock.ts';
import { Invalid } from '../../core/errors.ts';
import { choice, code, readForm, text } from '../../core/forms.ts';
import { may } from '../../core/policy.ts';
import { type Answer, download, emptyForm, page, type Visit } from '../../core/routes.ts';
import { fromWallTime, toWallTime } from '../../core/wall-time.ts';
import type { BucketEvent } from '../ledger.ts';
import { exportHistory, type HistoryFilter, showHistory } from '../service/index.ts';
import { readerOf } from './reader.ts';

const ROWS = 50;

const filterForm = z.object({
  bucket: code().optional(),
  person: text(80).optional(),
  kind: choice(Object.keys(KIND_WORDS) as [BucketEvent['kind'], ...BucketEvent['kind'][]]).optional(),
  from: text(10).optional(),
  to: text(10).optional(),
});

/** What happened at every bucket; the filter stands in the address. */
export async function showAllHistory(visit: Visit): Promise<Answer> {
  const { filter, errors } = tryFilter(visit);
  const { after } = visit.query;
  const found = await showHistory(visit.read, filter, {
    limit: errors.length > 0 ? 0 : ROWS,
    after: typeof after === 'string' ? after : null,
  });
  const body = (
    <HistoryPage
      {...found}
      form={{ ...emptyForm(visit.query), errors }}
      newest={after === undefined}
      mayExport={may(visit.caller.role, 'buckets.export')}
      reader={readerOf(visit)}
    />
  );
  return page('History', 'wall', body, errors.length > 0 ? 422 : 200);
}

/** The same rows, all of them, as a file. */
export async function downloadHistory(visit: Visit): Promise<Answer> {
  const { timeZone } = visit.studio;
  const lines = exportHistory(visit.read, readFilter(visit), timeZone);
  const name = `history-${toWallTime(visit.now, timeZone).slice(0, 10)}.csv`;
  return download(name, 'text/csv; charset=utf-8; header=present', lines);
}

function tryFilter(visit: Visit): { filter: HistoryFilter; errors: Invalid['errors'] } {
  try {
    return { filter: readFilter(visit), errors: [] };
  } catch (error) {
    if (!(error instanceof Invalid)) throw error;
    return {
      filter: { bucket: null, person: null, kind: null, from: null, until: null },
      errors: error.errors,
    };
  }
}

function readFilter(visit: Visit): HistoryFilter {
  const { from, to, ...chosen } = readForm(filterForm, visit.query, visit.formSetting);
  const { timeZone } = visit.studio;
  const first = from === undefined ? null : dayStart('from', from, timeZone);
  const until = to === undefined ? null : dayStart('to', to, timeZone, 1);
  if (first !== null && until !== null && until <= first)
    throw new Invalid([{ path: 'to', message: 'This lies before the first day.' }]);
  const { bucket = null, person = null, kind = null } = chosen;
  return { bucket, person, kind, from: first, until };
}

/** When a day of the studio begins, or the one so many days later; where midnight is skipped, an hour after it. */
function dayStart(path: string, day: string, timeZone: string, later = 0): Instant {
  const known = /^20\d\d-\d\d-\d\d$/.test(day) ? Date.parse(`${day}T00:00Z`) : Number.NaN;
  // A parser takes the thirtieth of February for the second of March.
  const isDate = Number.isFinite(known) && dateOf(known) === day;
  const date = isDate ? dateOf(known + later * DAY) : '';
  const at = fromWallTime(`${date}T00:00`, timeZone) ?? fromWallTime(`${date}T01:00`, timeZone);
  if (at === null) throw new Invalid([{ path, message: 'A date such as 2026-03-07.' }]);
  return at;
}

const dateOf = (at: Instant): string => new Date(at).toISOString().slice(0, 10);
