import { z } from 'zod';
import { KINDS } from '../../buckets/kinds.ts';
import { type PastReading, recordPastReadings } from '../../buckets/service/index.ts';
import type { Instant } from '../../core/clock.ts';
import { Invalid, NotFound } from '../../core/errors.ts';
import { code, email, parse } from '../../core/forms.ts';
import { listPeople } from '../../members/service/people.ts';
import { faultsOf, type Values } from './columns.ts';
import { type Brought, importKind, type Read, type Setting } from './kind.ts';

interface ReadingLine {
  bucket: string;
  /** Who took it; null: nobody is named. */
  by: string | null;
  body: PastReading['body'];
}

const place = z.object({ bucket: code(), by: email().optional() });

/** Readings of the past, into the ledgers of buckets that are here. */
export const readings = importKind<ReadingLine>({
  name: 'readings',
  nouns: ['reading', 'readings'],
  sameAs: 'The same bucket and time',
  columns: [
    { key: 'bucket', header: 'bucket', also: ['bucket code', 'code'], reads: 'text', isRequired: true },
    {
      key: 'happenedAt',
      header: 'when',
      also: ['time', 'date', 'date and time'],
      reads: 'time',
      isRequired: true,
    },
    { key: 'value', header: 'sg', also: ['specific gravity', 'gravity'], reads: 'number' },
    { key: 'grams', header: 'grams', also: ['g', 'weight g'], reads: 'number' },
    { key: 'millilitres', header: 'millilitres', also: ['ml', 'milliliters', 'volume ml'], reads: 'number' },
    { key: 'temperatureC', header: 'temperature', also: ['temperature c'], reads: 'number' },
    { key: 'stirred', header: 'stirred', reads: 'yes-no' },
    { key: 'by', header: 'by', also: ['who', 'email'], reads: 'text' },
    { key: 'note', header: 'note', also: ['notes', 'remark'], reads: 'text' },
  ],
  read: readReading,
  identity: ({ bucket, body }) => `${bucket.toLowerCase()} ${body.happenedAt}`,
  async bring(setting, lines) {
    const people = new Map((await listPeople(setting.act)).map((person) => [person.email, person]));
    const brought: Brought = { faults: [], added: 0, leftAlone: [], invitations: [] };
    const known: Read<Placed>[] = [];
    for (const { line, value } of lines) {
      const by = (value.by === null ? setting.act.actor : people.get(value.by))?.id;
      const message = 'Nobody here has this address. Leave it empty, or invite them first.';
      if (by !== undefined)
        known.push({ line, value: { bucket: value.bucket, reading: { by, body: value.body } } });
      else brought.faults.push(...faultsOf(line, [{ path: 'by', message }], setting.places));
    }
    for (const ofBucket of byBucket(known)) await bringInto(setting, ofBucket, brought);
    return brought;
  },
});

interface Placed {
  bucket: string;
  reading: PastReading;
}

function byBucket(lines: Read<Placed>[]): Read<Placed>[][] {
  const groups = new Map<string, Read<Placed>[]>();
  for (const one of lines) {
    const key = one.value.bucket.toLowerCase();
    const group = groups.get(key);
    if (group) group.push(one);
    else groups.set(key, [one]);
  }
  // Always in one order, so that no two imports wait for each other.
  return [...groups.entries()].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, group]) => group);
}

async function bringInto({ act, places }: Setting, lines: Read<Placed>[], brought: Brought): Promise<void> {
  const inOrder = [...lines].sort((a, b) => happened(a) - happened(b));
  const bucket = inOrder[0]?.value.bucket ?? '';
  const fault = (line: number, path: string, message: string) =>
    brought.faults.push(...faultsOf(line, [{ path, message }], places));
  try {
    const leftOut = await recordPastReadings(
      act,
      bucket,
      inOrder.map(({ value }) => value.reading),
    );
    for (const i of leftOut)
      brought.leftAlone.push({ line: inOrder[i]?.line ?? 0, why: `${bucket} has this reading.` });
    brought.added += inOrder.length - leftOut.size;
  } catch (error) {
    if (error instanceof NotFound) for (const { line } of inOrder) fault(line, 'bucket', error.message);
    else if (error instanceof Invalid)
      for (const { path, message } of error.errors) {
        const [at = '', ...field] = path.split('.');
        fault(inOrder[Number(at)]?.line ?? 0, field.join('.'), message);
      }
    else throw error;
  }
}

const happened = ({ value }: Read<Placed>): Instant => value.reading.body.happenedAt;

/** A bare gravity is taken as one read from a hydrometer, which is the least exact of the ways. */
function readReading({ bucket, by, value, grams, millilitres, ...rest }: Values): ReadingLine {
  const isWeighed = grams !== undefined || millilitres !== undefined;
  if ((value !== undefined) === isWeighed)
    throw new Invalid([{ path: '', message: 'Give either the gravity, or grams and millilitres.' }]);
  const named = parse(place, { bucket, by });
  const how = isWeighed ? { method: 'weighed', grams, millilitres } : { method: 'hydrometer', value };
  const { happenedAt, ...body } = parse(KINDS.readings.body, { ...rest, ...how });
  if (happenedAt === undefined) throw new Invalid([{ path: 'happenedAt', message: 'Is empty.' }]);
  return { bucket: named.bucket, by: named.by ?? null, body: { ...body, happenedAt } };
}
