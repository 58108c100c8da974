import { eq } from 'drizzle-orm';
import { beforeAll, describe, expect, it } from 'vitest';
import { DAY } from '../../server/core/clock.ts';
import { ownMessages } from '../../server/core/messages.ts';
import { feeAccounts, feeEntries, feePostings } from '../../server/fees/schema.ts';
import { chargeRest } from '../../server/fees/service/charging.ts';
import { payersFor, post, strikeOut } from '../../server/fees/service/ledger.ts';
import { loadFees } from '../../server/fees/service/load-fees.ts';
import { grantLitres, litresOf, returnLitres } from '../../server/fees/store/litres.ts';
import { loadsNotCharged } from '../../server/fees/store/waiting.ts';
import {
  correctOutcome,
  openKiln,
  outcomeForm,
  shutOff,
  unloadForm,
  unloadKiln,
  writeSchedule,
} from '../../server/kilns/service/index.ts';
import { groupPeople, pieces as pieceTable } from '../../server/ware/schema.ts';
import { makeClass, makeHousehold, movePieces } from '../../server/ware/service/index.ts';
import { emptied, opened, started } from '../helpers/firing.ts';
import { aClay, GLAZE, readAs, readyPieces } from '../helpers/loads.ts';
import { aPriceList, dayOf, HALF_SHELVES, line, loadedWith } from '../helpers/price-lists.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
let wren: Person;
let ida: Person;
let clay: string;

beforeAll(async () => {
  s = await aStudio();
  ({ technician: wren, member: ida } = s.people);
  clay = await aClay(s);
});

/** A litre each: a bowl 100 mm across and 100 mm high, boxed 10 × 10 × 10 cm. */
const litres = (owner: Person, howMany: number, more: object = {}) =>
  readyPieces(s, owner, {
    for: 'glaze',
    clay,
    cone: '6',
    widthMm: 100,
    heightMm: 100,
    measured: 'bisque',
    howMany,
    ...more,
  });

const chargesOf = (load: number) =>
  s.database.db
    .select()
    .from(feeEntries)
    .where(eq(feeEntries.load, load))
    .orderBy(feeEntries.number)
    .then((rows) => rows.filter(({ kind }) => kind === 'firing'));

const amounts = async (load: number) => (await chargesOf(load)).map(({ amountMinor }) => amountMinor);
const balance = async (person: Person) => {
  const rows = await s.database.db
    .select({ minor: feePostings.amountMinor })
    .from(feePostings)
    .innerJoin(feeAccounts, eq(feeAccounts.id, feePostings.accountId))
    .where(eq(feeAccounts.personId, person.id));
  return rows.reduce((sum, { minor }) => sum + minor, 0n);
};
const feesAs = (person: Person, load: number) => loadFees(readAs(s, person), load);
const unload = (load: number, more: object = {}) =>
  s.as(wren, (act) => unloadKiln(act, load, unloadForm.parse({ celsius: 30, ...more })));

describe('the price list', () => {
  it('is the one of the day of firing, whatever came after; without one nothing is charged', async () => {
    await litres(ida, 1);
    const early = await loadedWith(s, GLAZE);
    await emptied(s, early);
    expect(await amounts(early)).toEqual([]);
    expect((await feesAs(wren, early)).pieces[0]?.why).toBe(
      'No price list was in force on the day it was fired.',
    );
    await expect(s.as(wren, (act) => chargeRest(act, early))).rejects.toMatchObject({ status: 409 });
    await aPriceList(s, {}, { from: dayOf(s.clock.now()) });
    await litres(ida, 1);
    const load = await loadedWith(s, GLAZE);
    await started(s, load);
    await s.as(wren, (act) => shutOff(act, load, {}));
    s.clock.forward(2 * DAY);
    // £9 a litre from tomorrow of the firing on.
    await aPriceList(
      s,
      { lines: [line({ by: 'volume', minorPer: '900', unit: 'litre' })] },
      { from: dayOf(s.clock.now() - DAY) },
    );
    await s.as(wren, (act) => openKiln(act, load, { celsius: 40, how: 'opened' }));
    await unload(load);
    expect(await amounts(load)).toEqual([350n]);
    // The load of before any list is covered by the first one now.
    expect(await s.as(wren, (act) => chargeRest(act, early))).toBe(1);
    expect(await amounts(early)).toEqual([350n]);
    await litres(ida, 1);
    const late = await loadedWith(s, GLAZE);
    await emptied(s, late);
    expect(await amounts(late)).toEqual([900n]);
    expect(await amounts(load)).toEqual([350n]);
  });
});

describe('a load that is emptied', () => {
  it('is charged a row a piece to whoever pays, and tells them once', async () => {
    await aPriceList(s);
    const finn = await s.aPerson();
    const before = await balance(ida);
    const mine = await litres(ida, 3);
    const [other] = await litres(finn, 1, { heightMm: 50 });
    const load = await loadedWith(s, GLAZE);
    await emptied(s, load);
    // 1 L × £3.50 each; 10 × 10 × 5 cm = 0.5 L × £3.50 = £1.75
    expect(await amounts(load)).toEqual([350n, 350n, 350n, 175n]);
    expect(await balance(ida)).toBe(before + 1050n);
    expect(await balance(finn)).toBe(175n);
    const told = await ownMessages(readAs(s, ida));
    expect(told.map(({ words }) => words)).toContain(`Load ${load} is out: 3 pieces, £10.50.`);
    const all = await feesAs(wren, load);
    expect(all.pieces.map(({ number }) => number)).toEqual([...mine, other]);
    expect(all.totalMinor).toBe(1225n);
    expect((await feesAs(finn, load)).pieces.map(({ number }) => number)).toEqual([other]);
    const stranger = await s.aPerson();
    await expect(feesAs(stranger, load)).rejects.toMatchObject({ status: 404 });
    expect((await s.visit(stranger, `/fees/loads/${load}`)).statusCode).toBe(404);
    const page = await s.visit(ida, `/fees/loads/${load}`);
    expect(page.statusCode).toBe(200);
    expect(page.body).toContain('£10.50');
    expect(page.body).toContain('1 L × £3.50 = £3.50');
    expect(page.body).not.toContain('Entry ');
    expect((await s.visit(wren, `/fees/loads/${load}`)).body).toContain('£12.25');
  });

  it('is charged once when two technicians empty it at the same moment', async () => {
    await litres(ida, 2);
    const load = await loadedWith(s, GLAZE);
    await opened(s, load);
    const both = await Promise.allSettled([unload(load), unload(load)]);
    expect(both.filter(({ status }) => status === 'fulfilled')).toHaveLength(1);
    expect(await amounts(load)).toEqual([350n, 350n]);
    await expect(s.as(wren, (act) => chargeRest(act, load))).rejects.toMatchObject({ status: 409 });
    expect(await amounts(load)).toHaveLength(2);
  });

  it('charges a household for its ware, and a class through its teacher', async () => {
    const tess = await s.aPerson();
    const groupId = await s.as(ida, (act) => makeHousehold(act, { name: 'Mill Lane 4' }));
    const brother = await s.aPerson();
    await s.database.db.insert(groupPeople).values({ groupId, personId: brother.id });
    await s.as(wren, (act) => makeClass(act, { name: 'Tuesday evening', contact: tess.email }));
    await litres(ida, 1, { group: 'Mill Lane 4' });
    await litres(tess, 2, { group: 'Tuesday evening' });
    const before = await balance(ida);
    const load = await loadedWith(s, GLAZE);
    await emptied(s, load);
    expect(await balance(ida)).toBe(before);
    const { payers } = await feesAs(wren, load);
    expect(payers.map(({ name, minor }) => [name, minor])).toEqual([
      ['Mill Lane 4', 350n],
      ['Tuesday evening', 700n],
    ]);
    const [told] = await ownMessages(readAs(s, tess));
    expect(told?.words).toBe(`Load ${load} is out: 2 pieces, £7.00, for Tuesday evening.`);
    // Everybody of a household is told, as of its statements.
    for (const one of [ida, brother])
      expect((await ownMessages(readAs(s, one))).map(({ words }) => words)).toContain(
        `Load ${load} is out: 1 piece, £3.50, for Mill Lane 4.`,
      );
  });

  it('is emptied whatever the list says: beyond what the ledger takes nothing is charged', async () => {
    // £10,000,000 a cm³: a thousand of them are 10¹² pence, the most an entry comes to; two thousand are more.
    await aPriceList(s, { lines: [line({ by: 'volume', minorPer: '1000000000', unit: 'cm3' })] });
    await litres(ida, 1);
    await litres(ida, 1, { heightMm: 200 });
    const load = await loadedWith(s, GLAZE);
    await emptied(s, load);
    expect(await amounts(load)).toEqual([1_000_000_000_000n]);
    const { pieces, mayCharge } = await feesAs(wren, load);
    expect(pieces[1]?.why).toContain('more than anybody is ever charged');
    expect(mayCharge).toBe(false);
    expect((await s.visit(ida, `/ware/${pieces[1]?.number}`)).statusCode).toBe(200);
    await aPriceList(s);
  });

  it('leaves out what nobody is known to pay for, until somebody is', async () => {
    const [known, lone] = (await litres(ida, 2)) as [number, number];
    const load = await loadedWith(s, GLAZE);
    const nobody = { ownerId: null, payerId: null };
    await s.database.db.update(pieceTable).set(nobody).where(eq(pieceTable.number, lone));
    await emptied(s, load);
    expect(await amounts(load)).toEqual([350n]);
    const { pieces, mayCharge } = await feesAs(wren, load);
    expect(pieces.map(({ number, why }) => [number, why])).toEqual([
      [known, null],
      [lone, 'Nobody is known to pay for it.'],
    ]);
    expect(mayCharge).toBe(false);
    const waiting = () => loadsNotCharged(s.database.db, { from: 0, timeZone: 'Europe/London' });
    expect(await waiting()).not.toContain(load);
    await s.as(wren, (act) => movePieces(act, 'assign', [lone], { who: ida.email }));
    // Only a part of it is charged, which is not the end of it.
    expect(await waiting()).toContain(load);
    expect((await s.submit(ida, `/fees/loads/${load}/charge`, {})).statusCode).toBe(403);
    const sent = await s.submit(wren, `/fees/loads/${load}/charge`, {});
    expect(sent.headers.location).toBe(`/fees/loads/${load}?done=charged`);
    expect(await amounts(load)).toEqual([350n, 350n]);
    expect(await waiting()).not.toContain(load);
  });
});

describe.each([
  // 100 cm² of foot at 3 pence a cm².
  ['area', line({ by: 'area', minorPer: '3', unit: 'cm2' }), [300n, 300n, 300n]],
  // 0.4 kg at £5 a kg.
  ['weight', line({ by: 'weight', minorPer: '500', unit: 'kg' }), [200n, 200n, 200n]],
  [
    'size',
    line({
      by: 'size',
      bands: [
        { name: 'Small', upToCm3: 1000, minor: 120 },
        { name: 'Large', upToCm3: null, minor: 400 },
      ],
    }),
    [120n, 120n, 120n],
  ],
  // 3 × 100 cm² = 300 cm² on half shelves of 250 cm²: two halves = a shelf of £7.00, shared by largest remainder.
  ['shelf', HALF_SHELVES, [234n, 233n, 233n]],
  // What it drew is not known without a schedule: the usual 60 kWh × £0.30 + £8 = £26.00, a third each.
  [
    'cost',
    line({ by: 'cost', minorPerKwh: '30', wearMinor: 800, fuelMinor: 4000, usualKwh: 60, usualLitres: 80 }),
    [867n, 867n, 866n],
  ],
  ['included', line({ by: 'included' }), [0n, 0n, 0n]],
] as const)('a load charged by %s', (_by, basis, expected) => {
  it('sums to what its list says', async () => {
    await aPriceList(s, { lines: [basis] });
    await litres(ida, 3, { kg: 0.4 });
    const load = await loadedWith(s, GLAZE);
    await emptied(s, load);
    expect(await amounts(load)).toEqual(expected);
  });
});

describe('a load charged at cost', () => {
  const atCost = line({
    by: 'cost',
    minorPerKwh: '30',
    wearMinor: 800,
    fuelMinor: 4000,
    usualKwh: 60,
    usualLitres: 80,
  });

  it('costs fuel and wear where it has burners', async () => {
    await aPriceList(s, { lines: [atCost] });
    await litres(ida, 3);
    const gas = { power: 'gas', kilowatts: undefined, emergency: 'Shut the valve by the door' } as const;
    const load = await loadedWith(s, GLAZE, gas);
    await emptied(s, load);
    // £40 + £8, a third each
    expect(await amounts(load)).toEqual([1600n, 1600n, 1600n]);
  });

  it('costs what its schedule is expected to draw, and the parts sum to it', async () => {
    await s.as(wren, (act) =>
      writeSchedule(act, {
        name: 'Glaze 6',
        kind: 'glaze',
        cone: '6',
        forThick: false,
        segments: [{ rateCPerH: 150, toC: 1220, holdMin: 0 }],
      }),
    );
    await litres(ida, 3);
    // On for 40 % of the time at 10 kW, from 20 to 1,220 °C in 8 h: 32 kWh × £0.30 = £9.60, and £8 of wear.
    const load = await loadedWith(s, GLAZE, { kilowatts: 10, duty: 0.4 });
    await emptied(s, load);
    expect(await amounts(load)).toEqual([587n, 587n, 586n]);
    expect((await feesAs(wren, load)).cost?.kWh).toBeCloseTo(32, 6);
  });
});

describe('ware that its list has no price for', () => {
  it('is not charged, says why, and is charged once it can be', async () => {
    await aPriceList(s, { lines: [line({ by: 'weight', minorPer: '500', unit: 'kg' })] });
    const [one] = (await litres(ida, 1)) as [number];
    const load = await loadedWith(s, GLAZE);
    await emptied(s, load);
    expect(await amounts(load)).toEqual([]);
    const fees = await feesAs(wren, load);
    expect(fees.pieces[0]?.why).toBe('It goes by weight, and this piece was not weighed.');
    expect(fees.mayCharge).toBe(false);
    await s.database.db.update(pieceTable).set({ kg: 0.5 }).where(eq(pieceTable.number, one));
    expect((await feesAs(wren, load)).mayCharge).toBe(true);
    // 0.5 kg × £5
    expect(await s.as(wren, (act) => chargeRest(act, load))).toBe(1);
    expect(await amounts(load)).toEqual([250n]);
  });
});

describe('included litres', () => {
  it('pay first from the month, then from a card, and begin anew with the month', async () => {
    await aPriceList(s, { monthly: [{ memberClass: null, litres: '1.5' }] });
    const [payer] = await s.as(ida, (act) => payersFor(act, [{ kind: 'person', id: ida.id }]));
    const accountId = payer?.id as number;
    await s.as(wren, async (act) => {
      const [card] = await post(act, [
        { kind: 'sale', accountId, against: 'income:card', netMinor: 0n, taxMinor: 0n, happenedAt: act.now },
      ]);
      await grantLitres(act, { accountId, source: 'card', cm3: 1000, entryId: card?.id as number });
    });
    await litres(ida, 3);
    const load = await loadedWith(s, GLAZE);
    await emptied(s, load);
    // 3 L: 1.5 L of the month and 1 L of the card; half a litre of the third × £3.50 = £1.75
    expect(await amounts(load)).toEqual([0n, 0n, 175n]);
    expect((await feesAs(ida, load)).pieces.map(({ charge }) => charge?.coveredCm3)).toEqual([
      1000, 1000, 500,
    ]);
    expect(await litresOf(readAs(s, ida), accountId)).toEqual([]);
    s.clock.forward(32 * DAY);
    await litres(ida, 2);
    const next = await loadedWith(s, GLAZE);
    await emptied(s, next);
    expect(await amounts(next)).toEqual([0n, 175n]);
    // Ruined by the studio: its litre comes back to the card's month, and so pays for the next piece of it.
    const ruined = (await feesAs(wren, next)).pieces[0]?.number as number;
    await s.as(wren, (act) =>
      correctOutcome(act, next, outcomeForm.parse({ piece: ruined, outcome: 'crack', studiosFault: true })),
    );
    await litres(ida, 1);
    const third = await loadedWith(s, GLAZE);
    await emptied(s, third);
    expect(await amounts(third)).toEqual([0n]);
  });
});

describe('litres of a charge that is struck out', () => {
  it('come back once, whatever of them came back before', async () => {
    await aPriceList(s, { lossPercent: '50' });
    const [payer] = await s.as(ida, (act) => payersFor(act, [{ kind: 'person', id: ida.id }]));
    const accountId = payer?.id as number;
    const sale = await s.as(wren, async (act) => {
      const [card] = await post(act, [
        { kind: 'sale', accountId, against: 'income:card', netMinor: 0n, taxMinor: 0n, happenedAt: act.now },
      ]);
      await grantLitres(act, { accountId, source: 'card', cm3: 3000, entryId: card?.id as number });
      return card?.id as number;
    });
    const left = async () => (await litresOf(readAs(s, ida), accountId)).map(({ leftCm3 }) => leftCm3);
    const [one] = (await litres(ida, 1)) as [number];
    const load = await loadedWith(s, GLAZE);
    await emptied(s, load);
    expect(await left()).toEqual([2000]);
    await s.as(wren, (act) =>
      correctOutcome(act, load, outcomeForm.parse({ piece: one, outcome: 'crack', studiosFault: true })),
    );
    // Half of the litre
    expect(await left()).toEqual([2500]);
    const [charge] = await chargesOf(load);
    const id = charge?.id as number;
    const strike = () =>
      s.as(wren, async (act) => {
        await strikeOut(act, charge as NonNullable<typeof charge>, 'Another piece');
        await returnLitres(act, id);
      });
    await strike();
    expect(await left()).toEqual([3000]);
    await expect(strike()).rejects.toThrow();
    await s.as(wren, (act) => returnLitres(act, id));
    expect(await left()).toEqual([3000]);
    // The card itself: what nobody used of it is gone.
    await s.as(wren, (act) => returnLitres(act, sale));
    await s.as(wren, (act) => returnLitres(act, sale));
    expect(await left()).toEqual([]);
  });
});

describe('what the studio ruined', () => {
  const credits = async () =>
    (await s.database.db.select().from(feeEntries).orderBy(feeEntries.number)).filter(
      ({ kind }) => kind === 'loss-credit',
    );

  it('is credited at the unloading by the list, never twice, and struck out when it was not', async () => {
    await aPriceList(s, { lossPercent: '50', tax: { percent: '20', included: true } });
    const [owed, already] = [await balance(ida), (await credits()).length];
    const [one, two] = (await litres(ida, 2)) as [number, number];
    const load = await loadedWith(s, GLAZE);
    await opened(s, load);
    await expect(
      unload(load, { exceptions: [{ piece: one, outcome: 'good', studiosFault: true }] }),
    ).rejects.toMatchObject({ status: 422, errors: [{ path: 'exceptions.0.studiosFault' }] });
    await unload(load, { exceptions: [{ piece: one, outcome: 'crack', studiosFault: true }] });
    // £3.50 with 20 % tax in it: net 350 ÷ 1.2 = 291.67 → 292, tax 58. Half: 175, of it tax 29.
    expect((await credits()).slice(already)).toMatchObject([
      { amountMinor: -175n, netMinor: -146n, taxMinor: -29n },
    ]);
    expect(await balance(ida)).toBe(owed + 525n);
    const told = await ownMessages(readAs(s, ida));
    expect(told.map(({ words }) => words)).toContain(`Load ${load} is out: 2 pieces, £5.25.`);
    const judge = (piece: number, studiosFault: boolean) =>
      s.as(wren, (act) =>
        correctOutcome(act, load, outcomeForm.parse({ piece, outcome: 'crack', studiosFault })),
      );
    await judge(one, true);
    expect(await credits()).toHaveLength(already + 1);
    await judge(one, false);
    expect(await balance(ida)).toBe(owed + 700n);
    await Promise.all([judge(two, true), judge(two, true)]);
    expect(await balance(ida)).toBe(owed + 525n);
    await judge(one, true);
    expect(await balance(ida)).toBe(owed + 350n);
    expect((await feesAs(ida, load)).pieces.map(({ isStudiosFault }) => isStudiosFault)).toEqual([
      true,
      true,
    ]);
    // Nobody but a technician says so.
    const sent = await s.api(ida, 'POST', `/loads/${load}/outcomes`, {
      piece: one,
      outcome: 'crack',
      studiosFault: true,
    });
    expect(sent.statusCode).toBe(403);
  });

  it('is credited when it is lost here, and struck out when it is here again', async () => {
    const [one] = (await litres(ida, 1)) as [number];
    const load = await loadedWith(s, GLAZE);
    await emptied(s, load);
    const before = await balance(ida);
    const move = (person: Person, path: 'lost' | 'here-again', body: object) =>
      s.submit(person, `/ware/${one}/${path}`, body as Record<string, string>);
    expect((await move(ida, 'lost', { cause: 'broken', studiosFault: 'yes' })).statusCode).toBe(403);
    expect((await move(wren, 'lost', { cause: 'broken', studiosFault: 'yes' })).statusCode).toBe(303);
    expect(await balance(ida)).toBe(before - 175n);
    expect((await move(wren, 'here-again', {})).statusCode).toBe(303);
    expect(await balance(ida)).toBe(before);
  });

  it('is ticked on the page of the unloading', async () => {
    const [one] = (await litres(ida, 1)) as [number];
    const load = await loadedWith(s, GLAZE);
    await opened(s, load);
    const page = await s.visit(wren, `/kilns/loads/${load}/unload`);
    expect(page.body).toContain(`name="ours-${one}"`);
    const half = await s.submit(wren, `/kilns/loads/${load}/unload`, {
      celsius: '30',
      [`ours-${one}`]: 'yes',
    });
    expect(half.statusCode).toBe(422);
    expect(half.body).toContain(`Say how ${one} came out.`);
    const sent = await s.submit(wren, `/kilns/loads/${load}/unload`, {
      celsius: '30',
      [`outcome-${one}`]: 'crack',
      [`ours-${one}`]: 'yes',
    });
    expect(sent.statusCode).toBe(303);
    expect((await feesAs(ida, load)).pieces[0]?.charge?.creditedMinor).toBe(175n);
    expect((await s.visit(ida, `/ware/${one}`)).body).toContain('credited £1.75');
  });
});
