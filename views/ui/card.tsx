import type { ComponentChildren } from 'preact';
import type { StateName } from '../../server/buckets/verdict.ts';
import { Gauge, type GaugeProps } from './gauge.tsx';
import { Chip, StateIcon } from './icons.tsx';

export interface BucketCardProps {
  href: string;
  state: StateName;
  words: string;
  name: string;
  code: string;
  colour: string;
  /** Left out where a gravity says nothing, as for a bucket without a band. */
  gauge?: GaugeProps;
  /** What to do next, in a few words. */
  next?: string;
  /** Last read and stirred, or what else there is to know. */
  facts?: string;
  /** What is special about it, such as a surprise glaze. */
  note?: string | undefined;
  /** Place and cone. */
  place?: string;
  /** One lower than the heading above the cards. */
  level?: 2 | 3;
}

/** A bucket on the glaze wall: what state it is in, before what it is called. */
function BucketCard(props: BucketCardProps) {
  const Heading = props.level === 3 ? 'h3' : 'h2';
  return (
    <article class={`lid is-${props.state}`}>
      <p class="lid-state">
        <StateIcon state={props.state} />
        {props.words}
      </p>
      <Heading class="lid-name">
        <Chip colour={props.colour} />
        <span>
          <a class="lid-link" href={props.href}>
            {props.name}
          </a>{' '}
          <span class="code">{props.code}</span>
        </span>
      </Heading>
      {props.gauge && <Gauge {...props.gauge} />}
      <p class="lid-next">
        {props.next && <b>{props.next}</b>}
        {props.facts && <small>{props.facts}</small>}
      </p>
      {props.note && <p class="lid-place">{props.note}</p>}
      {props.place && <p class="lid-place">{props.place}</p>}
    </article>
  );
}

/** The glaze wall, or one group of it. */
export function Wall({ cards }: { cards: BucketCardProps[] }) {
  return (
    <ul class="wall">
      {cards.map((card) => (
        <li key={card.code}>
          <BucketCard {...card} />
        </li>
      ))}
    </ul>
  );
}

interface PlateProps {
  name: string;
  code: string;
  colour: string;
  children?: ComponentChildren;
}

/** Heads a bucket's page: chip and name large enough to be compared with the bucket in front of the reader. */
export function Plate({ name, code, colour, children }: PlateProps) {
  return (
    <header class="plate">
      <Chip colour={colour} />
      <h1>
        {name} <span class="code">{code}</span>
      </h1>
      {children && <p>{children}</p>}
    </header>
  );
}
