import { eq } from 'drizzle-orm';
import { beforeAll, expect, it } from 'vitest';
import { type FaultLine, faultTables } from '../../server/kilns/service/index.ts';
import { pieceGlazes, pieces, wareSettings } from '../../server/ware/schema.ts';
import { WARE_DEFAULTS } from '../../server/ware/settings.ts';
import { aLoadedKiln, emptied } from '../helpers/firing.ts';
import { readAs } from '../helpers/loads.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';

type Coat = Partial<typeof pieceGlazes.$inferInsert>;

let s: Studio;
/** Eight pieces out of two loads, the first four of them crawled. The band of their bucket is 1.44 to 1.48. */
let fired: { number: number; id: number; load: number }[];

beforeAll(async () => {
  s = await aStudio();
  const bucket = await s.aBucket({ sg: 1.46, name: 'Pebble' });
  fired = [];
  for (const [cone, outcome] of [
    ['5', 'crawl'],
    ['6', 'good'],
  ] as const) {
    const { number: load, pieces: stood } = await aLoadedKiln(s, { bucket, cone, howMany: 4 });
    expect(stood).toHaveLength(4);
    await emptied(s, load, outcome === 'good' ? [] : stood.map((piece) => ({ piece, outcome })));
    fired.push(...stood.map((number) => ({ number, id: 0, load })));
  }
  for (const { id, number } of await s.database.db.select().from(pieces))
    for (const piece of fired.filter((one) => one.number === number)) piece.id = id;
});

const tables = (asked = {}) => faultTables(readAs(s, s.people.technician), asked);
const shares = (lines: FaultLine[]) =>
  Object.fromEntries(lines.map(({ words, share }) => [words, [share.faulty, share.all]]));

/** Each of the eight with these coats, in place of what it was glazed with. */
async function wear(coats: Coat[][]): Promise<void> {
  const { db } = s.database;
  const [like] = await db.select().from(pieceGlazes);
  if (!like) throw new Error('no coat to copy');
  const bare = { ...like, seconds: null, way: null, coatMm: null, coatFrom: null, scratchMm: null };
  await db.delete(pieceGlazes);
  await db
    .insert(pieceGlazes)
    .values(
      fired.flatMap(({ id: pieceId, load }, i) =>
        (coats[i] ?? []).map((coat, at) => ({ ...bare, ...coat, pieceId, load, position: at + 1 })),
      ),
    );
}

const outside = (more: Coat): Coat => ({ face: 'outside', ...more });
const inside = (more: Coat): Coat => ({ face: 'inside', ...more });

it('says nothing of coats and counts where nobody measured and nobody counted', async () => {
  const { coats, counts, gravities } = await tables();
  expect([coats, counts]).toEqual([[], []]);
  expect(shares(gravities)).toEqual({ 'within the band of its bucket': [4, 8] });
});

it('tells coats apart by the limits of the studio, a scratch before an estimate, unknown ones left out', async () => {
  await wear([
    [outside({ coatMm: 0.3 })],
    [outside({ coatMm: 0.45, scratchMm: 0.7 })],
    [outside({ coatMm: 1.6 })],
    [outside({})],
    [outside({ coatMm: 0.6 })],
    [outside({ scratchMm: 0.4 })],
    [outside({ coatMm: 1.6, scratchMm: 0.5 })],
    [{ face: 'all', coatMm: 0.5 }],
  ]);
  expect(shares((await tables()).coats)).toEqual({
    'under 0.4 mm': [1, 1],
    'over 0.6, up to 1.5 mm': [1, 1],
    'over 1.5 mm': [1, 1],
    '0.4 to 0.6 mm, as usual': [0, 4],
  });
  const narrow = { ...WARE_DEFAULTS, usualCoatLowMm: 0.2, usualCoatHighMm: 0.3, mostCoatMm: 0.35 };
  await s.database.db.insert(wareSettings).values({ value: narrow });
  expect(shares((await tables()).coats)).toEqual({
    '0.2 to 0.3 mm, as usual': [1, 1],
    'over 0.35 mm': [2, 6],
  });
  await s.database.db.delete(wareSettings);
});

it('adds up what lies over each other outside, and leaves linings and overlaps alone', async () => {
  await wear([
    [inside({ coatMm: 2 }), outside({ coatMm: 0.3 }), outside({ coatMm: 0.3 })],
    [outside({ coatMm: 0.5 }), { face: 'over', coatMm: 3 }],
    [{ face: 'all', coatMm: 0.8 }, outside({ scratchMm: 0.8 })],
    // One of two that nobody knows: nobody knows both.
    [outside({ coatMm: 0.5 }), outside({})],
    [inside({ coatMm: 0.5 })],
  ]);
  const { coats, gravities } = await tables();
  expect(shares(coats)).toEqual({ '0.4 to 0.6 mm, as usual': [2, 2], 'over 1.5 mm': [1, 1] });
  // The lined one has nothing outside, the rest wears nothing at all.
  expect(shares(gravities)).toEqual({ 'within the band of its bucket': [4, 4] });
});

it('tells counts apart by the last dip outside; a pour and a lining are no dip', async () => {
  const dip = (seconds: number, more: Coat = {}): Coat => outside({ way: 'dip', seconds, ...more });
  await wear([
    [dip(2)],
    [dip(2.4), dip(3.4)],
    [dip(4.5)],
    [dip(40)],
    [dip(3, { way: 'pour' })],
    [inside({ way: 'dip', seconds: 10 }), dip(4)],
    [dip(4), outside({ way: 'dip', seconds: null })],
    [dip(6, { face: 'all' })],
  ]);
  expect(shares((await tables()).counts)).toEqual({
    'count 2 or less': [1, 1],
    'count 3': [1, 1],
    'count 5 to 6': [1, 2],
    'count 7 or more': [1, 1],
    'count 4': [0, 1],
  });
});

it('tells gravities apart by the band of the bucket, whose limits belong to it', async () => {
  await wear([
    [outside({ gravity: 1.43 })],
    [outside({ gravity: 1.49 })],
    [outside({ gravity: 1.48 })],
    [outside({ gravity: null })],
    [outside({ gravity: 1.44 })],
    [outside({ gravity: 1.6 }), outside({ gravity: 1.46 })],
    [outside({ gravity: 1.46 }), inside({ gravity: 1.6 })],
    [outside({ bucketId: null, ownName: 'From home', ownConeFrom: '6', ownConeTo: '6', gravity: null })],
  ]);
  expect(shares((await tables()).gravities)).toEqual({
    'thinner than the band of its bucket': [1, 1],
    'thicker than the band of its bucket': [1, 1],
    'within the band of its bucket': [1, 4],
  });
});

it('asks only for the loads, the firing and the fault that are asked for', async () => {
  await wear(fired.map(() => [outside({ coatMm: 0.5, way: 'dip', seconds: 3 })]));
  const whole = await tables();
  expect(shares(whole.coats)).toEqual({ '0.4 to 0.6 mm, as usual': [4, 8] });
  const other = await tables({ kind: 'bisque' });
  expect([other.coats, other.counts, other.gravities]).toEqual([[], [], []]);
  expect(shares((await tables({ outcome: 'run' })).counts)).toEqual({ 'count 3': [0, 8] });
  // What was put on for another firing, or is still raw, was not in this one.
  const first = eq(pieceGlazes.pieceId, fired[0]?.id ?? 0);
  await s.database.db.update(pieceGlazes).set({ load: null }).where(first);
  expect(shares((await tables()).coats)).toEqual({ '0.4 to 0.6 mm, as usual': [3, 7] });
});

it('shows coat and count beside the gravity of a pot, and the tables as JSON', async () => {
  const both = { gravity: 1.47, way: 'dip', coatMm: 0.4 } as const;
  await wear([[inside({ ...both, seconds: 9 }), outside({ ...both, seconds: 3, scratchMm: 0.57 })]]);
  const { body } = await s.visit(s.people.technician, '/kilns/faults');
  const text = body.replace(/<[^>]+>/g, '').replace(/\s+/g, ' ');
  expect(text).toMatch(/inside Pebble B\d+ at 1\.47, count 9, 0\.4 mm/);
  expect(text).toMatch(/outside Pebble B\d+ at 1\.47, count 3, 0\.6 mm/);
  for (const title of ['Coat outside', 'Count it was dipped for', 'Gravity it was glazed at'])
    expect(body).toContain(title);
  const answer = (await s.api(s.people.technician, 'GET', '/faults?outcome=crawl')).json();
  expect(answer.coats).toMatchObject([{ what: '0.4 to 0.6 mm, as usual', share: { faulty: 1, all: 1 } }]);
  expect(answer.counts).toMatchObject([{ what: 'count 3', share: { faulty: 1, all: 1 } }]);
  expect(answer.gravities).toMatchObject([{ what: 'within the band of its bucket' }]);
});
