import type { BucketNow } from '../../server/buckets/service/index.ts';
import { Notice, Panel } from '../ui/panel.tsx';

/** A studio's bucket of mixed leftovers, as others refer to it. */
export type Reclaim = Pick<BucketNow, 'code' | 'name'>;

/** Leads to the container that its rinse is kept in, by whatever words the studio has for it. */
export const RinseLink = ({ bucket }: { bucket: Pick<BucketNow, 'code' | 'rinseBucket'> }) => (
  <a href={`/buckets/${bucket.code}/rinse`}>{bucket.rinseBucket || 'its own rinse bucket'}</a>
);

/** How a glaze's own rinse goes back, and where everything else goes. */
export function RinseBack({ bucket, reclaim }: { bucket: BucketNow; reclaim: Reclaim[] }) {
  if (bucket.isReclaim) return <IntoReclaim mesh={bucket.sieveMesh} />;
  return (
    <>
      <Panel title="Its own rinse only">
        <p>
          From: <RinseLink bucket={bucket} />
          {!bucket.rinseBucket && ', and no other'}. What goes back leaves the books of that container.
        </p>
        <ol>
          <li>Let the rinse settle overnight.</li>
          {bucket.facts.hasSolubles ? (
            <li>Leave the water on: this recipe has solubles, which would leave with it.</li>
          ) : (
            <li>Take the clear water off the top.</li>
          )}
          <li>
            Sieve {bucket.facts.hasSolubles ? 'all of it' : 'what is left'}, {bucket.sieveMesh} mesh.
          </li>
          <li>Add it back, stir to the bottom, check SG.</li>
        </ol>
        <p class="soft">Common practice, no source.</p>
      </Panel>
      <Notice title="Shared rinse never goes back to one glaze">
        <p>
          Water in which several glazes were washed is mixed reclaim.{' '}
          {reclaim.length === 0 ? (
            'It needs a bucket of its own, marked as mixed reclaim.'
          ) : (
            <>
              It goes into{' '}
              {reclaim.map(({ code, name }, i) => (
                <>
                  {i > 0 && ' or '}
                  <a href={`/buckets/${code}/add?what=rinse`}>
                    {name} {code}
                  </a>
                </>
              ))}
              .
            </>
          )}
        </p>
      </Notice>
    </>
  );
}

function IntoReclaim({ mesh }: { mesh: number }) {
  return (
    <Panel title="Shared rinse goes in here">
      <ol>
        <li>Let it settle overnight.</li>
        <li>Take the clear water off the top.</li>
        <li>Sieve what is left, {mesh} mesh.</li>
        <li>Add it, stir to the bottom, check SG.</li>
      </ol>
      <p>
        It comes from <a href="/containers">the container of mixed reclaim</a>, and leaves its books.
      </p>
      <p class="soft">Common practice, no source.</p>
    </Panel>
  );
}

/** On the page of a bucket of mixed leftovers. */
export function SurpriseGlaze() {
  return (
    <Notice title="Surprise glaze">
      <p>
        Mixed reclaim of many glazes: nobody knows what is in it, and it fires differently with every filling.
        Not for the inside of anything that holds food.
      </p>
    </Notice>
  );
}
