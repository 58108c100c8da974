import { beforeAll, describe, expect, it } from 'vitest';
import { DAY } from '../../server/core/clock.ts';
import { ownMessages } from '../../server/core/messages.ts';
import { PackingStopped } from '../../server/kilns/packing/in-worker.ts';
import {
  approve,
  cancel,
  chooseSchedule,
  listLoads,
  type Packer,
  prepareProposal,
  proposals,
  saveProposals,
  writeSchedule,
} from '../../server/kilns/service/index.ts';
import {
  addConflict,
  findPieces,
  movePieces,
  registerForm,
  registerPieces,
  setTrait,
} from '../../server/ware/service/index.ts';
import { aKiln } from '../helpers/kilns.ts';
import {
  aClay,
  aProposal,
  approved,
  BISQUE,
  GLAZE,
  nothingIsWrong,
  ownGroup,
  pageOf,
  quickly,
  readAs,
  readyPieces,
} from '../helpers/loads.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
let wren: Person;
let maro: Person;
let ida: Person;
let clay: string;
beforeAll(async () => {
  s = await aStudio();
  ({ technician: wren, manager: maro, member: ida } = s.people);
  clay = await aClay(s);
});

const pieceNow = async (number: number) => (await findPieces(readAs(s, wren), [number]))[0];
const stages = async (numbers: number[]) => [
  ...new Set((await findPieces(readAs(s, wren), numbers)).map(({ stage }) => stage)),
];

const ready = (firing: { cone: string }, more: object = {}, owner = ida) =>
  readyPieces(s, owner, { for: 'glaze', clay, cone: firing.cone, ...more });

describe('a proposal', () => {
  it('holds what is ready of one firing group, can be built, and reserves nothing', async () => {
    const kiln = await aKiln(s);
    const firing = ownGroup();
    const numbers = await ready(firing, { howMany: 5 });
    const [late] = (
      await s.as(ida, (act) =>
        registerPieces(act, registerForm.parse({ form: 'bowl', cone: firing.cone, clay, begins: 'bisqued' })),
      )
    ).numbers;
    const load = await aProposal(s, { kiln: kiln.code, firing });
    const page = await pageOf(s, load);
    expect(page.load).toMatchObject({ state: 'proposed', firing, kiln: { code: kiln.code }, version: 1 });
    expect(page.pieces.map(({ number }) => number).sort((a, b) => a - b)).toEqual(numbers);
    expect(page.pieces.some(({ number }) => number === late)).toBe(false);
    expect(page.checks.filter(({ ok }) => !ok)).toEqual([]);
    expect(page.fits.length).toBeGreaterThan(0);
    expect(page.load.bound.gap).toBeGreaterThanOrEqual(0);
    expect(await stages(numbers)).toEqual(['waiting-glaze']);
    const again = await aProposal(s, { kiln: kiln.code, firing });
    expect((await pageOf(s, again)).pieces).toHaveLength(5);
    await expect(
      prepareProposal(readAs(s, wren), { kiln: kiln.code, firing, exceptProposed: true }, quickly),
    ).rejects.toMatchObject({ status: 409 });
    await nothingIsWrong(s);
  });

  it('packs unsure sizes further apart, as the load shows them unchanged', async () => {
    const kiln = await aKiln(s);
    const firing = ownGroup();
    const [number] = await ready(firing, { form: 'beaker', widthMm: 80, heightMm: 100, measured: 'bisque' });
    const page = await pageOf(s, await aProposal(s, { kiln: kiln.code, firing }));
    expect(page.load.problem).toMatchObject({ pieceGapMm: 6, pieces: [{ footprint: { diameterMm: 84 } }] });
    expect(page.pieces).toMatchObject([{ number, footprint: { shape: 'circle', diameterMm: 80 } }]);
  });

  it('fills several kilns in one run without using a piece twice', async () => {
    const [one, two] = [await aKiln(s), await aKiln(s, { like: 'front' })];
    const firing = ownGroup();
    // Vases fill the first kiln: levels of 220 mm.
    const numbers = await ready(firing, { form: 'vase', howMany: 40 });
    const wish = { kiln: one.code, alsoKilns: [two.code], firing };
    const prepared = await prepareProposal(readAs(s, wren), wish, quickly);
    const { loads } = await s.as(wren, (act) => saveProposals(act, prepared));
    expect(loads).toHaveLength(2);
    const pages = await Promise.all(loads.map((load) => pageOf(s, load)));
    expect(pages.map(({ load }) => load.kiln.code)).toEqual([one.code, two.code]);
    const inThem = pages.flatMap(({ pieces }) => pieces.map(({ number }) => number));
    expect(new Set(inThem).size).toBe(inThem.length);
    expect([...inThem, ...prepared.unplaced.map(({ number }) => number)].sort((a, b) => a - b)).toEqual(
      numbers,
    );
    await expect(
      prepareProposal(readAs(s, wren), { ...wish, alsoKilns: [one.code.toLowerCase()] }, quickly),
    ).rejects.toMatchObject({ status: 422 });
  });

  it('makes several loads of one kiln where they are asked for', async () => {
    const kiln = await aKiln(s);
    const firing = ownGroup();
    await ready(firing, { form: 'vase', howMany: 40 });
    const wish = { kiln: kiln.code, firing, maxLoads: 2 };
    const prepared = await prepareProposal(readAs(s, wren), wish, quickly);
    const { loads } = await s.as(wren, (act) => saveProposals(act, prepared));
    expect(loads).toHaveLength(2);
    await nothingIsWrong(s);
  });

  it('keeps glazes apart that spoil one another, and the next load has the others', async () => {
    const [green, white] = [await s.aBucket(), await s.aBucket()];
    await s.as(wren, async (act) => {
      await setTrait(act, green, { tags: 'chromium' });
      await setTrait(act, white, { tags: 'tin white' });
      await addConflict(act, { tagA: 'chromium', tagB: 'tin white', why: 'It blushes pink.' });
    });
    const kiln = await aKiln(s);
    const firing = ownGroup();
    const glazed = async (bucket: string, howMany: number) => {
      const command = registerForm.parse({
        form: 'bowl',
        cone: firing.cone,
        clay,
        begins: 'bisqued',
        howMany,
      });
      const { numbers } = await s.as(ida, (act) => registerPieces(act, command));
      await s.as(ida, (act) => movePieces(act, 'glazes', numbers, { glazes: [{ bucket }] }));
      await s.as(ida, (act) => movePieces(act, 'hand-in', numbers, { heldBack: true }));
      await s.as(wren, (act) => movePieces(act, 'yes', numbers, { trayMm: 5 }));
      return numbers;
    };
    const greens = await glazed(green, 2);
    const whites = await glazed(white, 4);
    const wish = { kiln: kiln.code, firing, maxLoads: 2 };
    const prepared = await prepareProposal(readAs(s, wren), wish, quickly);
    const sets = prepared.loads.map(({ pieces }) => pieces.map(({ number }) => number).sort((a, b) => a - b));
    expect(sets).toEqual([whites, greens]);
    expect(prepared.loads[0]?.problem.pieces[0]?.tray).toBe(5);
  });

  it('is refused where there is nothing, nothing ready, no such kiln or one that cannot', async () => {
    const kiln = await aKiln(s);
    const read = readAs(s, wren);
    const nothing = prepareProposal(read, { kiln: kiln.code, firing: { ...GLAZE, cone: '9' } }, quickly);
    await expect(nothing).rejects.toThrow('Nothing waits for glaze, cone 9 oxidation.');
    await ready({ cone: '8' });
    const tooCool = await aKiln(s, { maxCone: '6' });
    const wish = { kiln: tooCool.code, firing: { ...GLAZE, cone: '8' } };
    await expect(prepareProposal(read, wish, quickly)).rejects.toMatchObject({
      status: 422,
      errors: [{ path: 'kiln', message: 'Round kiln takes cone 6 at most, not cone 8.' }],
    });
    await expect(prepareProposal(read, { ...wish, kiln: 'NONE' }, quickly)).rejects.toMatchObject({
      status: 404,
    });
    await expect(prepareProposal(readAs(s, ida), wish, quickly)).rejects.toMatchObject({ status: 403 });
  });

  it('says so where nothing fits', async () => {
    const kiln = await aKiln(s);
    const firing = ownGroup();
    await ready(firing, { form: 'other', called: 'Pillar', widthMm: 900, heightMm: 100 });
    await expect(prepareProposal(readAs(s, wren), { kiln: kiln.code, firing }, quickly)).rejects.toThrow(
      /^Nothing of it fits: piece \d+, too big/,
    );
  });

  it('comes to nothing when the packer is stopped, and never takes a plan that cannot be built', async () => {
    const kiln = await aKiln(s);
    const firing = ownGroup();
    await ready(firing, { howMany: 3 });
    const before = await listLoads(readAs(s, wren));
    const wish = { kiln: kiln.code, firing };
    for (const reason of ['died', 'took too long', 'called off'] as const) {
      const stopped: Packer = () => Promise.reject(new PackingStopped(reason));
      await expect(prepareProposal(readAs(s, wren), wish, stopped)).rejects.toMatchObject({
        status: 503,
        title: 'The packer stopped',
      });
    }
    const careless: Packer = async (problem) => {
      const plan = await quickly(problem);
      for (const { levels } of plan.loads)
        for (const { pieces } of levels) for (const one of pieces) one.xMm = 0;
      return plan;
    };
    await expect(prepareProposal(readAs(s, wren), wish, careless)).rejects.toThrow(/cannot be built/);
    expect(await listLoads(readAs(s, wren))).toHaveLength(before.length);
  });
});

describe('what may be proposed', () => {
  it('says how full each kiln would be and why now, from what waits', async () => {
    const studio = await aStudio();
    const own = await aClay(studio);
    const kiln = await aKiln(studio);
    await aKiln(studio, { maxCone: '04' });
    expect(await proposals(readAs(studio, studio.people.technician))).toEqual([]);
    await readyPieces(studio, studio.people.member, { for: 'glaze', clay: own, howMany: 4 });
    await readyPieces(studio, studio.people.member, { for: 'bisque', clay: own });
    const now = () => proposals(readAs(studio, studio.people.technician));
    const [first, second] = await now();
    expect([first, second].map((group) => group?.ready).sort()).toEqual([1, 4]);
    const glaze = (await now()).find(({ firing }) => firing.kind === 'glaze');
    expect(glaze).toMatchObject({ ready: 4, notReady: 0, inProposals: 0 });
    expect(glaze?.kilns).toMatchObject([
      { kiln: { code: kiln.code }, cannot: [], usual: 0.35, reasons: [], proposed: [] },
      { cannot: ['Round kiln takes cone 04 at most, not cone 6.'] },
    ]);
    const load = await aProposal(studio, { kiln: kiln.code, firing: GLAZE });
    studio.clock.forward(10 * DAY);
    const [bisque, later] = await now();
    expect(bisque).toMatchObject({
      firing: { kind: 'bisque' },
      kilns: [{ reasons: [{ because: 'waited' }] }, {}],
    });
    expect(later).toMatchObject({
      inProposals: 4,
      takenBy: [{ load, pieces: 4 }],
      kilns: [{ share: 0, reasons: [], proposed: [load] }, {}],
    });
    await expect(proposals(readAs(studio, studio.people.member))).rejects.toMatchObject({ status: 403 });
  });
});

it('what one proposal takes is no reason for another, in any kiln', async () => {
  const studio = await aStudio();
  const own = await aClay(studio);
  const [one] = [await aKiln(studio), await aKiln(studio, { like: 'front' })];
  const now = async () => (await proposals(readAs(studio, studio.people.technician)))[0];
  await readyPieces(studio, studio.people.member, { for: 'glaze', clay: own, howMany: 3 });
  studio.clock.forward(20 * DAY);
  const reasons = async () => (await now())?.kilns.map((kiln) => kiln.reasons.map(({ because }) => because));
  expect(await reasons()).toEqual([['waited'], ['waited']]);
  const load = await aProposal(studio, { kiln: one.code, firing: GLAZE });
  expect(await reasons()).toEqual([[], []]);
  const { technician } = studio.people;
  const taken = (await studio.visit(technician, '/kilns/loads')).body;
  expect(taken).toContain(`are in <a href="/kilns/loads/${load}">load ${load}</a>, none is left.`);
  expect(taken).not.toContain('Propose a');
  await readyPieces(studio, studio.people.member, { for: 'glaze', clay: own, howMany: 2 });
  expect(await now()).toMatchObject({ ready: 5, inProposals: 3, takenBy: [{ load, pieces: 3 }] });
  const rest = (await studio.visit(technician, '/kilns/loads')).body;
  expect(rest).toContain('2 in none');
  // Whichever kiln is asked, it leaves those three alone.
  expect(rest.match(/of the 2 that no proposal takes/g)).toHaveLength(2);
  expect(rest.match(/name="exceptProposed"/g)).toHaveLength(2);
});

describe('approving a load', () => {
  it('reserves every piece, tells its owner, and is done once', async () => {
    const kiln = await aKiln(s);
    const firing = ownGroup();
    const fen = await s.aPerson('member', 'Fen');
    const [one, two] = await ready(firing, { howMany: 2 }, fen);
    const load = await aProposal(s, { kiln: kiln.code, firing });
    await expect(s.as(ida, (act) => approve(act, load, { version: 1 }))).rejects.toMatchObject({
      status: 403,
    });
    await s.as(wren, (act) => approve(act, load, { version: 1 }));
    expect(await pieceNow(one as number)).toMatchObject({ stage: 'in-load', load });
    const page = await pageOf(s, load);
    expect(page.load).toMatchObject({ state: 'approved', approvedBy: wren.id, approvedAt: s.clock.now() });
    expect(page.events.map(({ kind, by }) => [kind, by])).toEqual([
      ['proposed', 'Wren'],
      ['approved', 'Wren'],
    ]);
    const [told] = await ownMessages(readAs(s, fen));
    expect(told?.words).toContain(`in load ${load}: glaze, cone ${firing.cone} oxidation.`);
    expect(told?.words).toContain(`${one}`);
    expect(told?.words).toContain(`${two}`);
    await expect(s.as(wren, (act) => approve(act, load, { version: 2 }))).rejects.toThrow(/is approved/);
    await nothingIsWrong(s);
  });

  it('is refused with what is wrong, in words', async () => {
    const kiln = await aKiln(s);
    const firing = ownGroup();
    const [one, two, three] = await ready(firing, { howMany: 3 });
    const load = await aProposal(s, { kiln: kiln.code, firing });
    await s.as(wren, (act) => movePieces(act, 'flag', [one as number], { words: 'A crack in the foot' }));
    await s.as(wren, (act) => movePieces(act, 'measure', [two as number], { widthMm: 300, heightMm: 75 }));
    await s.as(ida, (act) => movePieces(act, 'pick-up', [three as number], {}));
    const refused = s.as(wren, (act) => approve(act, load, { version: 1 }));
    await expect(refused).rejects.toMatchObject({ status: 409 });
    await expect(refused).rejects.toThrow(`Piece ${one}: Kept back: A crack in the foot`);
    await expect(refused).rejects.toThrow(`Piece ${two} has been measured since and is larger than planned.`);
    await expect(refused).rejects.toThrow(`Piece ${three} does not wait any more: picked up.`);
    const { checks, load: still } = await pageOf(s, load);
    expect(still.state).toBe('proposed');
    expect(checks.filter(({ ok }) => !ok).map(({ check, numbers }) => [check, numbers])).toEqual([
      ['flags', [one]],
      ['plan', [two, three]],
    ]);
    expect(await pieceNow(two as number)).toMatchObject({ stage: 'waiting-glaze', load: null });
    await nothingIsWrong(s);
  });

  it('is refused to whoever has not seen the newest change', async () => {
    const kiln = await aKiln(s);
    const firing = ownGroup();
    await ready(firing, { howMany: 3 });
    const number = await writeGlazeSchedule(firing.cone);
    const load = await aProposal(s, { kiln: kiln.code, firing });
    await s.as(maro, (act) => chooseSchedule(act, load, { schedule: number, version: 1 }));
    await expect(s.as(wren, (act) => approve(act, load, { version: 1 }))).rejects.toThrow(
      'Maro changed this load a moment ago: look again.',
    );
    await expect(s.as(maro, (act) => approve(act, load, { version: 1 }))).rejects.toThrow(/^You changed/);
    expect((await pageOf(s, load)).load.schedule?.number).toBe(number);
    await s.as(wren, (act) => approve(act, load, { version: 2 }));
  });

  const writeGlazeSchedule = (to: string) =>
    s.as(wren, (act) =>
      writeSchedule(act, {
        name: `Glaze ${to}`,
        kind: 'glaze',
        cone: to,
        forThick: false,
        segments: [{ rateCPerH: 150, toC: 1100, holdMin: 10 }],
      }),
    );

  it('two at once: what one load takes the other does not get', async () => {
    const kiln = await aKiln(s);
    const firing = ownGroup();
    const numbers = await ready(firing, { howMany: 6 });
    for (let round = 0; round < 5; round++) {
      const loads = [
        await aProposal(s, { kiln: kiln.code, firing }),
        await aProposal(s, { kiln: (await aKiln(s)).code, firing }),
      ];
      const answers = await Promise.allSettled(
        loads.map((load, i) => s.as(i === 0 ? wren : maro, (act) => approve(act, load, { version: 1 }))),
      );
      expect(answers.map(({ status }) => status).sort()).toEqual(['fulfilled', 'rejected']);
      const won = loads[answers.findIndex(({ status }) => status === 'fulfilled')] as number;
      const lost = answers.find((answer) => answer.status === 'rejected') as PromiseRejectedResult;
      expect(lost.reason).toMatchObject({ status: 409 });
      expect(lost.reason.message).toContain(`are in load ${won}.`);
      const found = await findPieces(readAs(s, wren), numbers);
      expect(found.every(({ load }) => load === won)).toBe(true);
      await nothingIsWrong(s);
      await s.as(wren, (act) => cancel(act, won, { reason: 'Next round' }));
    }
  });

  it('the same load approved twice at once is approved once', async () => {
    const kiln = await aKiln(s);
    const firing = ownGroup();
    await ready(firing, { howMany: 3 });
    const load = await aProposal(s, { kiln: kiln.code, firing });
    const answers = await Promise.allSettled(
      [wren, maro, wren].map((who) => s.as(who, (act) => approve(act, load, { version: 1 }))),
    );
    expect(answers.filter(({ status }) => status === 'fulfilled')).toHaveLength(1);
    await nothingIsWrong(s);
  });
});

describe('cancelling a load', () => {
  it('gives every piece its place in the queue back, whatever the state', async () => {
    const kiln = await aKiln(s);
    const firing = ownGroup();
    const numbers = await ready(firing, { howMany: 3 });
    const waited = (await findPieces(readAs(s, wren), numbers)).map(({ waitingSince }) => waitingSince);
    s.clock.forward(2 * DAY);
    for (const goOn of [false, true]) {
      const load = await aProposal(s, { kiln: kiln.code, firing });
      if (goOn) await approved(s, load);
      await expect(s.as(ida, (act) => cancel(act, load, { reason: 'x' }))).rejects.toMatchObject({
        status: 403,
      });
      await s.as(maro, (act) => cancel(act, load, { reason: 'The relay stuck.' }));
      const back = await findPieces(readAs(s, wren), numbers);
      expect(back.map(({ waitingSince }) => waitingSince)).toEqual(waited);
      expect(back.every(({ stage, load: isIn }) => stage === 'waiting-glaze' && isIn === null)).toBe(true);
      expect((await pageOf(s, load)).load).toMatchObject({ state: 'cancelled', cancelledAt: s.clock.now() });
      await expect(s.as(maro, (act) => cancel(act, load, { reason: 'Again' }))).rejects.toMatchObject({
        status: 409,
      });
      await nothingIsWrong(s);
    }
    const told = (await ownMessages(readAs(s, ida))).map(({ words }) => words);
    expect(told[0]).toMatch(
      /^Load \d+ is cancelled: The relay stuck\. Pieces .* are waiting again, with the place kept\.$/,
    );
  });
});

describe('who sees what of a load', () => {
  it('others by number and form, names only technicians and the owner', async () => {
    const kiln = await aKiln(s);
    const fen = await s.aPerson('member', 'Fenella');
    const [own] = await readyPieces(s, ida, { for: 'bisque', clay });
    const [other] = await readyPieces(s, fen, { for: 'bisque', clay, form: 'vase', wantedBy: '2027-01-05' });
    const load = await aProposal(s, { kiln: kiln.code, firing: BISQUE });
    const page = await pageOf(s, load, ida);
    const seen = (number: number | undefined) => page.pieces.find((piece) => piece.number === number);
    expect(seen(own)).toMatchObject({ mine: true, owner: 'Ida', clay });
    expect(seen(other)).toMatchObject({ mine: false, owner: null, clay: null, wantedBy: null, form: 'vase' });
    expect(page).toMatchObject({ checks: [], notYetIn: [] });
    expect(JSON.stringify(page)).not.toContain('Fenella');
    expect(page.events.map(({ by, note }) => [by, note])).toEqual([[null, null]]);
    expect((await pageOf(s, load)).pieces.map(({ owner }) => owner).sort()).toEqual(['Fenella', 'Ida']);
  });
});

it('a proposal is stored while somebody holds its pieces and its kiln locked', async () => {
  const kiln = await aKiln(s);
  const firing = ownGroup();
  await readyPieces(s, ida, { for: 'glaze', clay, cone: firing.cone, howMany: 3 });
  const first = await aProposal(s, { kiln: kiln.code, firing });
  const prepared = await prepareProposal(readAs(s, wren), { kiln: kiln.code, firing }, quickly);
  const { version } = (await pageOf(s, first)).load;
  await s.as(wren, async (act) => {
    await approve(act, first, { version });
    const { loads } = await s.as(maro, (other) => saveProposals(other, prepared));
    expect(loads).toHaveLength(1);
  });
  await nothingIsWrong(s);
});
