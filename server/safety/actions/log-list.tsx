import { z } from 'zod';
import { LogPage, RegisterPage } from '../../../views/safety/log.tsx';
import { Invalid } from '../../core/errors.ts';
import { choice, day, flag, readForm } from '../../core/forms.ts';
import { beforeIn } from '../../core/param.ts';
import { type Answer, download, emptyForm, page, type Visit } from '../../core/routes.ts';
import { addDays } from '../../kilns/calendar.ts';
import { ENTRY_KINDS } from '../log.ts';
import { exportLog } from '../service/log-export.ts';
import { entriesByTime, type LogFilter, listLog } from '../service/log-read.ts';
import { logReader } from './log-reader.ts';

const ROWS = 40;
/** Days that a register covers unless others are asked for. */
const PERIOD = 365;

const filterForm = z.object({
  kind: choice(ENTRY_KINDS).optional(),
  open: flag().optional(),
  from: day().optional(),
  to: day().optional(),
  /** Leaves out what is about somebody's health. */
  withoutHealth: flag().optional(),
});

/** The log as whoever looks may see it; the filter stands in the address. */
export async function showLog(visit: Visit): Promise<Answer> {
  const reader = logReader(visit);
  const before = beforeIn(visit);
  const { found, errors } = await tryTo(visit, async (filter) =>
    listLog(visit.read, { ...filter, limit: ROWS, before: before ?? undefined }),
  );
  return page(
    'Safety log',
    'safety',
    <LogPage
      entries={found?.entries ?? []}
      next={found?.next ?? null}
      form={{ ...emptyForm(visit.query), errors }}
      isNewest={before === null}
      reader={reader}
    />,
    errors.length > 0 ? 422 : 200,
  );
}

/** What happened in a period, to be printed; the last year unless asked otherwise. */
export async function showRegister(visit: Visit): Promise<Answer> {
  const reader = logReader(visit);
  const query = {
    from: addDays(reader.today, -PERIOD),
    to: reader.today,
    ...Object.fromEntries(Object.entries(visit.query).filter(([, value]) => value !== '')),
  };
  const { found, errors } = await tryTo(visit, (filter) => entriesByTime(visit.read, filter), query);
  return page(
    'Register of the safety log',
    'safety',
    <RegisterPage
      entries={found ?? []}
      studio={visit.studio.name}
      form={{ ...emptyForm(query), errors }}
      reader={reader}
    />,
    errors.length > 0 ? 422 : 200,
  );
}

/** The same as a file. */
export async function downloadLog(visit: Visit): Promise<Answer> {
  const lines = await exportLog(visit.read, readForm(filterForm, visit.query, visit.formSetting));
  const name = `safety-log-${logReader(visit).today}.csv`;
  return download(name, 'text/csv; charset=utf-8; header=present', lines);
}

async function tryTo<T>(
  visit: Visit,
  work: (filter: LogFilter) => Promise<T>,
  query = visit.query,
): Promise<{ found: T | null; errors: Invalid['errors'] }> {
  try {
    return { found: await work(readForm(filterForm, query, visit.formSetting)), errors: [] };
  } catch (error) {
    if (!(error instanceof Invalid)) throw error;
    return { found: null, errors: error.errors };
  }
}
