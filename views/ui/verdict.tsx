import type { ComponentChildren } from 'preact';
import type { StateName } from '../../server/buckets/verdict.ts';
import { StateIcon } from './icons.tsx';

interface VerdictPanelProps {
  state: StateName;
  words: string;
  why: ComponentChildren;
  /** More under the reason, such as the gauge. */
  children?: ComponentChildren;
}

/** The largest thing on a bucket's page. */
export function VerdictPanel({ state, words, why, children }: VerdictPanelProps) {
  return (
    <section class={`verdict is-${state}`} data-announce={words}>
      <StateIcon state={state} />
      <h2>{words}</h2>
      <p class="verdict-why">{why}</p>
      {children && <div class="verdict-more">{children}</div>}
    </section>
  );
}

/** Where an act leads: a page to open, or a form that records it in one tap. */
export type ActTarget =
  | { href: string }
  | { post: string; idempotencyKey: string; fields?: Record<string, string | number> };

type ActProps = ActTarget & { label: ComponentChildren; small?: ComponentChildren };

/** The one big act of a page; the small line holds what the hurried reader may skip. */
export const Act = (props: ActProps) => <Tap {...props} look="do" />;

/** One of the quiet acts, usually inside `Acts`. */
export const PlainAct = (props: ActProps) => <Tap {...props} look="plain" />;

/** Four acts side by side, two by two on a phone. */
export function Acts({ children }: { children: ComponentChildren }) {
  return <div class="acts">{children}</div>;
}

function Tap({ label, small, look, ...target }: ActProps & { look: 'do' | 'plain' }) {
  const words = (
    <>
      {label}
      {small && <small>{small}</small>}
    </>
  );
  if ('href' in target)
    return (
      <a class={look} href={target.href}>
        {words}
      </a>
    );
  return (
    <form method="post" action={target.post} hx-sync="drop">
      <input type="hidden" name="key" value={target.idempotencyKey} />
      {Object.entries(target.fields ?? {}).map(([name, value]) => (
        <input key={name} type="hidden" name={name} value={value} />
      ))}
      <button class={look} type="submit">
        {words}
      </button>
    </form>
  );
}
