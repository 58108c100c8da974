import type { ComponentChildren } from 'preact';
import type { Due } from '../../server/buckets/service/index.ts';
import type { KilnDue } from '../../server/kilns/service/index.ts';
import type { SafetyDue } from '../../server/materials/due.ts';
import type { DueWords } from '../../server/today/words.ts';
import type { WareDue } from '../../server/ware/service/index.ts';
import { BoardIcon } from '../kilns/board-state.tsx';
import { loadAddress } from '../kilns/load-parts.tsx';
import { LoadStateIcon } from '../kilns/load-state.tsx';
import { Chip, StateIcon } from '../ui/icons.tsx';
import { liveRegion } from '../ui/live.ts';
import { Empty, Links } from '../ui/panel.tsx';

const WALL = [
  ['/round', 'Morning round'],
  ['/buckets/new', 'New bucket'],
  ['/batches', 'Batches'],
  ['/recipes', 'Recipes'],
  ['/gear', 'Gear'],
  ['/buckets/retired', 'Retired buckets'],
  ['/history', 'History'],
] as const;
const WARE_AND_KILNS = [
  ['/ware/desk', "Everybody's ware"],
  ['/kilns/loads', 'Loads'],
  ['/kilns/calendar', 'Calendar'],
] as const;
const SAFETY = [
  ['/safety', 'Safety'],
  ['/safety/log', 'Safety log'],
  ['/safety/duties', 'Duties'],
] as const;

interface Things {
  kilns: KilnDue[];
  safety: SafetyDue[];
  ware: WareDue[];
  fees: SafetyDue[];
  mail: SafetyDue[];
  buckets: { due: Due; words: DueWords }[];
}

export function TodayPage({ things }: { things: Things }) {
  return (
    <>
      <h1>Today</h1>
      <DueList things={things} />
      <h2>Look after the wall</h2>
      <Links label="Look after the wall" links={WALL} />
      <h2>Look after ware and kilns</h2>
      <Links label="Look after ware and kilns" links={WARE_AND_KILNS} />
      <h2>Look after safety</h2>
      <Links label="Look after safety" links={SAFETY} />
    </>
  );
}

/** What needs somebody, in each part the worst first; it asks for itself again, since time alone adds to it. */
export function DueList({ things }: { things: Things }) {
  const { kilns, safety, ware, fees, mail, buckets } = things;
  const total = [kilns, safety, ware, fees, mail, buckets].reduce((sum, part) => sum + part.length, 0);
  const count = `${total} ${total === 1 ? 'thing needs' : 'things need'} somebody`;
  return (
    <div id="due" {...liveRegion({ on: 'today', href: '/today' })}>
      {total === 0 ? (
        <Empty title="Nothing needs you">
          <p>Buckets, ware, kilns, safety, fees and mail are looked after. Whatever is not shows here.</p>
          <p>
            <a href="/wall">See the glaze wall</a>
          </p>
        </Empty>
      ) : (
        <>
          <p class="soft">
            <span data-announce={count}>{count}</span>. In each part the most pressing stands first.
          </p>
          <Part title="Kilns">
            {kilns.map((due) => (
              <li key={`${due.why} ${due.kiln.code} ${due.load?.number ?? due.what}`}>
                <KilnCard due={due} />
              </li>
            ))}
          </Part>
          <Part title="Safety">
            {safety.map((due) => (
              <li key={`${due.title} ${due.what}`}>
                <Card title={due.title} what={due.what} act={due.act} />
              </li>
            ))}
          </Part>
          <Part title="Ware">
            {ware.map((due) => (
              <li key={`${due.why} ${due.what}`}>
                <Card title={due.title} what={due.what} act={due.act} />
              </li>
            ))}
          </Part>
          <Part title="Fees">
            {fees.map((due) => (
              <li key={`${due.title} ${due.what}`}>
                <Card title={due.title} what={due.what} act={due.act} />
              </li>
            ))}
          </Part>
          <Part title="Mail">
            {mail.map((due) => (
              <li key={due.title}>
                <Card title={due.title} what={due.what} act={due.act} />
              </li>
            ))}
          </Part>
          <Part title="Glaze wall">
            {buckets.map(({ due, words }) => (
              <li key={`${due.bucket.code} ${due.why} ${due.problem?.number ?? ''}`}>
                <BucketCard due={due} words={words} />
              </li>
            ))}
          </Part>
        </>
      )}
    </div>
  );
}

function Part({ title, children }: { title: string; children: ComponentChildren[] }) {
  if (children.length === 0) return null;
  return (
    <>
      <h2>{title}</h2>
      <ul class="dues">{children}</ul>
    </>
  );
}

interface CardProps {
  /** The state whose colour stands beside the words. */
  tone?: string | null;
  icon?: ComponentChildren;
  title: string;
  name?: ComponentChildren;
  what: string;
  place?: string;
  act: { label: string; href: string };
}

function Card({ tone, icon, title, name, what, place, act }: CardProps) {
  return (
    <article class={tone ? `due is-${tone}` : 'due'}>
      <p class="lid-state">
        {icon}
        {title}
      </p>
      {name && <h3 class="lid-name">{name}</h3>}
      <p>{what}</p>
      {place && <p class="lid-place">{place}</p>}
      <a class="plain" href={act.href}>
        {act.label}
      </a>
    </article>
  );
}

function BucketCard({ due, words }: Things['buckets'][number]) {
  const { code, name, colour, place } = due.bucket;
  return (
    <Card
      tone={words.state}
      icon={words.state && <StateIcon state={words.state} />}
      title={words.title}
      name={
        <>
          <Chip colour={colour} />
          <span>
            <a href={`/buckets/${code}`}>{name}</a> <span class="code">{code}</span>
          </span>
        </>
      }
      what={words.what}
      place={place}
      act={words.act}
    />
  );
}

/** What cannot wait stands out as it does on the glaze wall. */
const KILN_TONES: Partial<Record<KilnDue['why'], string>> = {
  'latest-off': 'do-not-use',
  'hand-log': 'do-not-use',
  'past-off': 'do-not-use',
  unload: 'ask-technician',
  open: 'ask-technician',
  calendar: 'needs-reading',
  'out-of-service': 'do-not-use',
};

function KilnCard({ due }: { due: KilnDue }) {
  const { why, kiln, load, title, what, act } = due;
  return (
    <Card
      tone={KILN_TONES[why] ?? null}
      icon={
        load ? <LoadStateIcon state={load.state} /> : why === 'out-of-service' && <BoardIcon state={why} />
      }
      title={title}
      name={
        <span>
          {load && (
            <>
              <a href={loadAddress(load.number)}>Load {load.number}</a>,{' '}
            </>
          )}
          <a href={`/kilns/${kiln.code}`}>{kiln.name}</a>
        </span>
      }
      what={what}
      act={act}
    />
  );
}
