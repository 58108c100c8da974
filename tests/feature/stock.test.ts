import { and, eq } from 'drizzle-orm';
import { beforeAll, describe, expect, it } from 'vitest';
import {
  abandonBatch,
  countersign,
  createBucket,
  lotsInBucket,
  planNewBatch,
  pourBatch,
  showBatch,
  takeBack,
  voidEvent,
  weighLine,
} from '../../server/buckets/service/index.ts';
import { DAY, HOUR, MINUTE } from '../../server/core/clock.ts';
import { ownMessages } from '../../server/core/messages.ts';
import { people } from '../../server/core/schema.ts';
import { materialLots, materials } from '../../server/materials/schema.ts';
import {
  createRecipe,
  deliver,
  examineStock,
  listStock,
  lotTrace,
  recallLot,
  setReorderLevel,
  showStock,
  stockDue,
  takeStock,
} from '../../server/materials/service/index.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
let ida: Person;
let wren: Person;
let maro: Person;
let serial = 0;
beforeAll(async () => {
  s = await aStudio();
  ida = s.people.member;
  wren = s.people.technician;
  maro = s.people.manager;
});

const FELDSPAR = 'Potash feldspar';

/** A recipe of two materials of its own, and a bucket for it. */
async function aGlaze() {
  const n = ++serial;
  const names = [`${FELDSPAR} ${n}`, `Whiting ${n}`];
  const code = `S${n}`;
  const recipe = await s.as(wren, async (act) => {
    const { recipeId } = await createRecipe(act, `Sedge ${n}`, {
      lines: [
        { material: names[0] as string, parts: 70, density: 2.57 },
        { material: names[1] as string, parts: 30, density: 2.71 },
      ],
      hasSolubles: false,
    });
    const target = { low: 1.44, aim: 1.46, high: 1.48 };
    const rest = { stirIntervalMinutes: 5, readingTrustedHours: 168, sieveMesh: 80, mixMoreFraction: 0.3 };
    const command = {
      code,
      name: `Sedge ${n}`,
      colour: '#5c5b32',
      capacityLitres: 25,
      target,
      isReclaim: false,
    };
    await createBucket(act, { ...command, ...rest }, recipeId);
    return recipeId;
  });
  const all = await s.as(wren, listStock);
  const [feldspar, whiting] = names.map((name) => all.find((one) => one.name === name)?.id as number);
  return { code, recipe, names, feldspar: feldspar as number, whiting: whiting as number };
}

const aDelivery = (id: number, lot = 'PF 1', kg = 25, more: { supplier?: string; expiresOn?: string } = {}) =>
  s.as(wren, (act) => deliver(act, id, { lot, kg, ...more }));
const stockOf = (id: number) => s.as(wren, (act) => showStock(act, id, { limit: 200, before: null }));
const onHandKg = async (id: number, lot: string) =>
  ((await stockOf(id)).lots.find((one) => one.lot === lot)?.onHandMg ?? Number.NaN) / 1e6;
const post = (who: Person, id: number, path: string, body: object, key?: string) =>
  s.api(who, 'POST', `/materials/${id}/stock/${path}`, body, key ? { 'idempotency-key': key } : {});
const rebuilt = async () => expect(await s.as(wren, examineStock)).toEqual([]);

const aBatch = (bucket: string, litres = 5) => s.as(wren, (act) => planNewBatch(act, { bucket, litres }));
const weigh = (batch: number, position: number, lot: string, confirm = false) =>
  s.as(wren, (act) => weighLine(act, batch, { position, lot, confirm }));
const gramsOf = async (batch: number, position: number) =>
  (await s.as(wren, (act) => showBatch(act, batch))).lines[position]?.grams as number;

describe('the ledger of a material', () => {
  it('adds deliveries, uses, counts and disposals up, lot by lot', async () => {
    const { feldspar: id } = await aGlaze();
    expect(
      (await post(wren, id, 'deliveries', { lot: 'A 1', kg: 25, supplier: 'Ridgeway Earths' })).json(),
    ).toEqual({
      number: 1,
      lot: {
        number: 1,
        lot: 'A 1',
        supplier: 'Ridgeway Earths',
        expiresOn: null,
        expired: false,
        recalledAt: null,
        onHandKg: 25,
      },
    });
    await post(wren, id, 'deliveries', { lot: 'a 1', kg: 5 });
    await post(wren, id, 'deliveries', { lot: 'B 2', kg: 2.5, expiresOn: '2099-01-31' });
    await post(wren, id, 'uses', { lot: 'A 1', kg: 0.1 });
    await post(wren, id, 'disposals', { lot: 'B 2', kg: 2.5, note: 'wet through' });
    const counted = await post(wren, id, 'counts', { lot: 'A 1', kg: 29.2 });
    expect(counted.statusCode).toBe(201);
    const stock = (await s.api(ida, 'GET', `/materials/${id}/stock`)).json();
    expect(stock.lots.map((lot: { lot: string; onHandKg: number }) => [lot.lot, lot.onHandKg])).toEqual([
      ['B 2', 0],
      ['A 1', 29.2],
    ]);
    expect(stock.events.map((e: { number: number }) => e.number)).toEqual([6, 5, 4, 3, 2, 1]);
    await rebuilt();
  });

  it('does not let a lot go below nothing in silence', async () => {
    const { feldspar: id } = await aGlaze();
    await aDelivery(id, 'A', 0.3);
    const refused = await post(wren, id, 'uses', { lot: 'A', kg: 0.4 });
    expect(refused.statusCode).toBe(409);
    expect(refused.json().errors).toEqual([
      { path: 'kg', message: expect.stringContaining('The ledger says 300 g are left of lot A') },
    ]);
    expect((await stockOf(id)).rows).toHaveLength(1);
    const taken = await post(wren, id, 'uses', { lot: 'A', kg: 0.4, confirm: true });
    expect(taken.json().lot.onHandKg).toBe(0);
    expect((await stockOf(id)).doubts.get(1)).toEqual([2]);
    expect((await s.visit(wren, `/materials/${id}/stock`)).body).toContain('more than was there');
    expect((await post(wren, id, 'counts', { lot: 'A', kg: 0 })).statusCode).toBe(201);
    expect((await stockOf(id)).doubts.get(1)).toEqual([]);
    await rebuilt();
  });

  it('asks before a row is struck out of which others lived', async () => {
    const { feldspar: id } = await aGlaze();
    await aDelivery(id, 'A', 2);
    await post(wren, id, 'uses', { lot: 'A', kg: 1.5 });
    const asked = await post(wren, id, '1/void', { reason: 'never came' });
    expect(asked.statusCode).toBe(409);
    expect(
      (await post(wren, id, '1/void', { reason: 'never came', confirm: true })).json().lot.onHandKg,
    ).toBe(0);
    expect((await post(wren, id, '1/void', { reason: 'again' })).json().detail).toBe(
      'This is struck out already.',
    );
    expect((await post(wren, id, '3/void', { reason: 'a correction' })).statusCode).toBe(409);
    expect((await post(wren, id, '99/void', { reason: 'no such' })).statusCode).toBe(404);
    await rebuilt();
  });

  it('takes what happened earlier in where it belongs', async () => {
    const { feldspar: id } = await aGlaze();
    const at = (minutes: number) => new Date(s.clock.now() - minutes * MINUTE).toISOString();
    await post(wren, id, 'deliveries', { lot: 'A', kg: 10, happenedAt: at(90) });
    await post(wren, id, 'counts', { lot: 'A', kg: 7, happenedAt: at(10) });
    expect((await post(wren, id, 'uses', { lot: 'A', kg: 2, happenedAt: at(50) })).json().lot.onHandKg).toBe(
      7,
    );
    expect((await post(wren, id, 'uses', { lot: 'A', kg: 2, happenedAt: at(5) })).json().lot.onHandKg).toBe(
      5,
    );
    const ahead = await post(wren, id, 'uses', { lot: 'A', kg: 2, happenedAt: at(-10) });
    expect(ahead.json().errors).toEqual([{ path: 'happenedAt', message: 'This lies in the future.' }]);
    await rebuilt();
  });

  it('does not put before a count what waited for whoever counted', async () => {
    const { feldspar: id } = await aGlaze();
    await aDelivery(id, 'A', 10);
    await post(wren, id, 'counts', { lot: 'A', kg: 7 });
    await s.as(wren, (act) =>
      takeStock({ ...act, now: act.now - 3000 }, id, { lot: 'A', kg: 2, confirm: false }),
    );
    expect(await onHandKg(id, 'A')).toBe(5);
  });

  it('serialises many who take from one lot at once: none lost, numbers without gaps', async () => {
    const { feldspar: id } = await aGlaze();
    await aDelivery(id, 'A', 10);
    const answers = await Promise.all(
      Array.from({ length: 30 }, (_, i) =>
        i % 10 === 9
          ? post(maro, id, 'deliveries', { lot: i === 29 ? 'NEW' : 'A', kg: 1 })
          : post(i % 2 ? maro : wren, id, 'uses', { lot: 'A', kg: 0.1 }),
      ),
    );
    expect(answers.map(({ statusCode }) => statusCode)).toEqual(answers.map(() => 201));
    const { rows } = await stockOf(id);
    expect(rows.map(({ number }) => number).sort((a, b) => a - b)).toEqual(rows.map((_, i) => i + 1));
    expect(await onHandKg(id, 'A')).toBe(10 + 2 - 2.7);
    expect(await onHandKg(id, 'NEW')).toBe(1);
    await rebuilt();
  });

  it('does a retried request once', async () => {
    const { feldspar: id } = await aGlaze();
    await aDelivery(id, 'A', 10);
    const send = () => post(wren, id, 'uses', { lot: 'A', kg: 1 }, 'use-of-feldspar');
    const [first, second] = [await send(), await send()];
    expect(second.json()).toEqual(first.json());
    expect(second.headers['idempotency-replayed']).toBe('true');
    expect(await onHandKg(id, 'A')).toBe(9);
  });

  it('tells the doctor where stored and computed stock differ', async () => {
    const { feldspar: id, names } = await aGlaze();
    await aDelivery(id, 'A', 10);
    const lot = and(eq(materialLots.materialId, id), eq(materialLots.number, 1));
    await s.database.db.update(materialLots).set({ onHandMg: 3 }).where(lot);
    expect(await s.as(wren, examineStock)).toEqual([
      `${names[0]}, lot A: stored 3 mg; by its ledger 10000000 mg.`,
    ]);
    await s.database.db.update(materialLots).set({ onHandMg: 10e6 }).where(lot);
    await rebuilt();
  });

  it('keeps two suppliers and two dates of one lot apart', async () => {
    const { feldspar: id } = await aGlaze();
    await aDelivery(id, 'A', 10, { supplier: 'Ridgeway Earths', expiresOn: '2099-01-31' });
    const other = await post(wren, id, 'deliveries', { lot: 'A', kg: 1, supplier: 'Lantern Colours' });
    expect([other.statusCode, other.json().errors[0].path]).toEqual([409, 'supplier']);
    const later = await post(wren, id, 'deliveries', { lot: 'A', kg: 1, expiresOn: '2099-02-28' });
    expect([later.statusCode, later.json().errors[0].path]).toEqual([409, 'expiresOn']);
  });

  it('learns of a lot later what nobody wrote down at first', async () => {
    const { feldspar: id } = await aGlaze();
    await aDelivery(id, 'A', 10);
    const more = { lot: 'A', kg: 1, supplier: 'Ridgeway Earths', expiresOn: '2099-01-31' };
    const { lot } = (await post(wren, id, 'deliveries', more)).json();
    expect([lot.supplier, lot.expiresOn]).toEqual(['Ridgeway Earths', '2099-01-31']);
    expect((await stockOf(id)).lots[0]).toMatchObject({
      supplier: 'Ridgeway Earths',
      expiresOn: '2099-01-31',
    });
    const other = await post(wren, id, 'deliveries', { lot: 'A', kg: 1, supplier: 'Lantern Colours' });
    expect(other.statusCode).toBe(409);
  });

  it('says what was left then without what was struck out since', async () => {
    const { feldspar: id } = await aGlaze();
    const at = (minutes: number) => new Date(s.clock.now() - minutes * MINUTE).toISOString();
    await post(wren, id, 'deliveries', { lot: 'A', kg: 10, happenedAt: at(90) });
    await post(wren, id, 'deliveries', { lot: 'A', kg: 10, happenedAt: at(80) });
    await post(wren, id, '2/void', { reason: 'written down twice' });
    const asked = await post(wren, id, 'uses', { lot: 'A', kg: 15, happenedAt: at(50) });
    expect(asked.json().errors[0].message).toContain('The ledger says 10 kg are left of lot A');
  });

  it('asks before something of a recalled lot is used, but lets it be thrown away', async () => {
    const { feldspar: id } = await aGlaze();
    await aDelivery(id, 'A', 10);
    await post(wren, id, 'recalls', { lot: 'A', note: 'lead found in it' });
    const asked = await post(wren, id, 'uses', { lot: 'A', kg: 1 });
    expect([asked.statusCode, asked.json().errors]).toEqual([
      409,
      [{ path: 'lot', message: expect.stringContaining('Lot A is recalled') }],
    ]);
    expect((await post(wren, id, 'uses', { lot: 'A', kg: 1, confirm: true })).statusCode).toBe(201);
    expect((await post(wren, id, 'counts', { lot: 'A', kg: 8 })).statusCode).toBe(201);
    expect((await post(wren, id, 'disposals', { lot: 'A', kg: 8 })).statusCode).toBe(201);
    const form = await s.submit(wren, `/materials/${id}/stock`, { what: 'use', lot: 'A', kg: '1' });
    expect(form.statusCode).toBe(409);
    expect(form.body).toContain('value="use A 1"');
    await rebuilt();
  });

  it.each([
    ['uses', { lot: 'nobody', kg: 1 }, 'lot'],
    ['uses', { lot: 'A', kg: 0 }, 'kg'],
    ['uses', { lot: 'A', kg: -1 }, 'kg'],
    ['uses', { lot: 'A', kg: 1e300 }, 'kg'],
    ['uses', { lot: 'A', kg: '1' }, 'kg'],
    ['uses', { lot: 'A\u0000', kg: 1 }, 'lot'],
    ['counts', { lot: 'A', kg: -0.1 }, 'kg'],
    ['deliveries', { lot: 'x'.repeat(41), kg: 1 }, 'lot'],
    ['deliveries', { lot: 'Q', kg: 1, expiresOn: '2026-02-30' }, 'expiresOn'],
    ['deliveries', { lot: 'Q', kg: 1, expires: 'never' }, 'expires'],
    ['recalls', { lot: 'A' }, 'note'],
  ])('refuses %s of %j beside its field', async (path, body, field) => {
    const { feldspar: id } = await aGlaze();
    await aDelivery(id, 'A', 10);
    const answer = await post(wren, id, path, body);
    expect(answer.statusCode).toBe(422);
    expect(answer.json().errors.map((e: { path: string }) => e.path)).toContain(field);
  });

  it('is written by technicians only, and read by everybody; no such material is 404', async () => {
    const { feldspar: id } = await aGlaze();
    await aDelivery(id, 'A', 10);
    for (const path of ['deliveries', 'uses', 'counts', 'disposals', 'recalls', 'lifted-recalls'])
      expect((await post(ida, id, path, { lot: 'A', kg: 1 })).statusCode, path).toBe(403);
    expect((await s.visit(ida, `/materials/${id}/stock`)).statusCode).toBe(200);
    expect((await s.visit(ida, '/stock')).statusCode).toBe(200);
    expect((await s.visit(ida, `/materials/${id}/lots/1`)).statusCode).toBe(200);
    expect((await s.visit(ida, `/materials/${id}/lots/2`)).statusCode).toBe(404);
    for (const none of ['999999', 'abc', '0'])
      expect((await s.visit(wren, `/materials/${none}/stock`)).statusCode, none).toBe(404);
    expect((await post(wren, 999_999, 'uses', { lot: 'A', kg: 1 })).statusCode).toBe(404);
  });
});

it('of a material that is not used any more takes no delivery, but is counted and cleared', async () => {
  const { feldspar: id } = await aGlaze();
  await aDelivery(id, 'A', 10);
  await s.database.db.update(materials).set({ retiredAt: s.clock.now() }).where(eq(materials.id, id));
  expect((await post(wren, id, 'deliveries', { lot: 'A', kg: 1 })).statusCode).toBe(409);
  expect((await post(wren, id, 'disposals', { lot: 'A', kg: 10 })).json().lot.onHandKg).toBe(0);
});

describe('a batch', () => {
  it('writes off what is weighed from a known lot, in whatever case it is typed, and takes it back', async () => {
    const { code, feldspar } = await aGlaze();
    await aDelivery(feldspar, 'PF 1', 25);
    const batch = await aBatch(code);
    const grams = await gramsOf(batch, 0);
    await weigh(batch, 0, 'pf 1');
    expect(await onHandKg(feldspar, 'PF 1')).toBeCloseTo(25 - grams / 1000, 9);
    expect((await stockOf(feldspar)).rows[0]).toMatchObject({ kind: 'use', batch, by: 'Wren' });
    await s.as(wren, (act) => takeBack(act, batch, 0));
    expect(await onHandKg(feldspar, 'PF 1')).toBe(25);
    await weigh(batch, 0, 'PF 1');
    expect(await onHandKg(feldspar, 'PF 1')).toBeCloseTo(25 - grams / 1000, 9);
    await s.as(wren, (act) => abandonBatch(act, batch, 'spoilt'));
    expect(await onHandKg(feldspar, 'PF 1')).toBeCloseTo(25 - grams / 1000, 9);
    await rebuilt();
  });

  it('takes any other lot as it is typed, and none at all', async () => {
    const { code, feldspar, whiting } = await aGlaze();
    await aDelivery(feldspar, 'PF 1', 25);
    const batch = await aBatch(code);
    await weigh(batch, 0, 'from the old sack');
    await s.as(wren, (act) => weighLine(act, batch, { position: 1 }));
    expect((await stockOf(feldspar)).rows).toHaveLength(1);
    expect((await stockOf(whiting)).rows).toHaveLength(0);
    await s.as(wren, (act) => takeBack(act, batch, 0));
  });

  it('asks, on its sheet, when the lot has less left; a yes counts for that lot alone', async () => {
    const { code, feldspar } = await aGlaze();
    await aDelivery(feldspar, 'PF 1', 0.2);
    await aDelivery(feldspar, 'PF 2', 0.1);
    const batch = await aBatch(code);
    const tick = (fields: Record<string, string>) =>
      s.submit(wren, `/batches/${batch}/weigh`, { position: '0', ...fields });
    const asked = await tick({ lot: 'PF 1' });
    expect(asked.statusCode).toBe(409);
    expect(asked.body).toContain('The ledger says 200 g are left of lot PF 1');
    expect(asked.body).toContain('name="confirm" value="PF 1"');
    expect((await tick({ lot: 'PF 2', confirm: 'PF 1' })).statusCode).toBe(409);
    expect((await tick({ lot: 'PF 1', confirm: 'PF 1' })).statusCode).toBe(303);
    expect(await onHandKg(feldspar, 'PF 1')).toBe(0);
    await rebuilt();
  });

  it('offers the lots on hand by name, and says which of them nobody should weigh from', async () => {
    const { code, feldspar } = await aGlaze();
    await aDelivery(feldspar, 'FRESH', 10);
    await aDelivery(feldspar, 'STALE', 10, { expiresOn: '2020-06-01' });
    await aDelivery(feldspar, 'BAD', 10);
    await s.as(wren, (act) => recallLot(act, feldspar, { lot: 'BAD', note: 'lead found in it' }));
    const batch = await aBatch(code);
    const { body } = await s.visit(wren, `/batches/${batch}`);
    expect(body).toContain('<option value="FRESH">10 kg left</option>');
    expect(body).toContain('Recalled, do not weigh from it: BAD. STALE was good until 1 Jun 2020.');
    const asked = await s.submit(wren, `/batches/${batch}/weigh`, { position: '0', lot: 'BAD' });
    expect(asked.statusCode).toBe(409);
    expect(asked.body).toContain('Lot BAD is recalled');
    expect((await s.as(wren, (act) => showBatch(act, batch))).lines[0]?.weighedAt).toBeNull();
    await weigh(batch, 0, 'BAD', true);
    expect((await s.visit(wren, `/batches/${batch}`)).body).toMatch(/lot BAD[\s\S]*?Recalled/);
  });

  it('undoes the right one of two lines of the same material', async () => {
    const n = ++serial;
    const material = `Silica ${n}`;
    const { recipeId } = await s.as(wren, (act) =>
      createRecipe(act, `Twice ${n}`, {
        lines: [
          { material, parts: 60, density: 2.65 },
          { material, parts: 40, density: 2.65 },
        ],
        hasSolubles: false,
      }),
    );
    const id = (await s.as(wren, listStock)).find(({ name }) => name === material)?.id as number;
    await aDelivery(id, 'S', 25);
    const batch = await s.as(wren, (act) => planNewBatch(act, { recipe: recipeId, litres: 5, aim: 1.45 }));
    await weigh(batch, 0, 'S');
    await weigh(batch, 1, 'S');
    await s.as(wren, (act) => takeBack(act, batch, 0));
    expect(await onHandKg(id, 'S')).toBeCloseTo(25 - (await gramsOf(batch, 1)) / 1000, 9);
  });
});

describe('where a lot went', () => {
  async function aPouredBatch() {
    const glaze = await aGlaze();
    await aDelivery(glaze.feldspar, 'PF 1', 25);
    const batch = await aBatch(glaze.code);
    await weigh(batch, 0, 'PF 1');
    await weigh(batch, 1, 'W 9');
    await s.as(maro, (act) => countersign(act, batch));
    const { use } = await s.as(wren, (act) =>
      pourBatch(act, batch, { how: 'setup', bucket: glaze.code, waterLitres: 3 }),
    );
    return { ...glaze, batch, use };
  }

  it('is followed from the lot to the buckets, and from a bucket to the lots', async () => {
    const { code, feldspar, batch, use, names } = await aPouredBatch();
    const trace = (await s.api(ida, 'GET', `/materials/${feldspar}/lots/1`)).json();
    expect(trace.batches).toMatchObject([
      { number: batch, abandoned: false, buckets: [{ code, event: use, struckOut: false, stillIn: true }] },
    ]);
    const { lots } = await s.as(ida, (act) => lotsInBucket(act, code));
    expect(lots.map(({ material, lot, batch: of, known }) => [material, lot, of, known?.number])).toEqual([
      [names[0], 'PF 1', batch, 1],
      [names[1], 'W 9', batch, undefined],
    ]);
    const page = await s.visit(ida, `/buckets/${code}/lots`);
    expect(page.body).toContain(`href="/materials/${feldspar}/lots/1"`);
    expect(page.body).toContain('W 9');
    expect((await s.visit(wren, `/materials/${feldspar}/lots/1`)).body).toContain('still in it, since');
  });

  it('says when it is not in there any more: set up anew, or struck out', async () => {
    const { code, feldspar, use } = await aPouredBatch();
    const stillIn = async () =>
      (await s.as(wren, (act) => lotTrace(act, feldspar, 1))).batches[0]?.buckets.map((one) => one.isStillIn);
    expect(await stillIn()).toEqual([true]);
    s.clock.forward(HOUR);
    const fresh = await s.api(wren, 'POST', `/buckets/${code}/setup`, { litres: 10, specificGravity: 1.46 });
    expect(fresh.statusCode).toBe(201);
    expect(await stillIn()).toEqual([false]);
    expect((await s.as(wren, (act) => lotsInBucket(act, code))).lots).toEqual([]);
    await s.as(wren, (act) => voidEvent(act, code, fresh.json().event.number, 'the wrong bucket'));
    expect(await stillIn()).toEqual([true]);
    const retire = { state: 'retired', reason: 'cracked' };
    const retired = await s.api(wren, 'POST', `/buckets/${code}/service`, retire);
    expect(retired.statusCode).toBe(201);
    expect(await stillIn()).toEqual([false]);
    await s.as(wren, (act) => voidEvent(act, code, retired.json().event.number, 'not cracked'));
    expect(await stillIn()).toEqual([true]);
    await s.as(wren, (act) => voidEvent(act, code, use, 'not this one'));
    expect(await stillIn()).toEqual([false]);
  });

  it('is told to technicians and managers when it is recalled, and is due until it is out', async () => {
    const { code, feldspar } = await aPouredBatch();
    const recalled = await post(wren, feldspar, 'recalls', { lot: 'pf 1', note: 'lead found in it' });
    expect(recalled.statusCode).toBe(201);
    const words = async (who: Person) =>
      (await s.as(who, (act) => ownMessages(act))).filter(
        ({ href }) => href === `/materials/${feldspar}/lots/1`,
      );
    expect(await words(maro)).toMatchObject([
      { words: expect.stringContaining(`is recalled. It is in Sedge ${code.slice(1)}.`) },
    ]);
    expect(await words(wren)).toEqual([]);
    expect(await words(ida)).toEqual([]);
    const due = async () =>
      (await s.as(wren, stockDue)).filter(({ act }) => act.href === `/materials/${feldspar}/lots/1`);
    expect(await due()).toMatchObject([{ what: expect.stringContaining('it is in Sedge') }]);
    expect((await s.visit(ida, `/buckets/${code}/lots`)).body).toContain('A recalled lot is in it');
    expect((await post(wren, feldspar, 'recalls', { lot: 'PF 1', note: 'twice' })).statusCode).toBe(409);
    s.clock.forward(HOUR);
    await s.api(wren, 'POST', `/buckets/${code}/setup`, { litres: 10, specificGravity: 1.46 });
    expect(await due()).toMatchObject([{ what: expect.stringContaining('are still here') }]);
    await post(wren, feldspar, 'lifted-recalls', { lot: 'PF 1', note: 'it was another lot' });
    expect(await due()).toEqual([]);
    await rebuilt();
  });
});

it('a recalled lot in a batch that waits to be poured is told and due, until the batch is abandoned', async () => {
  const { code, feldspar } = await aGlaze();
  const batch = await aBatch(code);
  const grams = await gramsOf(batch, 0);
  await aDelivery(feldspar, 'PF 1', grams / 1000);
  await weigh(batch, 0, 'PF 1');
  await post(wren, feldspar, 'recalls', { lot: 'PF 1', note: 'lead found in it' });
  const href = `/materials/${feldspar}/lots/1`;
  const told = (await s.as(maro, (act) => ownMessages(act))).find((one) => one.href === href);
  expect(told?.words).toContain(`It is in batch ${batch}.`);
  const due = async () => (await s.as(wren, stockDue)).filter(({ act }) => act.href === href);
  expect(await due()).toMatchObject([{ what: `Lot PF 1 is recalled, and it is in batch ${batch}.` }]);
  await s.as(wren, (act) => abandonBatch(act, batch, 'wrong-material'));
  expect(await due()).toEqual([]);
});

it('a batch that holds a recalled lot is poured only by whoever says yes to it', async () => {
  const { code, feldspar } = await aGlaze();
  const batch = await aBatch(code);
  await aDelivery(feldspar, 'PF 1', 25);
  await weigh(batch, 0, 'pf 1');
  await weigh(batch, 1, '');
  await s.as(maro, (act) => countersign(act, batch));
  await post(wren, feldspar, 'recalls', { lot: 'PF 1', note: 'lead found in it' });
  const pour = (more: object) =>
    s.as(wren, (act) => pourBatch(act, batch, { how: 'setup', bucket: code, waterLitres: 3, ...more }));
  await expect(pour({})).rejects.toThrow('from lot pf 1, recalled since');
  const fields = { key: 'pour-recalled', how: 'setup', bucket: code, waterLitres: '3' };
  const page = await s.submit(wren, `/batches/${batch}/use`, fields);
  expect(page.statusCode).toBe(409);
  expect(page.body).toContain('Yes, set it up all the same');
  expect((await pour({ confirm: true })).bucket.code).toBe(code);
});

describe('what is due', () => {
  it('is what ran short, counting neither recalled nor expired lots, and what expired with some left', async () => {
    const { feldspar: id } = await aGlaze();
    const due = async () =>
      (await s.as(wren, stockDue))
        .filter(({ act }) => act.href.startsWith(`/materials/${id}/`))
        .map((d) => d.what);
    await aDelivery(id, 'OLD', 5, { expiresOn: '2020-06-01' });
    await aDelivery(id, 'NEW', 3);
    expect(await due()).toEqual(['Lot OLD was good until 1 Jun 2020; 5 kg of it are still here.']);
    await s.as(wren, (act) => setReorderLevel(act, id, { kg: 3 }));
    expect(await due()).toHaveLength(1);
    await s.as(wren, (act) => takeStock(act, id, { lot: 'NEW', kg: 0.001, confirm: false }));
    expect(await due()).toEqual([
      'Lot OLD was good until 1 Jun 2020; 5 kg of it are still here.',
      'Only 3 kg left to use; it is bought below 3 kg.',
    ]);
    await post(wren, id, 'disposals', { lot: 'OLD', kg: 5 });
    await s.as(wren, (act) => setReorderLevel(act, id, {}));
    expect(await due()).toEqual([]);
  });

  it('comes with the day after the last good one, in studio time', async () => {
    const { feldspar: id } = await aGlaze();
    const today = new Date(s.clock.now()).toISOString().slice(0, 10);
    await aDelivery(id, 'A', 5, { expiresOn: today });
    const isExpired = async () => (await stockOf(id)).lots[0]?.isExpired;
    expect(await isExpired()).toBe(false);
    s.clock.forward(DAY + HOUR);
    expect(await isExpired()).toBe(true);
  });
});

describe('the pages', () => {
  it('record by form, and come back filled in', async () => {
    const { feldspar: id } = await aGlaze();
    const at = `/materials/${id}/stock`;
    const sent = await s.submit(wren, at, {
      what: 'delivery',
      lot: 'A 1',
      kg: '12,5',
      supplier: '',
      expiresOn: '2099-01-31',
      happenedAt: '',
      note: 'two bags',
    });
    expect(sent.headers.location).toBe(`${at}?did=delivery`);
    expect(await onHandKg(id, 'A 1')).toBe(12.5);
    const refused = await s.submit(wren, at, { what: 'use', lot: 'A 1', kg: '13' });
    expect(refused.statusCode).toBe(409);
    expect(refused.body).toContain('value="use A 1 13"');
    const changed = await s.submit(wren, at, { what: 'use', lot: 'A 1', kg: '14', confirm: 'use A 1 13' });
    expect(changed.statusCode).toBe(409);
    const empty = await s.submit(wren, at, { what: 'count', lot: 'A 1', kg: '' });
    expect(empty.statusCode).toBe(422);
    const level = await s.submit(wren, at, { what: 'reorder', kg: '20' });
    expect(level.statusCode).toBe(303);
    expect((await s.visit(wren, '/stock')).body).toContain('To be bought');
    const { body } = await s.visit(wren, at);
    const ids = [...body.matchAll(/\sid="([^"]+)"/g)].map(([, one]) => one);
    expect(ids).toContain('use-lot');
    expect(new Set(ids).size).toBe(ids.length);
    expect((await s.submit(wren, at, { what: 'nonsense' })).statusCode).toBe(422);
    expect((await s.submit(wren, at, {})).statusCode).toBe(422);
  });

  it('take and show pounds for whoever weighs in pounds', async () => {
    const { feldspar: id } = await aGlaze();
    const ash = await s.aPerson('technician', 'Ash');
    await s.database.db.update(people).set({ units: 'us' }).where(eq(people.id, ash.id));
    const at = `/materials/${id}/stock`;
    await s.submit(ash, at, { what: 'delivery', lot: 'A', kg: '50' });
    expect(await onHandKg(id, 'A')).toBe(22.679619); // 50 × 0.45359237 kg, to the milligram
    expect((await s.visit(ash, at)).body).toContain('50 lb');
    expect((await s.submit(ash, at, { what: 'use', lot: 'A', kg: '50' })).statusCode).toBe(303);
    expect(await onHandKg(id, 'A')).toBe(0);
  });

  it('strike a row out with a reason', async () => {
    const { feldspar: id } = await aGlaze();
    await aDelivery(id, 'A', 10);
    const at = `/materials/${id}/stock/1/void`;
    expect((await s.visit(wren, at)).body).toContain('Delivered 10 kg, lot A');
    expect((await s.submit(wren, at, { reason: '' })).statusCode).toBe(422);
    expect((await s.submit(wren, at, { reason: 'counted twice' })).statusCode).toBe(303);
    expect(await onHandKg(id, 'A')).toBe(0);
    expect((await s.visit(wren, `/materials/${id}/stock?did=void`)).body).toContain('“counted twice”');
    expect((await s.visit(ida, at)).statusCode).toBe(403);
  });

  it('recall at the lot itself', async () => {
    const { feldspar: id } = await aGlaze();
    await aDelivery(id, 'A', 10);
    const at = `/materials/${id}/lots/1`;
    const sent = await s.submit(wren, at, { what: 'recall', lot: 'A', note: 'it smells' });
    expect(sent.headers.location).toBe(`${at}?did=recall`);
    expect((await s.visit(ida, at)).body).toContain('Recalled: do not weigh from it');
  });
});
