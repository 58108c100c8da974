import { eq, inArray } from 'drizzle-orm';
import { beforeAll, expect, it } from 'vitest';
import { loads } from '../../server/kilns/schema.ts';
import { examineLoads } from '../../server/kilns/service/index.ts';
import { pieces } from '../../server/ware/schema.ts';
import { examinePieces } from '../../server/ware/service/index.ts';
import { aKiln } from '../helpers/kilns.ts';
import { aClay, aProposal, ownGroup, readAs, readyPieces } from '../helpers/loads.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';

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

it('names what only one side of a reservation knows of', async () => {
  const [load] = proposals as [number];
  const [piece] = numbers as [number];
  await s.database.db.update(pieces).set({ stage: 'in-load', load }).where(eq(pieces.number, piece));
  expect((await examineLoads(read())).reservations).toEqual([`piece ${piece} in load ${load}`]);
});
