import type { Read } from '../../core/actor.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioDay } from '../../core/session.ts';
import { shownDay } from '../../core/wall-time.ts';
import type { SafetyDue } from '../../materials/due.ts';
import { registerDue, stockDue } from '../../materials/service/index.ts';
import { type DutyStanding, everyWords } from '../duty.ts';
import { VERB_WORDS } from '../induction.ts';
import { KINDS } from '../log.ts';
import { containersDue } from './containers.ts';
import { listDuties } from './duties.ts';
import { inductionsDue, ownInductions } from './inductions.ts';
import { type Entry, listLog } from './log-read.ts';
import { noticesDue, unreadFor } from './notices.ts';
import { safetySettings } from './settings.ts';

/** More open entries than this are left to the log itself. */
const MOST_ENTRIES = 50;

/**
 * What of the safety side needs somebody, worst first: what happened, what is overdue, then what runs out.
 * @param own whether duties that whoever asks may do are among it
 */
export async function safetyDue(read: Read, { own = true } = {}): Promise<SafetyDue[]> {
  mustBeAllowed(read.actor, 'today.see');
  const parts = await Promise.all([
    logDue(read),
    dutiesDue(read, own),
    noticesDue(read),
    containersDue(read),
    whoMustBeShown(read),
    stockDue(read),
    registerDue(read),
  ]);
  return parts.flat();
}

/** Who was not shown what they do keeps nobody busy before the studio asks for it. */
async function whoMustBeShown(read: Read): Promise<SafetyDue[]> {
  const { gated } = await safetySettings(read);
  return gated.length === 0 ? [] : inductionsDue(read);
}

/** What only whoever asks can do: notices to read, and what they must be shown before they go on. */
export async function asksFor(read: Read): Promise<SafetyDue[]> {
  const [unread, { verbs }] = await Promise.all([unreadFor(read), ownInductions(read)]);
  const missing = verbs.filter(
    ({ isGated, concerns, standing }) => isGated && concerns && standing !== 'held',
  );
  return [
    ...unread.map(({ number, title }) => ({
      title: 'Notice to read',
      what: title,
      act: { label: 'Read it', href: `/notices/${number}` },
    })),
    ...missing.map(({ verb, standing, until }) => ({
      title: `Induction: ${VERB_WORDS[verb].name.toLowerCase()}`,
      what:
        standing === 'never'
          ? 'Nobody has shown you yet. Ask a technician.'
          : `${standing === 'soon' ? 'It ends' : 'It ended'} on ${shownDay(until ?? '')}. Ask a technician to show you again.`,
      act: { label: 'Your inductions', href: '/safety/inductions/own' },
    })),
  ];
}

/** Entries that nobody has taken on, then follow-ups whose day is today or has passed. */
async function logDue(read: Read): Promise<SafetyDue[]> {
  const [{ entries, next }, today] = await Promise.all([
    listLog(read, { open: true, limit: MOST_ENTRIES }),
    studioDay(read),
  ]);
  const open = entries.filter(({ standing }) => standing.state === 'open');
  const toDo = entries
    .filter(({ standing }) => standing.state === 'to-do' && (standing.dueOn ?? today) <= today)
    .sort((a, b) => (a.standing.dueOn ?? '').localeCompare(b.standing.dueOn ?? ''));
  return [
    ...open.map((entry) => ({
      title: KINDS[entry.kind].words,
      what: `${whereWords(entry)}. Nobody has taken it on yet.`,
      act: { label: 'Look at it', href: `/safety/log/${entry.number}` },
    })),
    ...toDo.map((entry) => ({
      title: `${KINDS[entry.kind].words}: follow-up ${entry.isLate ? 'overdue' : 'due today'}`,
      what: `${whereWords(entry)}. ${entry.standing.owner ?? 'Somebody'} took it on until ${shownDay(entry.standing.dueOn ?? today)}.`,
      act: { label: 'Done? Close it', href: `/safety/log/${entry.number}` },
    })),
    ...(next === null
      ? []
      : [
          {
            title: 'More open entries',
            what: `Only the newest ${MOST_ENTRIES} were looked through here.`,
            act: { label: 'See all that are open', href: '/safety/log?open=yes' },
          },
        ]),
  ];
}

const whereWords = ({ number, place, bucket }: Entry): string =>
  [`Entry ${number}`, place, bucket?.name].filter(Boolean).join(', ');

/** Duties that are late, and those of technicians that are due. */
async function dutiesDue(read: Read, own: boolean): Promise<SafetyDue[]> {
  const duties = await listDuties(read);
  return duties
    .filter(({ isMine }) => own || !isMine)
    .filter(
      ({ standing: { state }, forRole }) => state === 'late' || (state === 'due' && forRole !== 'member'),
    )
    .map(({ name, everyDays, standing }) => ({
      title: standing.state === 'late' ? 'Duty overdue' : 'Duty due',
      what: `${name}, ${everyWords(everyDays)}.${dueWords(everyDays, standing)}`,
      act: { label: 'Do it, then tap Done', href: '/safety/duties' },
    }));
}

function dueWords(everyDays: number, { state, nextOn }: DutyStanding): string {
  if (state === 'late') return ` It was due on ${shownDay(nextOn)}.`;
  return everyDays === 0 ? '' : ' It is due today.';
}
