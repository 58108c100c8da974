import { eq, sql } from 'drizzle-orm';
import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { recordAct } from '../../server/buckets/service/index.ts';
import { DAY, HOUR } from '../../server/core/clock.ts';
import { solidsVolumeFraction, suction, waterPerCoat } from '../../server/ware/coat.ts';
import { secondCoat } from '../../server/ware/coat-fit.ts';
import { clays, coatTiles } from '../../server/ware/schema.ts';
import { coatAdvice, coatByTiles, coatThickness, setTrait } from '../../server/ware/service/index.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';
import { aClay } from '../helpers/ware.ts';

let s: Studio;
let member: Person;
let technician: Person;

beforeAll(async () => {
  s = await aStudio();
  ({ member, technician } = s.people);
});

const S = 2.6;
const G = 1.46;
/** coat = 0.01 + 0.02·√t at 1.46, by the suction law at any other gravity; g/cm². */
const coatOf = (seconds: number, gravity = G) => {
  const of = (g: number) => suction(solidsVolumeFraction({ specificGravity: g, solidsDensity: S }), 0.55);
  return 0.01 + ((0.02 * of(gravity)) / of(G)) * Math.sqrt(seconds);
};
/** Mass fraction of solids, by hand: S(G − ρ)/(G(S − ρ)). */
const share = (g = G) => (S * (g - 0.99821)) / (g * (S - 0.99821));

const tile = (clay: string, bucket: string, seconds: number, more: object = {}, gravity = G) => ({
  clay,
  bucket,
  seconds,
  areaCm2: 100,
  beforeGrams: 50,
  afterGrams: 50 + (100 * coatOf(seconds, gravity)) / share(gravity),
  ...more,
});
const post = (body: object, who = technician, headers = {}) =>
  s.api(who, 'POST', '/coat-tiles', body, headers);
const pathsOf = (answer: Awaited<ReturnType<typeof post>>) =>
  (answer.json().errors as { path: string }[]).map(({ path }) => path);
const idOf = async (clay: string): Promise<number> => {
  const [row] = await s.database.db.select().from(clays).where(eq(clays.name, clay));
  return row?.id ?? 0;
};
const aPair = async (options = {}) => ({
  clay: await aClay(s),
  bucket: await s.aBucket({ sg: G, ...options }),
});
const withTiles = async (seconds: readonly number[], options = {}) => {
  const pair = await aPair(options);
  const made: number[] = [];
  for (const t of seconds) {
    const answer = await post(tile(pair.clay, pair.bucket, t));
    expect(answer.statusCode, answer.body).toBe(201);
    made.push(answer.json().id);
  }
  return { ...pair, id: await idOf(pair.clay), made };
};
const advice = (clay: string, bucket: string, who = member, more = '') =>
  s.api(who, 'GET', `/coat/advice?clay=${encodeURIComponent(clay)}&bucket=${bucket}${more}`);
const read = () => ({ tx: s.database.db, actor: member.caller, now: s.clock.now() });

describe('before there is a tile in the studio', () => {
  it('counts 3, promises no thickness, and shows the empty page with the way to the first tile', async () => {
    const { clay, bucket } = await aPair();
    const answer = (await advice(clay, bucket)).json();
    expect(answer).toMatchObject({ basis: 'none', tiles: 0, counts: { from: 3, to: 3 } });
    expect(answer.words).toContain('nobody can say');
    expect(await coatByTiles(read(), { clayId: await idOf(clay), bucket, seconds: 3 })).toBeNull();
    const at = `/bench/coat?clay=${await idOf(clay)}&bucket=${bucket}`;
    const seen = await s.visit(member, at);
    expect(seen.statusCode).toBe(200);
    expect(seen.body).toContain('count 3');
    expect(seen.body).toContain('No tile of this clay in this bucket yet');
    expect(seen.body).not.toContain('/bench/tiles/new');
    expect((await s.visit(technician, at)).body).toContain('/bench/tiles/new');
  });

  it('an unread bucket: check it first', async () => {
    const { clay, bucket } = await aPair({ sg: undefined, litres: null });
    const answer = (await advice(clay, bucket)).json();
    expect(answer).toMatchObject({ specificGravity: null, basis: 'none' });
    expect(answer.words).toContain('Nobody has read this bucket: check it first');
    expect(pathsOf(await post(tile(clay, bucket, 3)))).toEqual(['specificGravity']);
    expect((await post(tile(clay, bucket, 3, { specificGravity: G }))).statusCode).toBe(201);
    expect((await s.visit(member, `/bench/coat?clay=${await idOf(clay)}&bucket=${bucket}`)).statusCode).toBe(
      200,
    );
  });
});

describe('tiles', () => {
  it('keeps wet gain × solids share, and what the bucket held', async () => {
    const { clay, bucket } = await aPair();
    const answer = (await post(tile(clay, bucket, 4))).json();
    expect(answer.gramsPerCm2).toBeCloseTo(0.05, 9);
    expect(answer.thicknessMm).toBeCloseTo(0.5 / 1.4, 9);
    expect(answer).toMatchObject({ clay, bucket, seconds: 4, by: 'Wren', warning: null, struck: null });
    expect(answer.specificGravity).toBeCloseTo(G, 9);
    const [row] = await s.database.db.select().from(coatTiles).where(eq(coatTiles.id, answer.id));
    expect(row?.reading).not.toBeNull();
    const ledger = await s.visit(member, `/buckets/${bucket}/ledger`);
    expect(ledger.body).not.toContain('tile');
  });

  it('a dry weighing is the coat, and tells when the bucket is not what it says', async () => {
    const { clay, bucket } = await aPair();
    const gain = 10;
    const dryAt = (g: number) => ({ beforeGrams: 50, afterGrams: 50 + gain, dryGrams: 50 + gain * share(g) });
    const same = (await post(tile(clay, bucket, 4, dryAt(1.45)))).json();
    expect(same).toMatchObject({ warning: null });
    const off = (await post(tile(clay, bucket, 4, dryAt(1.4)))).json();
    expect(off.gravityByTile).toBeCloseTo(1.4, 9);
    expect(off.gramsPerCm2).toBeCloseTo((gain * share(1.4)) / 100, 9);
    expect(off.warning).toBe('The tile says 1.40 where the bucket says 1.46: check the bucket.');
  });

  it('refuses what cannot be beside its field', async () => {
    const { clay, bucket } = await aPair();
    const wrong = async (more: object) => {
      const answer = await post(tile(clay, bucket, 3, more));
      expect(answer.statusCode, answer.body).toBe(422);
      return pathsOf(answer);
    };
    expect(await wrong({ afterGrams: 49 })).toEqual(['afterGrams']);
    expect(await wrong({ afterGrams: 50 })).toEqual(['afterGrams']);
    expect(await wrong({ areaCm2: 0 })).toEqual(['areaCm2']);
    expect(await wrong({ seconds: -1 })).toEqual(['seconds']);
    expect(await wrong({ dryGrams: 50 })).toEqual(['dryGrams']);
    expect(await wrong({ dryGrams: 500 })).toEqual(['dryGrams']);
    expect(await wrong({ specificGravity: 1.95 })).toEqual(['specificGravity']);
    expect(await wrong({ specificGravity: 2.7 })).toEqual(['specificGravity']);
    expect(await wrong({ clay: 'No such clay' })).toEqual(['clay']);
    expect(await wrong({ bucket: 'NONE' })).toEqual(['bucket']);
    expect(await wrong({ happenedAt: new Date(s.clock.now() + HOUR).toISOString() })).toEqual(['happenedAt']);
  });

  it('asks about a coat that no dip leaves, and takes it when told so', async () => {
    const { clay, bucket } = await aPair();
    const answer = await post(tile(clay, bucket, 3, { areaCm2: 1 }));
    expect(answer.statusCode).toBe(409);
    expect(pathsOf(answer)).toEqual(['areaCm2']);
    expect((await post(tile(clay, bucket, 3, { areaCm2: 1, confirm: true }))).statusCode).toBe(201);
  });

  it('of the past: with the gravity the bucket has, unless something was added since', async () => {
    const { clay, bucket } = await aPair();
    const minutesAgo = new Date(s.clock.now() - HOUR / 60).toISOString();
    expect((await post(tile(clay, bucket, 3, { happenedAt: minutesAgo }))).statusCode).toBe(201);
    const lastWeek = new Date(s.clock.now() - 7 * DAY).toISOString();
    expect(pathsOf(await post(tile(clay, bucket, 3, { happenedAt: lastWeek })))).toEqual(['specificGravity']);
    const typed = await post(tile(clay, bucket, 3, { happenedAt: lastWeek, specificGravity: 1.5 }));
    expect(typed.json()).toMatchObject({ at: lastWeek, specificGravity: 1.5 });
  });

  it('are a technician’s to keep and to strike out; a stranger gets nowhere', async () => {
    const { clay, bucket, made } = await withTiles([3]);
    expect((await post(tile(clay, bucket, 3), member)).statusCode).toBe(403);
    expect((await s.api(member, 'POST', `/coat-tiles/${made[0]}/strike`, { why: 'x' })).statusCode).toBe(403);
    expect((await s.submit(member, '/bench/tiles/new', {})).statusCode).toBe(403);
    expect((await s.visit(member, `/bench/tiles/${made[0]}/strike`)).statusCode).toBe(403);
    const stranger = { ...member, token: 'nobody-gave-this-token-to-anyone' };
    expect((await post(tile(clay, bucket, 3), stranger)).statusCode).toBe(401);
    expect((await advice(clay, bucket, stranger)).statusCode).toBe(401);
    expect((await s.api(null, 'GET', '/coat-tiles')).statusCode).toBe(401);
    expect((await s.api(member, 'GET', `/coat-tiles?bucket=${bucket}`)).json().tiles).toHaveLength(1);
  });

  it('lists page by page, newest first, and names the next', async () => {
    const { clay, bucket, made } = await withTiles([1, 2, 3, 4, 5]);
    const at = `/coat-tiles?clay=${encodeURIComponent(clay)}&bucket=${bucket}&limit=3`;
    const first = (await s.api(member, 'GET', at)).json();
    const second = (await s.api(member, 'GET', `${at}&before=${first.next}`)).json();
    const ids = [...first.tiles, ...second.tiles].map(({ id }: { id: number }) => id);
    expect(ids).toEqual(made.toReversed());
    expect(second.next).toBeNull();
    for (const bad of ['limit=0', 'limit=201', 'before=x', 'bucket=%00', 'clay=%00'])
      expect((await s.api(member, 'GET', `/coat-tiles?${bad}`)).statusCode, bad).toBe(422);
    for (const none of ['clay=Nobody', 'bucket=NOBODY'])
      expect((await s.api(member, 'GET', `/coat-tiles?${none}`)).statusCode, none).toBe(404);
  });

  it('a retry keeps one tile', async () => {
    const { clay, bucket } = await aPair();
    const body = tile(clay, bucket, 3);
    const [a, b] = [
      await post(body, technician, { 'idempotency-key': 'tile-a' }),
      await post(body, technician, { 'idempotency-key': 'tile-a' }),
    ];
    expect(b.json()).toEqual(a.json());
    expect((await s.api(member, 'GET', `/coat-tiles?bucket=${bucket}`)).json().tiles).toHaveLength(1);
  });

  it('the database keeps them as they are', async () => {
    const { made } = await withTiles([3]);
    const db = s.database.db;
    await expect(db.execute(sql`update coat_tiles set seconds = 9 where id = ${made[0]}`)).rejects.toThrow();
    await expect(db.execute(sql`delete from coat_tiles where id = ${made[0]}`)).rejects.toThrow();
  });
});

describe('the count', () => {
  it('comes from the tiles: for 0.05 g/cm² of 1.4 g/cm³ 4 s', async () => {
    const { clay, bucket, id } = await withTiles([1, 2, 3, 5, 8]);
    const found = await coatAdvice(read(), { clayId: id, bucket, wantedMm: 0.5 / 1.4 });
    expect(found.dwell.seconds?.best).toBeCloseTo(4, 6);
    expect(found.dwell).toMatchObject({ basis: 'own', saturated: false });
    expect(found.curve.at(-1)?.mm).toBeGreaterThan(found.curve[0]?.mm ?? 9);
    expect((await coatByTiles(read(), { clayId: id, bucket, seconds: 4 }))?.gramsPerCm2).toBeCloseTo(0.05, 6);
    expect((await advice(clay, bucket)).json()).toMatchObject({ basis: 'own', tiles: 5, wantedMm: 0.5 });
  });

  it('takes wanted coat and dry density from the glaze', async () => {
    const { bucket, id } = await withTiles([1, 2, 3, 5, 8]);
    await s.as(technician, (act) => setTrait(act, bucket, { wantedCoatMm: 0.5, dryCoatDensity: 1 }));
    const found = await coatAdvice(read(), { clayId: id, bucket });
    expect(found.dwell.seconds?.best).toBeCloseTo(4, 6);
    expect(await coatThickness(read(), found.bucket.id, 0.05)).toBeCloseTo(0.5, 12);
  });

  it('gets narrower with tiles, and the page says from what to what', async () => {
    const { clay, bucket, id, made } = await withTiles([2, 3.5]);
    const width = async () => {
      const { seconds } = (await coatAdvice(read(), { clayId: id, bucket })).dwell;
      return (seconds?.high ?? Number.POSITIVE_INFINITY) - (seconds?.low ?? 0);
    };
    const widths = [await width()];
    for (const t of [1, 5, 8, 3, 4]) {
      const fields = { next: 'count', ...tile(clay, bucket, t) };
      const saved = await s.submit(
        technician,
        '/bench/tiles/new',
        Object.fromEntries(Object.entries(fields).map(([name, value]) => [name, String(value)])),
      );
      expect(saved.statusCode, saved.body).toBe(303);
      const seen = await s.visit(technician, String(saved.headers.location));
      expect(seen.body).toMatch(/The tile is kept\. (Before: .* Now: count|Still count)/);
      widths.push(await width());
    }
    expect(widths.at(-1)).toBeLessThan(widths[0] ?? 0);
    expect(made).toHaveLength(2);
  });

  it('struck out tiles count no more, and one cannot be struck out twice', async () => {
    const { clay, bucket, id, made } = await withTiles([1, 2, 3, 5, 8]);
    const bad = (await post(tile(clay, bucket, 4, { afterGrams: 62 }))).json().id;
    const before = await coatAdvice(read(), { clayId: id, bucket });
    expect(before.tiles.find((t) => t.id === bad)).toMatchObject({ isLeftOut: true });
    const struck = await s.submit(technician, `/bench/tiles/${bad}/strike`, {
      why: 'It dripped on the scale',
    });
    expect(struck.statusCode).toBe(303);
    const page = await s.visit(technician, String(struck.headers.location));
    expect(page.body).toContain('It dripped on the scale');
    const after = await coatAdvice(read(), { clayId: id, bucket });
    expect(after.tiles).toHaveLength(6);
    expect(after.tiles.find((t) => t.id === bad)).toMatchObject({ isLeftOut: false, struck: { by: 'Wren' } });
    expect(after.fit).toMatchObject({ tiles: 5, leftOut: [] });
    expect((await s.submit(technician, `/bench/tiles/${bad}/strike`, { why: 'again' })).statusCode).toBe(409);
    expect((await s.submit(technician, `/bench/tiles/${made[0]}/strike`, { why: ' ' })).statusCode).toBe(422);
    expect((await s.submit(technician, '/bench/tiles/999999/strike', { why: 'x' })).statusCode).toBe(404);
  });

  it('two technicians at once: both tiles are kept, one strike', async () => {
    const { clay, bucket, made } = await withTiles([1]);
    const other = await s.aPerson('technician');
    const both = await Promise.all([post(tile(clay, bucket, 2)), post(tile(clay, bucket, 3), other)]);
    expect(both.map(({ statusCode }) => statusCode)).toEqual([201, 201]);
    const strikes = await Promise.all(
      [technician, other].map((who) =>
        s.api(who, 'POST', `/coat-tiles/${made[0]}/strike`, { why: 'slipped' }),
      ),
    );
    expect(strikes.map(({ statusCode }) => statusCode).sort()).toEqual([200, 409]);
  });

  it('all tiles alike say nothing of their own', async () => {
    const { clay, bucket, id } = await withTiles([3, 3, 3, 3, 3, 3]);
    expect((await advice(clay, bucket)).json().basis).toBe('leans on others');
    const seen = await s.visit(member, `/bench/coat?clay=${id}&bucket=${bucket}`);
    expect(seen.statusCode).toBe(200);
  });

  it('leans on other pairs of the studio before it has a tile, without promising a coat', async () => {
    await withTiles([1, 2, 3, 5, 8]);
    const { clay, bucket } = await aPair();
    const answer = (await advice(clay, bucket)).json();
    expect(answer).toMatchObject({ basis: 'others only', tiles: 0 });
    expect(answer.words).toContain('this pair has no tile yet');
    expect(await coatByTiles(read(), { clayId: await idOf(clay), bucket, seconds: 3 })).toBeNull();
  });

  it('in a slurry so thick that it does not run it says so', async () => {
    const { clay, bucket, id } = await withTiles([1, 2, 3, 5, 8]);
    await s.as(technician, (act) =>
      recordAct(act, bucket, 'setup', { litres: 10, specificGravity: 1.9 } as never),
    );
    const answer = await advice(clay, bucket);
    expect(answer.json()).toMatchObject({ dwell: null, counts: null });
    expect(answer.json().words).toContain('does not run');
    expect(await coatByTiles(read(), { clayId: id, bucket, seconds: 3 })).toBeNull();
    const seen = await s.visit(member, `/bench/coat?clay=${id}&bucket=${bucket}`);
    expect(seen.body).toContain('no count to go by');
  });

  it('on a wet wall takes the count that leaves the wanted coat, and says what dry would be', async () => {
    const { bucket, id } = await withTiles([1, 2, 3, 5, 8]);
    const slurry = { specificGravity: G, solidsDensity: S };
    const held = 0.05 * waterPerCoat(slurry);
    const wet = await coatAdvice(read(), { clayId: id, bucket, wantedMm: 0.5 / 1.4, heldGramsPerCm2: held });
    const seconds = wet.dwell.seconds?.best ?? 0;
    expect(seconds).toBeGreaterThan(4);
    expect(wet.dwell.words).toContain('still holds water');
    if (wet.fit.basis === 'none') throw new Error('There are five tiles.');
    expect(secondCoat(wet.fit, { heldGramsPerCm2: held, seconds, slurry })).toBeCloseTo(0.05, 9);
    const said = await coatByTiles(read(), { clayId: id, bucket, seconds, heldGramsPerCm2: held });
    expect(said?.gramsPerCm2).toBeCloseTo(0.05, 9);
  });

  it('on a thin wall says that it drinks no more, and no coat comes thicker than that', async () => {
    const { clay, bucket, id } = await withTiles([1, 2, 3, 5, 8]);
    const test = (body: object) => s.api(technician, 'POST', `/clays/${id}/bisque-tests`, body);
    const asked = (wallMm: number, faces = 2) =>
      advice(clay, bucket, member, `&wallMm=${wallMm}&glazedFaces=${faces}`);
    const untested = await asked(2);
    expect(untested.json().saturated).toBe(false);
    await test({ method: 'soaked', specimens: [{ dryGrams: 200, soakedGrams: 220 }] });
    // 1.9 g/cm³: 190 g in (209 − 109) cm³.
    await test({
      method: 'boiled',
      specimens: [{ dryGrams: 190, saturatedGrams: 213, suspendedGrams: 113 }],
    });
    // By hand: 0.1 of 1.9 g/cm³ and 2 mm, half of it for each face, is 0.019 g/cm² of water, and a coat gives 0.633 g of
    // water a gram to the wall: (1 − 0.5134)/0.5134 − 0.45·0.99821/(0.55·2.6). That is 0.03 g/cm² of coat.
    const perCoat = waterPerCoat({ specificGravity: G, solidsDensity: S });
    const most = (0.1 * 1.9 * 0.2) / 2 / perCoat;
    expect(most).toBeCloseTo(0.03, 3);
    const thin = await asked(2);
    expect(thin.json()).toMatchObject({ saturated: true, basis: 'own' });
    expect(thin.json().words).toContain('drinks no more');
    expect(thin.json().dwell.best).toBeCloseTo(((most - 0.01) / 0.02) ** 2, 2);
    expect((await asked(2, 1)).json().dwell.best).toBeGreaterThan(thin.json().dwell.best);
    expect((await asked(9)).json()).toMatchObject({ saturated: false });
    const wall = { thicknessMm: 2, glazedFaces: 2 } as const;
    const said = await coatByTiles(read(), { clayId: id, bucket, seconds: 8, wall });
    expect(said?.gramsPerCm2).toBeCloseTo(most, 6);
    const short = await coatByTiles(read(), { clayId: id, bucket, seconds: 0.5, wall });
    expect(short?.gramsPerCm2).toBeCloseTo(coatOf(0.5), 6);
    const full = await coatByTiles(read(), { clayId: id, bucket, seconds: 8, wall, heldGramsPerCm2: 0.02 });
    expect(full?.gramsPerCm2).toBeCloseTo(0.01, 6);
  });

  it('of 320 tiles lays the line through the newest 100, and pages the rest', async () => {
    const pair = await aPair();
    const [clayId, bucketId] = [
      await idOf(pair.clay),
      (await coatAdvice(read(), { clayId: await idOf(pair.clay), bucket: pair.bucket })).bucket.id,
    ];
    await s.database.db.insert(coatTiles).values(
      Array.from({ length: 320 }, (_, i) => {
        const seconds = 1 + (i % 9);
        return {
          clayId,
          bucketId,
          seconds,
          specificGravity: 1.4 + 0.02 * (i % 5),
          solidsDensity: S,
          areaCm2: 100,
          beforeGrams: 50,
          afterGrams: 62,
          dryCoatGrams: 100 * coatOf(seconds, 1.4 + 0.02 * (i % 5)) * (1 + 0.03 * Math.sin(7 * i)),
          happenedAt: s.clock.now(),
          recordedAt: s.clock.now(),
          by: technician.id,
        };
      }),
    );
    const found = (await advice(pair.clay, pair.bucket)).json();
    expect(found).toMatchObject({ basis: 'own', tiles: 100 });
    const seen = await s.visit(member, `/bench/coat?clay=${clayId}&bucket=${pair.bucket}`);
    expect(seen.body).toContain('Older tiles');
  });
});

describe('the pages', () => {
  it('the next tile keeps clay, bucket and area, and says what this one made of the count', async () => {
    const { clay, bucket } = await withTiles([1, 2]);
    const fields = Object.fromEntries(
      Object.entries(tile(clay, bucket, 5)).map(([name, value]) => [name, String(value)]),
    );
    const saved = await s.submit(technician, '/bench/tiles/new', { ...fields, key: 'tile-once-1' });
    expect(
      (await s.submit(technician, '/bench/tiles/new', { ...fields, key: 'tile-once-1' })).headers.location,
    ).toBe(saved.headers.location);
    const next = await s.visit(technician, String(saved.headers.location));
    expect(next.body).toContain('Kept: 5 s left');
    expect(next.body).toMatch(/name="areaCm2"[^>]*value="100"|value="100"[^>]*name="areaCm2"/);
    expect(next.body).toContain(`value="${clay}" selected`);
  });

  it('a refused tile comes back as it was typed, with the reason beside the field', async () => {
    const { clay, bucket } = await aPair();
    const refused = await s.submit(technician, '/bench/tiles/new', {
      clay,
      bucket,
      seconds: '3',
      areaCm2: '100',
      beforeGrams: '60,5',
      afterGrams: '50',
    });
    expect(refused.statusCode).toBe(422);
    expect(refused.body).toContain('After the dip it weighs more than before.');
    expect(refused.body).toContain('60,5');
  });

  it('choose first where the address says little, and nothing in it breaks them', async () => {
    const { bucket } = await aPair();
    const half = await s.visit(member, `/bench/coat?bucket=${bucket}`);
    expect(half.statusCode).toBe(200);
    expect(half.body).toContain('>Choose</option>');
    expect((await s.visit(member, '/bench/coat')).statusCode).toBe(200);
    expect((await s.visit(member, `/bench/coat?clay=999999&bucket=${bucket}`)).statusCode).toBe(404);
    const id = await idOf(await aClay(s));
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom('clay', 'bucket', 'before', 'added', 'done', 'area'),
        fc.oneof(fc.string(), fc.constantFrom('0', '-1', '1e9', '\0', '999999999', '"><script>')),
        async (name, value) => {
          const more = new URLSearchParams({ clay: String(id), bucket, [name]: value });
          for (const at of ['/bench/coat', '/bench/tiles/new']) {
            const { statusCode, body } = await s.visit(technician, `${at}?${more}`);
            expect(statusCode).toBeLessThan(500);
            expect(body).not.toContain('"><script>');
          }
        },
      ),
      { numRuns: 40 },
    );
  });

  it('the bucket leads to its counts', async () => {
    const { bucket } = await aPair();
    expect((await s.visit(member, `/buckets/${bucket}`)).body).toContain(`/bench/coat?bucket=${bucket}`);
  });
});
