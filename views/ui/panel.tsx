import type { ComponentChildren } from 'preact';
import type { StateName } from '../../server/buckets/verdict.ts';
import { StateIcon } from './icons.tsx';

interface PanelProps {
  title?: ComponentChildren;
  id?: string;
  children: ComponentChildren;
}

export function Panel({ title, id, children }: PanelProps) {
  return (
    <section class="panel" id={id}>
      {title && <h2>{title}</h2>}
      {children}
    </section>
  );
}

/** Something to know before going on. The tone only colours what the words already say. */
export function Notice({ title, tone, children }: PanelProps & { tone?: StateName }) {
  return (
    <section class={tone ? `notice is-${tone}` : 'notice'}>
      {title && <h2>{title}</h2>}
      {children}
    </section>
  );
}

/** Where something will be one day: says what is missing and offers the act that brings the first one. */
export function Empty({ title, children }: { title: string; children?: ComponentChildren }) {
  return (
    <section class="empty">
      <h2>{title}</h2>
      {children}
    </section>
  );
}

/** Details that most people need rarely. */
export function More({
  summary,
  open,
  children,
}: {
  summary: string;
  open?: boolean;
  children: ComponentChildren;
}) {
  return (
    <details class="more" open={open}>
      <summary>{summary}</summary>
      {children}
    </details>
  );
}

/** Terms with their values, such as a recipe or how to care for a bucket. */
export function Facts({ items }: { items: [term: string, value: ComponentChildren][] }) {
  return (
    <dl class="facts">
      {items.map(([term, value]) => (
        <>
          <dt>{term}</dt>
          <dd>{value}</dd>
        </>
      ))}
    </dl>
  );
}

export interface FilterOption {
  href: string;
  label: string;
  current: boolean;
}

/** Links that narrow a list, one of them current. */
export function Filter({ label, options }: { label: string; options: FilterOption[] }) {
  return (
    <nav class="filter" aria-label={label}>
      <span class="soft">{label}</span>
      {options.map((option) => (
        <a key={option.href} href={option.href} aria-current={option.current ? 'true' : undefined}>
          {option.label}
        </a>
      ))}
    </nav>
  );
}

export interface FlashProps {
  words: string;
  /** 'warned': it was done, but something about it is amiss. */
  tone?: 'done' | 'warned' | 'refused';
  /** Takes back what was just done. */
  undo?: { action: string; label: string; idempotencyKey: string; fields?: Record<string, string | number> };
  /** Where to say more about it. */
  more?: { href: string; label: string };
}

const FLASH_STATES = { done: 'ready', warned: 'ask-technician', refused: 'do-not-use' } as const;

/** What came of the last act. */
export function Flash({ words, tone = 'done', undo, more }: FlashProps) {
  const state = FLASH_STATES[tone];
  return (
    <div class={`flash is-${state}`} role="status" tabIndex={-1}>
      <p>
        <StateIcon state={state} />
        {words}
      </p>
      {more && (
        <a class="plain" href={more.href}>
          {more.label}
        </a>
      )}
      {undo && (
        <form method="post" action={undo.action} hx-sync="drop">
          <input type="hidden" name="key" value={undo.idempotencyKey} />
          {Object.entries(undo.fields ?? {}).map(([name, value]) => (
            <input key={name} type="hidden" name={name} value={value} />
          ))}
          <button class="plain" type="submit">
            {undo.label}
          </button>
        </form>
      )}
    </div>
  );
}

/** Where one may go from here. */
export function Links({ label, links }: { label: string; links: readonly (readonly [string, string])[] }) {
  return (
    <nav class="row" aria-label={label}>
      {links.map(([href, words]) => (
        <a key={href} class="plain" href={href}>
          {words}
        </a>
      ))}
    </nav>
  );
}

export interface PagesProps {
  /** Where the newest page is; null on that page itself. */
  newest: string | null;
  /** Where the page after this one is; null: there is none. */
  older: string | null;
  /** What the older ones are called where several lists stand on a page. */
  olderWords?: string;
  /** Other ways on from the list. */
  children?: ComponentChildren;
}

/** The ways through a long list, under it; nothing where it is short. */
export function Pages({ newest, older, olderWords = 'Older', children }: PagesProps) {
  if (newest === null && older === null && !children) return null;
  return (
    <p class="row">
      {newest !== null && (
        <a class="plain" href={newest}>
          Newest
        </a>
      )}
      {older !== null && (
        <a class="plain" href={older}>
          {olderWords}
        </a>
      )}
      {children}
    </p>
  );
}
