import { volume } from '../../server/core/units.ts';
import type { ContainerReader } from '../../server/safety/actions/container-reader.ts';
import { NEARLY_FULL } from '../../server/safety/container.ts';
import { contentWords } from '../../server/safety/container-words.ts';
import type { ContainerNow } from '../../server/safety/service/containers.ts';
import { Table } from '../ui/table.tsx';
import { NotHarmless } from './parts.tsx';
import { Pictograms } from './pictogram.tsx';

export const containerAt = ({ code }: { code: string }): string => `/containers/${encodeURIComponent(code)}`;

/** '4.5 L of 10 L', with a bar of it. */
export function HowFull({ container, reader }: { container: ContainerNow; reader: ContainerReader }) {
  const { facts, capacityLitres } = container;
  const words = `${volume(facts.litres, reader.units)} of ${volume(capacityLitres, reader.units)}`;
  return (
    <span class="how-full">
      <span class="num">{words}</span>
      <meter
        aria-label={`How full: ${words}`}
        min={0}
        max={capacityLitres}
        high={NEARLY_FULL * capacityLitres}
        optimum={0}
        value={Math.min(facts.litres, capacityLitres)}
      />
    </span>
  );
}

/** What the law's symbols say of what is in it, and what nobody knows. */
export function InItHazards({ container }: { container: ContainerNow }) {
  const { classes, signalWord, pictograms, classified, unknown } = container.inIt;
  const nothing = classes.length + classified.length + unknown.length === 0;
  return (
    <>
      {signalWord && (
        <p>
          <b>{signalWord}</b>
        </p>
      )}
      <Pictograms codes={pictograms} size={56} />
      {classes.length > 0 && <p>The glazes in it, undiluted: {classes.join(', ')}.</p>}
      {classified.length > 0 && <p>Classified materials in it: {classified.join(', ')}.</p>}
      {unknown.length > 0 && <p>Nobody has said what is known of: {unknown.join(', ')}.</p>}
      {nothing && <p>No hazard class comes of what is in it.</p>}
      <NotHarmless />
    </>
  );
}

/** Material by material, the most first. */
export function ContentsTable({
  contents: { materials, unlisted },
  reader,
}: {
  contents: ContainerNow['contents'];
  reader: ContainerReader;
}) {
  return (
    <Table
      columns={[
        { label: 'Material', main: true },
        { label: 'Dry', number: true, keepLabel: true },
      ]}
      rows={[...materials, ...unlisted].map((line, i) => ({
        key: `${i} ${line.name}`,
        cells: [line.name, contentWords(line, reader.units)],
      }))}
    />
  );
}
