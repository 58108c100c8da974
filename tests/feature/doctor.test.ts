import { and, eq, inArray } from 'drizzle-orm';
import { beforeAll, expect, it } from 'vitest';
import { loads } from '../../server/kilns/schema.ts';
import { examineLoads } from '../../server/kilns/service/index.ts';
import { pieceGlazes, pieces } from '../../server/ware/schema.ts';
import { examinePieces } from '../../server/ware/service/index.ts';
import { aKiln } from '../helpers/kilns.ts';
import { aClay, aProposal, ownGroup, readAs, readyPieces } from '../helpers/loads.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';
import { moved, somePieces } from '../helpers/ware.ts';

let s: Studio;
const numbers: number[] = [];
const proposals: number[] = [];
beforeAll(async () => {
  s = await aStudio();
  const kiln = await aKiln(s);
  const clay = await aClay(s);
  for (let i = 0; i < 3; i++) {
    const firing = ownGroup();
    numbers.push(
      ...(await readyPieces(s, s.people.member, { for: 'glaze', clay, cone: firing.cone, howMany: 3 })),
    );
    proposals.push(await aProposal(s, { kiln: kiln.code, firing }));
  }
});

const read = () => readAs(s, s.people.technician);

it('whatever the slice, every piece and load is looked at once', async () => {
  for (const slice of [1, 2, 3, 4, 8, 9, 10]) {
    expect(await examinePieces(read(), slice)).toEqual([]);
    expect(await examineLoads(read(), slice)).toEqual({ loads: [], reservations: [] });
  }
  const [first, , third] = proposals as [number, number, number];
  await s.database.db.update(pieces).set({ dryAt: 0, flag: 'no' }).where(inArray(pieces.number, numbers));
  await s.database.db
    .update(loads)
    .set({ startsAt: 0 })
    .where(inArray(loads.number, [first, third]));
  for (const slice of [1, 2, 3, 4, 8, 9, 10]) {
    const wrong = await examinePieces(read(), slice);
    expect(wrong.map(({ number }) => number).sort((a, b) => a - b)).toEqual(numbers);
    expect(Object.keys(wrong[0]?.stored ?? {}).sort()).toEqual(['dryAt', 'isFlagged']);
    const found = await examineLoads(read(), slice);
    expect(found.loads).toEqual(
      [first, third].map((number) => ({ number, wrong: ['startsAt: 0, by its events null'] })),
    );
  }
});

it('a coat that is not as the ledger says is found', async () => {
  const { member } = s.people;
  const wrong = async () => (await examinePieces(read())).map(({ number }) => number);
  const before = await wrong();
  const bucket = await s.aBucket({ sg: 1.46 });
  const [fresh = 0] = await somePieces(s, member, { clay: await aClay(s), begins: 'bisqued', howMany: 1 });
  await moved(s, member, 'glazes', [fresh], { glazes: [{ bucket }] });
  await moved(s, member, 'glazes', [fresh], { glazes: [] });
  const coat = { bucket, face: 'all', way: 'dip', seconds: 3, beforeGrams: 400, afterGrams: 420 };
  await moved(s, member, 'coat', [fresh], coat);
  await moved(s, member, 'scratch', [fresh], { position: 2, mm: 0.7 });
  expect(await wrong()).toEqual(before);

  const [piece] = await s.database.db.select().from(pieces).where(eq(pieces.number, fresh));
  const second = and(eq(pieceGlazes.pieceId, piece?.id ?? 0), eq(pieceGlazes.position, 2));
  const tamper = (change: Partial<typeof pieceGlazes.$inferInsert>) =>
    s.database.db.update(pieceGlazes).set(change).where(second);
  for (const change of [
    { coatMm: 9 },
    { seconds: 4 },
    { face: 'inside' as const },
    { scratchMm: null },
    { load: 1 },
  ]) {
    const [is] = await s.database.db.select().from(pieceGlazes).where(second);
    await tamper(change);
    const found = (await examinePieces(read())).find(({ number }) => number === fresh);
    expect([change, Object.keys(found?.stored ?? {})]).toEqual([change, ['coats']]);
    await tamper(is ?? {});
  }
  expect(await wrong()).toEqual(before);
});

it('names what only one side of a reservation knows of', async () => {
  const [load] = proposals as [number];
  const [piece] = numbers as [number];
  await s.database.db.update(pieces).set({ stage: 'in-load', load }).where(eq(pieces.number, piece));
  expect((await examineLoads(read())).reservations).toEqual([`piece ${piece} in load ${load}`]);
});
