import type { SafetyDue } from '../../server/materials/due.ts';
import type { LogReader } from '../../server/safety/actions/log-reader.ts';
import type { DutyNow } from '../../server/safety/service/duties.ts';
import type { Entry } from '../../server/safety/service/log-read.ts';
import { liveRegion } from '../ui/live.ts';
import { Empty, Flash, Links, Panel } from '../ui/panel.tsx';
import { Act } from '../ui/verdict.tsx';
import { DutyCard } from './duties.tsx';
import { EntryLink, EntryState, EverydayCautions } from './log-parts.tsx';
import { Caution } from './parts.tsx';

const LOOK_UP = [
  ['/safety/rules', 'Common rules'],
  ['/notices', 'Notices'],
  ['/materials', 'Materials'],
  ['/safety/log', 'Safety log'],
  ['/safety/duties', 'Duties'],
  ['/safety/inductions/own', 'Your inductions'],
  ['/safety/briefings', 'Class briefings'],
  ['/containers', 'Rinse and waste'],
  ['/safety/food', 'Food contact'],
] as const;
const LOOK_AFTER = [
  ['/safety/register', 'Register to print'],
  ['/safety/inductions', "Everybody's inductions"],
  ['/stock', 'Stock'],
  ['/safety/exposure', 'Dust exposure'],
] as const;
const SETTINGS = ['/safety/settings', 'Settings'] as const;

interface HubProps {
  /** What only whoever looks can do: notices to read, inductions that run out. */
  asks: SafetyDue[];
  /** Theirs, and due. */
  duties: DutyNow[];
  /** For those who keep the log. */
  due: SafetyDue[];
  /** Entries of theirs that are not closed. */
  ownOpen: Entry[];
  isDone: boolean;
  reader: LogReader;
}

export function HubPage({ isDone, ...waiting }: HubProps) {
  const { reader } = waiting;
  return (
    <>
      {isDone && <Flash words="Noted in the log. Thank you." />}
      <h1>Safety</h1>
      <Act
        href="/safety/log/new"
        label="Something happened"
        small="A spill, a cut, dust, a near miss: help first, then write it down. Two minutes."
      />
      <SafetyToDo {...waiting} />
      <EverydayCautions />
      <h2>Look it up</h2>
      <Links label="Look it up" links={LOOK_UP} />
      {reader.keeps && (
        <>
          <h2>Look after safety</h2>
          <Links
            label="Look after safety"
            links={reader.mayChangeSettings ? [...LOOK_AFTER, SETTINGS] : LOOK_AFTER}
          />
        </>
      )}
      <Caution />
    </>
  );
}

/** What waits for whoever looks; it asks for itself again. */
export function SafetyToDo({ asks, duties, due, ownOpen, reader }: Omit<HubProps, 'isDone'>) {
  return (
    <div id="due" {...liveRegion({ on: 'safety', href: '/safety' })}>
      {asks.length > 0 && (
        <>
          <h2>Asks for you</h2>
          <DueCards dues={asks} />
        </>
      )}
      {duties.length > 0 && (
        <>
          <h2>To do</h2>
          <ul class="dues">
            {duties.map((duty) => (
              <li key={duty.number}>
                <DutyCard duty={duty} from="hub" reader={reader} />
              </li>
            ))}
          </ul>
        </>
      )}
      {reader.keeps && (
        <>
          <h2>Needs a technician</h2>
          {due.length === 0 ? (
            <Empty title="Nothing waits">
              <p>No open entries, no overdue follow-ups or duties.</p>
            </Empty>
          ) : (
            <DueCards dues={due} />
          )}
        </>
      )}
      {ownOpen.length > 0 && (
        <Panel title="What you wrote and is not closed yet">
          <ul>
            {ownOpen.map((entry) => (
              <li key={entry.number}>
                <EntryLink entry={entry} /> <EntryState entry={entry} />
              </li>
            ))}
          </ul>
        </Panel>
      )}
    </div>
  );
}

function DueCards({ dues }: { dues: SafetyDue[] }) {
  return (
    <ul class="dues">
      {dues.map(({ title, what, act }) => (
        <li key={`${title} ${what}`}>
          <article class="due">
            <p class="lid-state">{title}</p>
            <p>{what}</p>
            <a class="plain" href={act.href}>
              {act.label}
            </a>
          </article>
        </li>
      ))}
    </ul>
  );
}
