import type { ContainerReader } from '../../server/safety/actions/container-reader.ts';
import { CONTAINER_KINDS } from '../../server/safety/container-words.ts';
import type { ContainerNow } from '../../server/safety/service/containers.ts';
import { Empty } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { Act, PlainAct } from '../ui/verdict.tsx';
import { containerAt, HowFull } from './container-parts.tsx';
import { Caution, NotHarmless } from './parts.tsx';
import { Pictograms } from './pictogram.tsx';

interface Props {
  containers: ContainerNow[];
  /** With those that are out of use. */
  retired: boolean;
  reader: ContainerReader;
}

/** Every rinse bucket, the mixed reclaim and the waste drums: how full, and what is in them. */
export function ContainersPage({ containers, retired, reader }: Props) {
  return (
    <>
      <h1>Rinse and waste</h1>
      <p class="narrow">
        Rinse tools in the glaze's own bucket, never under the tap. What settles goes back into the glaze.
      </p>
      {containers.length === 0 ? (
        <Empty title="No container yet">
          <p>Each glaze gets a rinse bucket of its own; one more takes mixed rinse, one takes waste.</p>
          {reader.technician && <Act href="/containers/new" label="Put up the first one" />}
        </Empty>
      ) : (
        <section class="panel">
          <Table
            columns={[
              { label: 'Container', main: true, wraps: true },
              { label: 'In it' },
              { label: 'Of', wraps: true },
              { label: 'Hazards' },
            ]}
            rows={containers.map((container) => ({
              key: container.code,
              cells: [
                <>
                  <a href={containerAt(container)}>{container.name}</a>{' '}
                  <span class="code">{container.code}</span>
                  <br />
                  <span class="soft">
                    {[CONTAINER_KINDS[container.kind], container.place, container.retired && 'out of use']
                      .filter(Boolean)
                      .join(', ')}
                  </span>
                </>,
                <HowFull key="full" container={container} reader={reader} />,
                container.recipes.join(', ') || 'empty',
                <Hazards key="hazards" container={container} />,
              ],
            }))}
          />
          <NotHarmless />
        </section>
      )}
      {reader.technician && (
        <p class="row">
          {containers.length > 0 && <PlainAct href="/containers/new" label="New container" />}
          {!retired && <PlainAct href="/containers?retired=yes" label="Show those out of use too" />}
        </p>
      )}
      <p>
        <a href="/safety">Back to safety</a>
      </p>
      <Caution />
    </>
  );
}

function Hazards({ container: { inIt, facts } }: { container: ContainerNow }) {
  if (facts.portions.length === 0) return null;
  return (
    <>
      <Pictograms codes={inIt.pictograms} size={32} />
      {inIt.unknown.length > 0
        ? 'partly unknown'
        : inIt.pictograms.length === 0 && (inIt.classified.length > 0 ? 'classified materials' : 'no class')}
    </>
  );
}
