import { shownDay } from '../../server/core/wall-time.ts';
import { type NoticeScope, type Standing, TASKS, type Task } from '../../server/safety/notice.ts';
import { Facts } from '../ui/panel.tsx';
import { Pictograms } from './pictogram.tsx';

/** At a kiln nobody dips: its notice has one line, for whatever is done there. */
export const taskWords = (scope: NoticeScope, task: Task): string =>
  scope === 'kiln'
    ? 'At the kiln'
    : { dipping: 'Dipping', mixing: 'Mixing or spraying', cleaning: 'Cleaning up' }[task];

export const SCOPE_WORDS = {
  bucket: 'Bucket',
  material: 'Material',
  kiln: 'Kiln',
  room: 'Room',
  everywhere: 'Everywhere',
} as const satisfies Record<NoticeScope, string>;

export const STANDING_WORDS = {
  'in-force': 'In force',
  'not-yet': 'Not yet in force',
  ended: 'Ended',
  withdrawn: 'Taken down',
} as const satisfies Record<Standing, string>;

export function validWords({ validFrom, validTo }: { validFrom: string; validTo: string | null }): string {
  return validTo === null ? `from ${shownDay(validFrom)}` : `${shownDay(validFrom)} to ${shownDay(validTo)}`;
}

interface NoticeWords {
  signalWord: 'Danger' | 'Warning' | null;
  pictograms: readonly string[];
  lines: { task: string; words: string }[];
  notForChildren: boolean;
}

/** What a notice says, under its title. */
export function NoticeBody({ signalWord, pictograms, lines, notForChildren }: NoticeWords) {
  return (
    <div class="notice-body">
      {(signalWord !== null || pictograms.length > 0) && (
        <div class="notice-signs">
          <Pictograms codes={pictograms} size={56} />
          {signalWord && <b>{signalWord}</b>}
        </div>
      )}
      {notForChildren && (
        <p>
          <b>Not for children.</b>
        </p>
      )}
      {lines.length > 0 && <Facts items={lines.map(({ task, words }) => [task, words])} />}
    </div>
  );
}

/** Where the arithmetic behind the classes is shown. */
export function WorkedOut({ scope, href }: { scope: NoticeScope; href: string | null }) {
  if (href === null || (scope !== 'bucket' && scope !== 'material')) return null;
  return (
    <p>
      <a href={scope === 'bucket' ? `${href}/hazards` : href}>How that comes about</a>
    </p>
  );
}

/** The lines of a notice that say something, under what their task is called. */
export const linesOf = (notice: { scope: NoticeScope } & Record<Task, string>) =>
  TASKS.filter((task) => notice[task] !== '').map((task) => ({
    task: taskWords(notice.scope, task),
    words: notice[task],
  }));
