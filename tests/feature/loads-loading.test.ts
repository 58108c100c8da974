import { beforeAll, describe, expect, it } from 'vitest';
import { pictureIn } from '../../server/core/files.ts';
import { ownMessages } from '../../server/core/messages.ts';
import {
  cancel,
  careBody,
  checkBeforeFiring,
  checkForm,
  finishLoading,
  type KilnNow,
  keepForLevel,
  loadLevel,
  movePiece,
  noteCare,
  openKiln,
  prepareRepack,
  putIn,
  reopenLevel,
  showFiring,
  shutOff,
  startFiring,
  takeOut,
  unloadForm,
  unloadKiln,
} from '../../server/kilns/service/index.ts';
import { findPieces, movePieces } from '../../server/ware/service/index.ts';
import { started } from '../helpers/firing.ts';
import { aKiln } from '../helpers/kilns.ts';
import {
  aClay,
  aProposal,
  approved,
  nothingIsWrong,
  ownGroup,
  pageOf,
  quickly,
  readAs,
  readyPieces,
} from '../helpers/loads.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';
import { aPhoto } from '../helpers/upload.ts';

let s: Studio;
let wren: Person;
let ida: Person;
let clay: string;
beforeAll(async () => {
  s = await aStudio();
  ({ technician: wren, member: ida } = s.people);
  clay = await aClay(s);
});

/** An approved load of plates on two levels and more, and the pieces of each level from the floor. */
async function anApprovedLoad(inKiln?: KilnNow) {
  const kiln = inKiln ?? (await aKiln(s, { halfShelves: 0 }));
  const firing = ownGroup();
  await readyPieces(s, ida, { for: 'glaze', clay, cone: firing.cone, form: 'plate', howMany: 6 });
  const load = await aProposal(s, { kiln: kiln.code, firing });
  await approved(s, load);
  const page = await pageOf(s, load);
  const on = (level: number) =>
    page.pieces.filter((piece) => piece.level === level).map(({ number }) => number);
  expect(page.levels.length).toBeGreaterThan(1);
  return { load, kiln, firing, on, levels: page.levels };
}

const picture = async () => pictureIn({ bytes: await aPhoto(), isTooLarge: false }, 'photo');
const tick = (load: number, level: number, more: object = { why: 'The phone is flat' }) =>
  s.as(wren, (act) => loadLevel(act, load, { part: 'full', level, ...more }));
const flag = (number: number) =>
  s.as(wren, (act) => movePieces(act, 'flag', [number], { words: 'Cracked.' }));
const allTicked = checkForm.parse({
  ...{ posts: true, washed: true, cones: true, lid: true, clear: true, vent: true, schedule: true },
  onCall: 'Wren, 0700',
});
const one = async (number: number) => (await findPieces(readAs(s, wren), [number]))[0];

describe('loading level by level', () => {
  it('from the floor, all but what is named, with a photo each; what is left out keeps its place', async () => {
    const { load, on, levels } = await anApprovedLoad();
    const [out] = on(1) as [number];
    const waited = (await one(out))?.waitingSince;
    await expect(tick(load, 2)).rejects.toThrow('Level 1 comes first: levels go in from the floor up.');
    await tick(load, 1, { notIn: [out], picture: await picture() });
    expect(await one(out)).toMatchObject({ stage: 'waiting-glaze', load: null, waitingSince: waited });
    const page = await pageOf(s, load);
    expect(page.levels[0]?.tick).toMatchObject({
      by: 'Wren',
      notIn: [out],
      why: null,
      photo: expect.stringMatching(/^[0-9a-f]{64}$/),
    });
    expect(page.pieces.find(({ number }) => number === out)?.isIn).toBe(false);
    expect((await ownMessages(readAs(s, ida), 1))[0]?.words).toContain(`Piece ${out} is out of load ${load}`);
    await expect(tick(load, 1)).rejects.toThrow('Level 1 is loaded already.');
    await nothingIsWrong(s);
    await expect(s.as(wren, (act) => finishLoading(act, load))).rejects.toThrow('Level 2 is not ticked yet.');
    for (const { level } of levels.slice(1)) await tick(load, level);
    await s.as(wren, (act) => finishLoading(act, load));
    const { load: full, pieces } = await pageOf(s, load);
    expect(full).toMatchObject({ state: 'loaded', loadedAt: s.clock.now() });
    expect(pieces.filter(({ isIn }) => isIn === false).map(({ number }) => number)).toEqual([out]);
    await nothingIsWrong(s);
  });

  it('wants a photo before the next shelf goes on, or why there is none', async () => {
    const { load, on } = await anApprovedLoad();
    await expect(tick(load, 1, {})).rejects.toMatchObject({ status: 422, errors: [{ path: 'photo' }] });
    await expect(tick(load, 1, { kept: 'a'.repeat(64) })).rejects.toMatchObject({
      errors: [{ path: 'photo' }],
    });
    const kept = await picture();
    await s.as(wren, (act) => keepForLevel(act, kept));
    await expect(tick(load, 1, { kept: kept.sha256, notIn: on(2).slice(0, 1) })).rejects.toMatchObject({
      errors: [{ path: 'notIn' }],
    });
    await expect(tick(load, 30)).rejects.toMatchObject({ errors: [{ path: 'level' }] });
    await tick(load, 1, { kept: kept.sha256 });
    await tick(load, 2, { why: 'Dropped the phone' });
    const { levels } = await pageOf(s, load);
    expect(levels[0]?.tick?.photo).toBe(kept.sha256);
    expect(levels[1]?.tick?.why).toBe('Dropped the phone');
    await expect(
      s.as(ida, (act) => loadLevel(act, load, { part: 'full', level: 3, why: 'x' })),
    ).rejects.toMatchObject({ status: 403 });
    await expect(s.as(ida, (act) => keepForLevel(act, kept))).rejects.toMatchObject({ status: 403 });
    expect((await pageOf(s, load, ida)).levels[1]?.tick).toMatchObject({ by: null, why: null });
  });

  it('a ticked level is closed to changes until its tick is taken back', async () => {
    const { load, on } = await anApprovedLoad();
    await tick(load, 1);
    const { version } = (await pageOf(s, load)).load;
    const [piece] = on(1) as [number];
    const [other] = on(2) as [number];
    const closed = 'Level 1 is loaded already: take its tick back first.';
    await expect(s.as(wren, (act) => takeOut(act, load, { piece, version }))).rejects.toThrow(closed);
    const place = (await pageOf(s, load)).pieces.find(({ number }) => number === piece);
    if (!place) throw new Error('it is in the load');
    const { part, level, xMm, yMm } = place;
    const move = { piece, part, level, xMm, yMm, version };
    await expect(s.as(wren, (act) => movePiece(act, load, move))).rejects.toThrow(closed);
    await expect(prepareRepack(readAs(s, wren), load, { version }, quickly)).rejects.toMatchObject({
      status: 409,
    });
    await s.as(wren, (act) => takeOut(act, load, { piece: other, version }));
    await s.as(wren, (act) => reopenLevel(act, load, { part: 'full', level: 1 }));
    await s.as(wren, (act) => takeOut(act, load, { piece, version: version + 2 }));
    await nothingIsWrong(s);
  });

  it('a tick is taken back from the top, and what was left out is in again where it still waits', async () => {
    const { load, on, levels } = await anApprovedLoad();
    const [back] = on(1) as [number];
    const [gone] = on(2) as [number];
    await tick(load, 1, { notIn: [back], why: 'x' });
    await tick(load, 2, { notIn: [gone], why: 'x' });
    for (const { level } of levels.slice(2)) await tick(load, level);
    await s.as(wren, (act) => finishLoading(act, load));
    for (const { level } of [...levels].reverse()) {
      if (level === 1) continue;
      if (level === 2) {
        await expect(s.as(wren, (act) => reopenLevel(act, load, { part: 'full', level: 1 }))).rejects.toThrow(
          'Level 2 stands on it: take that tick back first.',
        );
        await s.as(ida, (act) => movePieces(act, 'pick-up', [gone], {}));
      }
      await s.as(wren, (act) => reopenLevel(act, load, { part: 'full', level }));
      expect((await pageOf(s, load)).load).toMatchObject({ state: 'approved', loadedAt: null });
      await nothingIsWrong(s);
    }
    await s.as(wren, (act) => reopenLevel(act, load, { part: 'full', level: 1 }));
    expect(await one(back)).toMatchObject({ stage: 'in-load', load });
    const { pieces } = await pageOf(s, load);
    expect(pieces.some(({ number }) => number === gone)).toBe(false);
    expect(pieces.every(({ isIn }) => isIn === null)).toBe(true);
    await expect(s.as(wren, (act) => reopenLevel(act, load, { part: 'full', level: 1 }))).rejects.toThrow(
      'Level 1 is not ticked.',
    );
    await nothingIsWrong(s);
  });

  it('cancelled when loaded, only what stands in it waits again; the rest went its way', async () => {
    const { load, firing, on, levels } = await anApprovedLoad();
    const [out] = on(1) as [number];
    await tick(load, 1, { notIn: [out], why: 'x' });
    const next = await aProposal(s, { kiln: (await aKiln(s)).code, firing });
    await approved(s, next);
    expect(await one(out)).toMatchObject({ load: next });
    for (const { level } of levels.slice(1)) await tick(load, level);
    await s.as(wren, (act) => finishLoading(act, load));
    await s.as(wren, (act) => cancel(act, load, { reason: 'Element broke' }));
    expect(await one(out)).toMatchObject({ stage: 'in-load', load: next });
    expect(await one(on(2)[0] as number)).toMatchObject({ stage: 'waiting-glaze', load: null });
    await nothingIsWrong(s);
  });

  it('nothing goes in that was not approved, and an empty kiln is not full', async () => {
    const { load, on, levels } = await anApprovedLoad();
    for (const { level } of levels) await tick(load, level, { notIn: on(level), why: 'x' });
    await expect(s.as(wren, (act) => finishLoading(act, load))).rejects.toThrow('Nothing stands in the kiln');
    await s.as(wren, (act) => cancel(act, load, { reason: 'Nothing in it' }));
    await expect(tick(load, 1)).rejects.toThrow(/is cancelled: it cannot be filled now/);
    await expect(
      s.as(wren, (act) => putIn(act, load, { piece: on(1)[0] as number, version: 9 })),
    ).rejects.toMatchObject({ status: 409 });
    await nothingIsWrong(s);
  });

  it('what is flagged before its level is opened again stays out of the load', async () => {
    const { load, on } = await anApprovedLoad();
    const [cracked] = on(1) as [number];
    await tick(load, 1, { notIn: [cracked], why: 'x' });
    await flag(cracked);
    await s.as(wren, (act) => reopenLevel(act, load, { part: 'full', level: 1 }));
    expect(await one(cracked)).toMatchObject({ stage: 'waiting-glaze', load: null, flag: 'Cracked.' });
    const page = await pageOf(s, load);
    expect(page.pieces.some(({ number }) => number === cracked)).toBe(false);
    expect(page.checks.filter(({ ok }) => !ok)).toEqual([]);
    await nothingIsWrong(s);
  });

  it('one level ticked by two at once is ticked once', async () => {
    const { load } = await anApprovedLoad();
    const answers = await Promise.allSettled([tick(load, 1), tick(load, 1), tick(load, 1)]);
    expect(answers.filter(({ status }) => status === 'fulfilled')).toHaveLength(1);
    await nothingIsWrong(s);
  });
});

describe('what comes to light after the approval', () => {
  it('is shown until it is started, and wants a word at the finish and at the start', async () => {
    const { load, on, levels } = await anApprovedLoad();
    const [cracked] = on(2) as [number];
    for (const { level } of levels) await tick(load, level);
    await flag(cracked);
    const found = async (person = wren) =>
      (await pageOf(s, load, person)).checks
        .filter(({ ok }) => !ok)
        .map(({ check, numbers }) => [check, numbers]);
    expect(await found()).toEqual([['flags', [cracked]]]);
    const asked = {
      status: 422,
      errors: [{ path: 'note', message: expect.stringContaining(`Piece ${cracked}:`) }],
    };
    await expect(s.as(wren, (act) => finishLoading(act, load))).rejects.toMatchObject(asked);
    expect((await s.visit(wren, `/kilns/loads/${load}/load`)).body).toContain(
      'Why it is loaded all the same',
    );
    await s.as(wren, (act) => finishLoading(act, load, { note: 'It is a test piece' }));
    expect(await found()).toEqual([['flags', [cracked]]]);
    expect(await found(ida)).toEqual([]);
    expect((await s.visit(wren, `/kilns/loads/${load}`)).body).toContain('This has come to light');
    await s.as(wren, (act) => checkBeforeFiring(act, load, allTicked));
    expect((await s.visit(wren, `/kilns/loads/${load}/start`)).body).toContain('This has come to light');
    await expect(s.as(wren, (act) => startFiring(act, load, { confirm: true }))).rejects.toMatchObject(asked);
    await s.as(wren, (act) => startFiring(act, load, { confirm: true, note: 'It is a test piece' }));
    const { startedWithout } = await showFiring(readAs(s, wren), load);
    expect(startedWithout).toMatchObject({ open: [], found: ['flags'], why: 'It is a test piece' });
    expect(await found()).toEqual([]);
    await nothingIsWrong(s);
  });

  it('is nothing where the flagged piece was left out, or the flag was taken back', async () => {
    const { load, on, levels } = await anApprovedLoad();
    const [out] = on(1) as [number];
    const [mended] = on(2) as [number];
    for (const { level } of levels) await tick(load, level, { notIn: level === 1 ? [out] : [], why: 'x' });
    await flag(out);
    await flag(mended);
    await s.as(wren, (act) => movePieces(act, 'unflag', [mended], {}));
    await s.as(wren, (act) => finishLoading(act, load));
    await s.as(wren, (act) => checkBeforeFiring(act, load, allTicked));
    await s.as(wren, (act) => startFiring(act, load, { confirm: true }));
  });

  it('is shown to a member who fires the kiln, since it is asked for at the start', async () => {
    const finn = await s.aPerson('member', 'Finn');
    const { load, on, levels } = await anApprovedLoad(await aKiln(s, { halfShelves: 0, firers: [finn] }));
    for (const { level } of levels) await tick(load, level);
    await s.as(wren, (act) => finishLoading(act, load));
    const [cracked] = on(1) as [number];
    await flag(cracked);
    expect((await pageOf(s, load, finn)).checks.filter(({ ok }) => !ok)).toMatchObject([{ check: 'flags' }]);
    expect((await s.visit(finn, `/kilns/loads/${load}/start`)).body).toContain(`Piece ${cracked}:`);
  });

  it('a kiln that may not be fired so any more wants a word at the finish', async () => {
    const { load, kiln, levels } = await anApprovedLoad();
    for (const { level } of levels) await tick(load, level);
    await s.as(wren, (act) =>
      noteCare(act, kiln.code, careBody.parse({ kind: 'out-of-service', note: 'An element broke' })),
    );
    await expect(s.as(wren, (act) => finishLoading(act, load))).rejects.toMatchObject({
      errors: [{ path: 'note', message: expect.stringContaining('is out of service') }],
    });
    await s.as(wren, (act) => finishLoading(act, load, { note: 'It is mended tonight' }));
  });
});

describe('a kiln holds one load', () => {
  it('nothing is put in beside another, from its first level until it is emptied', async () => {
    const first = await anApprovedLoad();
    const second = await anApprovedLoad(first.kiln);
    const isRefused = (words: string) => expect(tick(second.load, 1)).rejects.toThrow(words);
    await tick(first.load, 1);
    await isRefused(`Load ${first.load} is being filled into Round kiln`);
    await s.as(wren, (act) => reopenLevel(act, first.load, { part: 'full', level: 1 }));
    await tick(second.load, 1);
    await expect(tick(first.load, 1)).rejects.toThrow(`Load ${second.load} is being filled`);
    await s.as(wren, (act) => reopenLevel(act, second.load, { part: 'full', level: 1 }));
    for (const { level } of first.levels) await tick(first.load, level);
    await s.as(wren, (act) => finishLoading(act, first.load));
    await isRefused(`Load ${first.load} is still in Round kiln: it is loaded.`);
    await started(s, first.load);
    await isRefused('it is firing.');
    await s.as(wren, (act) => shutOff(act, first.load, {}));
    await isRefused('it is cooling.');
    await s.as(wren, (act) => openKiln(act, first.load, { celsius: 40, how: 'opened' }));
    await isRefused('it is cooling.');
    await s.as(wren, (act) => unloadKiln(act, first.load, unloadForm.parse({ celsius: 30 })));
    await tick(second.load, 1);
    await nothingIsWrong(s);
  });

  it('of two loads whose first level is ticked at once one goes in', async () => {
    const first = await anApprovedLoad();
    const second = await anApprovedLoad(first.kiln);
    const answers = await Promise.allSettled([tick(first.load, 1), tick(second.load, 1)]);
    expect(answers.filter(({ status }) => status === 'fulfilled')).toHaveLength(1);
    await nothingIsWrong(s);
  });
});
