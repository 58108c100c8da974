import type { ComponentChildren } from 'preact';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import { STATE_WORDS } from '../../server/buckets/verdict.ts';
import { Plate } from '../ui/card.tsx';
import { State } from '../ui/icons.tsx';
import { Housekeeping } from './parts.tsx';

interface TabletSubPageProps {
  bucket: BucketNow;
  title: string;
  children: ComponentChildren;
}

/** A page of one bucket at the wall tablet: one thing to do, and the way back to the wall. */
export function TabletSubPage({ bucket, title, children }: TabletSubPageProps) {
  const { state } = bucket.verdict;
  return (
    <>
      <Plate name={bucket.name} code={bucket.code} colour={bucket.colour}>
        <State state={state} words={STATE_WORDS[state]} />
      </Plate>
      <h2>{title}</h2>
      {children}
      <p class="row">
        <a class="plain" href={`/tablet/buckets/${bucket.code}`}>
          Back to {bucket.name}
        </a>
        <a class="plain" href="/tablet">
          Back to the wall
        </a>
      </p>
      <Housekeeping />
    </>
  );
}
