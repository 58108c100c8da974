import { eq } from 'drizzle-orm';
import { beforeAll, expect, it } from 'vitest';
import { correctOutcome, faultTables } from '../../server/kilns/service/index.ts';
import { pieceGlazes, pieceOutcomes, pieces } from '../../server/ware/schema.ts';
import { aLoadedKiln, emptied } from '../helpers/firing.ts';
import { readAs } from '../helpers/loads.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';

let s: Studio;
beforeAll(async () => {
  s = await aStudio();
});

const tables = (asked = {}) => faultTables(readAs(s, s.people.technician), asked);

it('a piece counts once for a bucket, by its last coat from there and by its newest word', async () => {
  const { technician: wren } = s.people;
  const bucket = await s.aBucket({ sg: 1.5, name: 'Twice Dipped' });
  const one = await aLoadedKiln(s, { bucket, cone: '5', howMany: 3 });
  const [first, second] = one.pieces as [number, number];
  const { db } = s.database;
  const [row] = await db.select({ id: pieces.id }).from(pieces).where(eq(pieces.number, first));
  const id = row?.id ?? 0;
  const [coat] = await db.select().from(pieceGlazes).where(eq(pieceGlazes.pieceId, id));
  if (!coat) throw new Error('no coat');
  await db.insert(pieceGlazes).values({ ...coat, position: 2, gravity: 1.6, reading: 77 });
  await emptied(s, one.number, [
    { piece: first, outcome: 'crawl' },
    { piece: second, outcome: 'crawl' },
  ]);
  const before = await tables();
  expect(before.overall).toMatchObject({ faulty: 2, all: 3 });
  expect(before.buckets).toMatchObject([
    { share: { faulty: 2, all: 3 }, outcomes: [{ outcome: 'crawl', count: 2 }] },
  ]);
  expect(before.readings.map(({ words, share }) => [words.includes('at 1.60'), share.all])).toEqual([
    [true, 1],
    [false, 2],
  ]);
  expect(before.pieces.find(({ number }) => number === first)?.glazes).toHaveLength(2);
  expect(before.pieces.find(({ number }) => number === second)?.glazes).toHaveLength(1);

  await s.as(wren, (act) => correctOutcome(act, one.number, { piece: first, outcome: 'run' }));
  const after = await tables();
  expect(after.outcomes).toEqual([
    { outcome: 'crawl', count: 1 },
    { outcome: 'run', count: 1 },
  ]);
  expect(after.kilns).toMatchObject([{ share: { faulty: 2, all: 3 }, outcomes: after.outcomes }]);
  expect((await tables({ outcome: 'run' })).pieces.map(({ number }) => number)).toEqual([first]);
});

it('the API cuts a long table, the largest share first, and says how much is left', async () => {
  const bucket = await s.aBucket({ sg: 1.47, name: 'Well Used' });
  const { number, pieces: stood } = await aLoadedKiln(s, { bucket, cone: '4', howMany: 1 });
  await emptied(s, number);
  const { db } = s.database;
  const [like] = await db
    .select()
    .from(pieces)
    .where(eq(pieces.number, stood[0] ?? 0));
  const [coat] = await db
    .select()
    .from(pieceGlazes)
    .where(eq(pieceGlazes.pieceId, like?.id ?? 0));
  const [outcome] = await db
    .select()
    .from(pieceOutcomes)
    .where(eq(pieceOutcomes.pieceId, like?.id ?? 0));
  if (!like || !coat || !outcome) throw new Error('nothing to copy');
  const { id: _, ...piece } = like;
  const { id: __, ...word } = outcome;
  const made = await db
    .insert(pieces)
    .values(Array.from({ length: 130 }, (_, i) => ({ ...piece, number: 1000 + i })))
    .returning({ id: pieces.id });
  await db.insert(pieceGlazes).values(made.map(({ id }, i) => ({ ...coat, pieceId: id, reading: 1000 + i })));
  await db
    .insert(pieceOutcomes)
    .values(made.map(({ id }, i) => ({ ...word, pieceId: id, outcome: i === 129 ? 'bloat' : 'good' })));

  const answer = (await s.api(s.people.technician, 'GET', '/faults?outcome=bloat')).json();
  expect(answer.readings).toHaveLength(100);
  expect(answer.readings[0].what).toContain('number 1129');
  expect(answer.left).toEqual({
    buckets: 0,
    batches: 0,
    readings: 33,
    levels: 0,
    kilns: 0,
    clays: 0,
    coats: 0,
    counts: 0,
    gravities: 0,
  });
  expect(answer.overall).toMatchObject({ faulty: 1, all: 134 });
});
