import { gravityFigure } from '../buckets/sentences.ts';
import { mass, type UnitSystem, volume } from '../core/units.ts';
import type {
  ContainerFacts,
  ContainerKind,
  ContainerPayload,
  ContentLine,
  Disposal,
  DisposalNote,
  Leaving,
} from './container.ts';

/** What a container is, as people call it. */
export const CONTAINER_KINDS: Record<ContainerKind, string> = {
  rinse: 'Rinse bucket',
  reclaim: 'Mixed reclaim',
  waste: 'Waste',
};

export const DISPOSAL_WORDS: Record<Disposal, string> = {
  drain: 'Down the drain',
  carrier: 'Fetched by a licensed carrier',
  fired: 'Fired solid',
  landfill: 'Landfill, as the local code allows',
};

interface Named {
  code: string;
  name: string;
}

interface Row {
  entry: ContainerPayload;
  bucket: Named | null;
  other: Named | null;
}

/** A row of a container's ledger as a short sentence without a full stop: 'Tools rinsed in it, 2 L, SG not checked'. */
export function containerWords({ entry, bucket, other }: Row, units: UnitSystem): string {
  const litres = 'litres' in entry ? volume(entry.litres, units) : '';
  switch (entry.kind) {
    case 'in': {
      const from =
        entry.how === 'draw-off'
          ? `Drawn off from ${namedWords(bucket)}`
          : bucket
            ? `Tools with ${namedWords(bucket)} rinsed in it`
            : 'Rinsed or poured in';
      return `${from}, ${litres}, ${gravityWords(entry.specificGravity)}`;
    }
    case 'moved-in':
      return `Moved here from ${namedWords(other)}, ${litres}`;
    case 'moved-out':
      return `Moved to ${namedWords(other)}, ${litres}${clearWords(entry)}`;
    case 'sieved-back':
      return `Sieved back into ${namedWords(bucket)}, ${litres}${clearWords(entry)}`;
    case 'disposal':
      return [
        `Disposed of, ${litres}${clearWords(entry)}`,
        `${lowered(DISPOSAL_WORDS[entry.how])}, by ${entry.byWhom}`,
        ...(entry.manifest === null ? [] : [`number ${entry.manifest}`]),
        ...(entry.permittedBy === null ? [] : [`allowed by ${entry.permittedBy}`]),
      ].join('; ');
    case 'level':
      return `Level seen: ${litres}${
        entry.specificGravity === null ? '' : `, ${gravityWords(entry.specificGravity)}`
      }`;
    case 'void':
      return `Row ${entry.voids} struck out`;
  }
}

const namedWords = (named: Named | null): string => (named ? `${named.name} ${named.code}` : 'elsewhere');

const lowered = (words: string): string => `${words.charAt(0).toLowerCase()}${words.slice(1)}`;

const clearWords = ({ solidsKg }: Leaving): string => (solidsKg === 0 ? ' of clear water' : '');

/** At or under 1 nothing but water. */
const gravityWords = (gravity: number | null): string =>
  gravity === null ? 'SG not checked' : gravity <= 1 ? 'clear water' : `SG ${gravityFigure(gravity)}`;

/** How much of one material: '0.31 kg and an unknown amount'. */
export function contentWords({ kg, more }: ContentLine, units: UnitSystem): string {
  const known = kg >= 0.0005 ? mass(kg, units) : kg > 0 ? 'under 1 g' : '';
  if (!more) return known || 'only what dissolved';
  return known ? `${known} and an unknown amount` : 'an unknown amount';
}

/** Lines of contents that a sentence takes. */
const MOST_LINES = 30;

/** What is thrown away, as the safety log keeps it: 'Waste drum DRUM: Silica 0.31 kg, Whiting an unknown amount.' */
export function disposalWords(
  container: Named,
  disposal: Pick<DisposalNote, 'how' | 'byWhom' | 'contents' | 'classes' | 'permittedBy'>,
): string {
  const { how, byWhom, contents, classes, permittedBy } = disposal;
  const lines = [...contents.materials, ...contents.unlisted].map(
    (line) => `${line.name} ${contentWords(line, 'metric')}`,
  );
  const more = lines.length - MOST_LINES;
  return [
    `${namedWords(container)}: ${lines.slice(0, MOST_LINES).join(', ')}${more > 0 ? ` and ${more} more` : ''}.`,
    classes.length > 0 && `The glazes in it, undiluted: ${classes.join(', ')}.`,
    `${DISPOSAL_WORDS[how]}, by ${byWhom}.`,
    permittedBy !== null && `Allowed by ${permittedBy}.`,
  ]
    .filter(Boolean)
    .join(' ');
}

/** What the books cannot account for, as a sentence. */
export function containerDoubtWords({ number, what }: ContainerFacts['doubts'][number]): string {
  const why = {
    emptied: 'more left than was in it by the books',
    'over-capacity': 'more went in than it holds',
    'more-solids': 'more dry glaze left than was in it by the books',
  }[what];
  return `Row ${number}: ${why}.`;
}
