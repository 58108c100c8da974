import type { ComponentChildren } from 'preact';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import { SubPage } from './parts.tsx';

interface TabletSubPageProps {
  bucket: BucketNow;
  title: string;
  children: ComponentChildren;
}

/** A page of one bucket at the wall tablet: one thing to do, and the way back to the wall. */
export function TabletSubPage({ bucket, title, children }: TabletSubPageProps) {
  const back = (
    <p class="row">
      <a class="plain" href={`/tablet/buckets/${bucket.code}`}>
        Back to {bucket.name}
      </a>
      <a class="plain" href="/tablet">
        Back to the wall
      </a>
    </p>
  );
  return (
    <SubPage bucket={bucket} title={title} back={back}>
      {children}
    </SubPage>
  );
}
