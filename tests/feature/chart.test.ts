import { beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { KINDS, type KindPath } from '../../server/buckets/kinds.ts';
import { changeRecipe, recordAct, showChart, voidEvent } from '../../server/buckets/service/index.ts';
import { DAY } from '../../server/core/clock.ts';
import { createRecipe } from '../../server/materials/service/index.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let studio: Studio;
let technician: Person;
let member: Person;
let code: string;
beforeAll(async () => {
  studio = await aStudio();
  ({ technician, member } = studio.people);
});
beforeEach(async () => {
  code = await studio.aBucket({ litres: null });
});

const record = async (daysAgo: number, path: KindPath, body: object) => {
  const happenedAt = new Date(studio.clock.now() - daysAgo * DAY).toISOString();
  const { event } = await studio.as(technician, (act) =>
    recordAct(act, code, path, KINDS[path].body.parse({ ...body, happenedAt }) as never),
  );
  return event.number;
};
const setUp = (daysAgo: number) => record(daysAgo, 'setup', { litres: 18, specificGravity: 1.46 });
const read = (daysAgo: number, sg: number, stirred = true) =>
  record(daysAgo, 'readings', {
    method: 'weighed',
    grams: sg * 1000,
    millilitres: 1000,
    stirred,
    confirm: true,
  });
/** One a day, the last of them yesterday. */
async function readDaily(...values: number[]): Promise<number[]> {
  const numbers: number[] = [];
  for (const [i, value] of values.entries()) numbers.push(await read(values.length - i, value));
  return numbers;
}
const chart = () => studio.as(technician, (act) => showChart(act, code));
const shown = async () => (await chart()).readings.map(({ value }) => Number(value.toFixed(3)));
const pageOf = async (person = technician) => studio.visit(person, `/buckets/${code}/chart`);

const calm = [1.46, 1.462, 1.459, 1.461, 1.458, 1.46, 1.462, 1.459];

describe('the control chart of a bucket', () => {
  it('is a technician’s, linked from their tools', async () => {
    expect((await pageOf(member)).statusCode).toBe(403);
    expect((await pageOf()).statusCode).toBe(200);
    const at = `/buckets/${code}`;
    expect((await studio.visit(technician, at)).body).toContain(`href="${at}/chart"`);
    expect((await studio.visit(member, at)).body).not.toContain('/chart');
    expect((await studio.visit(technician, '/buckets/NOBODY/chart')).statusCode).toBe(404);
  });

  it('needs eight readings', async () => {
    await setUp(20);
    await readDaily(...calm.slice(1));
    const few = (await pageOf()).body;
    expect(few).toContain('Too few readings for a chart');
    expect(few).toContain('there are 7 yet');
    expect(few).toContain(`href="/buckets/${code}/check"`);
    expect((await chart()).chart).toBeNull();
    await read(0.1, 1.46);
    const enough = (await pageOf()).body;
    expect(enough).toContain('Nothing stands out');
    expect(enough).not.toContain('Too few');
  });

  it('leaves out what was struck out or taken unstirred', async () => {
    await setUp(20);
    const numbers = await readDaily(...calm, 1.6);
    await studio.as(technician, (act) => voidEvent(act, code, numbers.at(-1) as number, 'Wrong bucket'));
    await read(0.5, 1.3, false);
    expect(await shown()).toEqual(calm);
  });

  it('begins anew with a set-up, and with another recipe', async () => {
    await setUp(40);
    for (const [i, value] of calm.entries()) await read(39 - i, value + 0.02);
    expect((await chart()).since?.what).toBe('setup');
    await setUp(20);
    await readDaily(...calm);
    expect(await shown()).toEqual(calm);
    await studio.as(technician, async (act) => {
      const line = { material: 'Potash feldspar', parts: 100, density: 2.57 };
      const { recipeId } = await createRecipe(act, `Other ${code}`, { lines: [line], hasSolubles: false });
      await changeRecipe(act, code, { recipeId, version: 1, solidsDensity: 2.57, hasSolubles: false });
    });
    expect(await shown()).toEqual([]);
    expect((await chart()).since?.what).toBe('recipe');
    expect((await pageOf()).body).toContain('since its recipe changed');
  });

  it('holds the newest sixty', async () => {
    await setUp(70);
    for (let day = 65; day > 0; day--) await read(day, 1.4 + day / 1000);
    const values = await shown();
    expect(values).toHaveLength(60);
    expect(values[0]).toBe(1.46);
    expect(values.at(-1)).toBe(1.401);
    expect((await pageOf()).body).toContain('the newest 60');
  });

  it('says in words which point is out, on the page, in the plot’s alternative and in the figures', async () => {
    await setUp(20);
    await readDaily(...calm, ...calm.map((sg) => sg - 0.001), 1.49);
    const { body } = await pageOf();
    expect(body).toContain('Worth a look');
    expect(body).toMatch(
      /<li>One point out: SG 1\.490, yesterday \d\d:\d\d, lies above the upper limit, 1\.4\d\d\.<\/li>/,
    );
    expect(body).toMatch(
      /aria-label="Specific gravity, reading by reading\. 17 readings from [^"]*One point out/,
    );
    expect(body).toContain('out, above');
  });

  it('says from when to when eight or more lie on one side', async () => {
    await setUp(20);
    await readDaily(...calm, ...calm.map((sg) => sg + 0.006), 1.467);
    const { chart: found } = await chart();
    expect(found?.signals).toEqual([
      { what: 'run', from: 0, to: 7, side: 'below' },
      { what: 'run', from: 8, to: 16, side: 'above' },
    ]);
    const { body } = await pageOf();
    expect(body).toMatch(
      /<li>9 in a row on one side: from [^<]* to yesterday [^<]* all lie above the centre line, 1\.46\d\.<\/li>/,
    );
    expect(body).toMatch(/<li>Eight in a row on one side: from [^<]* all lie below the centre line/);
  });

  it('draws what changed the bucket where it happened', async () => {
    await setUp(20);
    await readDaily(...calm);
    await record(2.5, 'top-ups', { kind: 'water', litres: 0.2 });
    await record(0.2, 'draw-offs', { what: 'water', litres: 0.2, to: 'rinse' });
    const { changes } = await chart();
    expect(changes.map(({ entry }) => entry.kind)).toEqual(['addition', 'draw-off']);
    const { body } = await pageOf();
    expect(body).toContain('>water added</text>');
    expect(body).toContain('>water off</text>');
  });
});

describe('a bucket’s page', () => {
  it('says how long it likely stays in range, and members see that too', async () => {
    await setUp(20);
    for (let day = 8; day > 0; day--) await read(day, 1.47 - 0.002 * day + 0.001 * (day % 2));
    await record(0, 'stirs', {});
    const { body } = await studio.visit(member, `/buckets/${code}`);
    expect(body).toMatch(/Likely in range [^<]+ \(95 %\), rising by 0\.002 a day\./);
  });

  it('does not say so of too few readings', async () => {
    await setUp(20);
    for (let day = 5; day > 0; day--) await read(day, 1.46);
    await record(0, 'stirs', {});
    const { body } = await studio.visit(member, `/buckets/${code}`);
    expect(body).toContain('Ready to dip');
    expect(body).not.toContain('Likely in range');
  });
});
