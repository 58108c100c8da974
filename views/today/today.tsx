import type { Due } from '../../server/buckets/service/index.ts';
import type { DueWords } from '../../server/today/words.ts';
import { Chip, StateIcon } from '../ui/icons.tsx';
import { Empty } from '../ui/panel.tsx';

interface Thing {
  due: Due;
  words: DueWords;
}

export function TodayPage({ things }: { things: Thing[] }) {
  return (
    <>
      <h1>Today</h1>
      <DueList things={things} />
      <h2>Look after the wall</h2>
      <nav class="row" aria-label="Look after the wall">
        <a class="plain" href="/round">
          Morning round
        </a>
        <a class="plain" href="/buckets/new">
          New bucket
        </a>
        <a class="plain" href="/batches">
          Batches
        </a>
        <a class="plain" href="/recipes">
          Recipes
        </a>
        <a class="plain" href="/gear">
          Gear
        </a>
        <a class="plain" href="/buckets/retired">
          Retired buckets
        </a>
        <a class="plain" href="/history">
          History
        </a>
      </nav>
    </>
  );
}

/** What needs somebody, worst first; it asks for itself again, since time alone adds to it. */
export function DueList({ things }: { things: Thing[] }) {
  const count = `${things.length} ${things.length === 1 ? 'thing needs' : 'things need'} somebody`;
  return (
    <div id="due" hx-get="/today" hx-trigger="every 60s" hx-target="this" hx-swap="outerMorph">
      {things.length === 0 ? (
        <Empty title="Nothing needs you">
          <p>Every bucket is looked after. A bucket shows here as soon as one is not.</p>
          <p>
            <a href="/wall">See the glaze wall</a>
          </p>
        </Empty>
      ) : (
        <>
          <p class="soft">
            <span data-announce={count}>{count}</span>, worst first.
          </p>
          <ul class="dues">
            {things.map(({ due, words }) => (
              <li key={`${due.bucket.code} ${due.why} ${due.problem?.number ?? ''}`}>
                <DueCard due={due} words={words} />
              </li>
            ))}
          </ul>
        </>
      )}
    </div>
  );
}

function DueCard({ due, words }: Thing) {
  const { code, name, colour, place } = due.bucket;
  return (
    <article class={words.state ? `due is-${words.state}` : 'due'}>
      <p class="lid-state">
        {words.state && <StateIcon state={words.state} />}
        {words.title}
      </p>
      <h2 class="lid-name">
        <Chip colour={colour} />
        <span>
          <a href={`/buckets/${code}`}>{name}</a> <span class="code">{code}</span>
        </span>
      </h2>
      <p>{words.what}</p>
      {place && <p class="lid-place">{place}</p>}
      <a class="plain" href={words.act.href}>
        {words.act.label}
      </a>
    </article>
  );
}
