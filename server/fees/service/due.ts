import type { Read } from '../../core/actor.ts';
import { DAY } from '../../core/clock.ts';
import { may } from '../../core/policy.ts';
import { studioDay, studioTimeZone } from '../../core/session.ts';
import type { SafetyDue } from '../../materials/due.ts';
import { monthAfter } from '../ledger.ts';
import { monthWords } from '../month-words.ts';
import { booksBehind } from '../store/overview.ts';
import { loadsNotCharged, requestsWaiting } from '../store/waiting.ts';
import { tariffOn } from './tariffs.ts';

/** An emptied load older than this is history that nobody charges any more. */
const CHARGED_WITHIN = 60 * DAY;

/** What of fees waits for somebody, the most pressing first. */
export async function feesDue(read: Read): Promise<SafetyDue[]> {
  const today = await studioDay(read);
  const month = today.slice(0, 7);
  const [list, notCharged, waiting, { closedThrough, firstPeriod, hasLists }] = await Promise.all([
    tariffOn(read, today),
    loadsNotCharged(read.tx, {
      from: read.now - CHARGED_WITHIN,
      timeZone: await studioTimeZone(read.tx),
    }),
    requestsWaiting(read.tx),
    booksBehind(read.tx, month),
  ]);
  const due: SafetyDue[] = [];
  if (waiting > 0 && may(read.actor.role, 'fees.decide'))
    due.push({
      title: `${waiting} ${waiting === 1 ? 'request' : 'requests'}`,
      what: 'A charge or credit waits for a yes or no.',
      act: { label: 'Decide', href: '/fees/requests' },
    });
  const [load] = notCharged;
  if (list && load !== undefined)
    due.push({
      title: notCharged.length === 1 ? `Load ${load}` : `${notCharged.length} loads`,
      what: 'Emptied, and not everything that was in it is charged.',
      act: { label: 'See what is in it', href: `/fees/loads/${load}` },
    });
  if (!list && hasLists && may(read.actor.role, 'tariffs.edit'))
    due.push({
      title: 'Price list',
      what: 'None is in force: nobody sees a price, and no firing is charged.',
      act: { label: 'Make one', href: '/fees/prices/all' },
    });
  const next = closedThrough === null ? firstPeriod : monthAfter(closedThrough);
  if (next !== null && next < month && may(read.actor.role, 'fees.close'))
    due.push({
      title: monthWords(next),
      what: 'The month is over and still open: close it, and everybody has their statement.',
      act: { label: 'Close the month', href: `/fees/months/${next}` },
    });
  return due;
}
