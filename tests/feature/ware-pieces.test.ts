import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { DAY, HOUR } from '../../server/core/clock.ts';
import { Conflict, Forbidden, Invalid, NotFound } from '../../server/core/errors.ts';
import { pictureIn } from '../../server/core/files.ts';
import { ownMessages } from '../../server/core/messages.ts';
import type { Firing } from '../../server/ware/firing.ts';
import {
  addToGroup,
  changeForm,
  changePieces,
  claimPiece,
  comeOut,
  enterLoad,
  examinePieces,
  findOwn,
  findPiece,
  foundForm,
  leaveLoad,
  listOwn,
  listWaiting,
  listWaitingSizes,
  lockPieces,
  MOVE_PATHS,
  makeClass,
  makeHousehold,
  movePieces,
  moveRefusal,
  namelessShelf,
  type PieceNow,
  pieceHistory,
  registerForm,
  registerFound,
  setTrait,
} from '../../server/ware/service/index.ts';
import { STAGES } from '../../server/ware/stage.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';
import { aPhoto } from '../helpers/upload.ts';
import { aClay, dryPieces, moved, somePieces } from '../helpers/ware.ts';

let s: Studio;
let member: Person;
let other: Person;
let technician: Person;
let clay: string;
let load = 1000;

beforeAll(async () => {
  s = await aStudio();
  ({ member, technician } = s.people);
  other = await s.aPerson('member', 'Ada');
  clay = await aClay(s);
});

const bisque: Firing = { kind: 'bisque', cone: '06', atmosphere: 'oxidation' };
const glaze6: Firing = { kind: 'glaze', cone: '6', atmosphere: 'oxidation' };
const see = (number: number, person = member) => s.as(person, (act) => findPiece(act, number));
const firedIn = (person: Person, numbers: number[], firing: Firing, outcome: 'good' | 'burst' = 'good') => {
  load += 1;
  return s.as(person, async (act) => {
    await enterLoad(act, await lockPieces(act, numbers), load);
    await comeOut(
      act,
      load,
      firing,
      numbers.map((number) => ({ number, outcome, level: 2 })),
    );
  });
};
const photo = async () => pictureIn({ bytes: await aPhoto(), isTooLarge: false }, 'photo');
const words = async (person: Person) =>
  (await s.as(person, (act) => ownMessages(act))).map((one) => one.words);
const one = async (command: Record<string, unknown> = {}, person = member): Promise<number> => {
  const [number] = await somePieces(s, person, { clay, ...command });
  return number as number;
};

/** Pieces as the kilns first ask for them. */
const inShort = (pieces: readonly PieceNow[]) =>
  pieces.map(({ number, next, isReady, waitingSince, wantedBy, asPacked }) => ({
    ...{ number, next, isReady, waitingSince, wantedBy, asPacked },
  }));

describe('registering', () => {
  it('gives each piece of a batch a number of its own, without gaps, and the sizes of its form', async () => {
    const numbers = await somePieces(s, member, { form: 'cup', howMany: 6, clay: clay.toUpperCase() });
    expect(numbers).toHaveLength(6);
    expect(numbers.map((number) => number - (numbers[0] as number))).toEqual([0, 1, 2, 3, 4, 5]);
    const piece = await see(numbers[5] as number);
    expect(piece).toMatchObject({
      batch: numbers[0],
      stage: 'made',
      form: 'cup',
      owner: { kind: 'person', name: 'Ida' },
      payer: { name: 'Ida' },
      clay: { name: clay },
      next: bisque,
      isMine: true,
      isReady: false,
    });
    expect(piece.measured.footprint).toEqual({ shape: 'rectangle', widthMm: 125, depthMm: 85 });
    expect(piece.asPacked.heightMm).toBe(94);
  });

  it('takes ware that is dry, or was brought bisqued, as it is', async () => {
    const dry = await see(await one({ begins: 'drying' }));
    expect(dry).toMatchObject({ stage: 'drying', isAsked: false, measured: { when: 'dry' } });
    expect(dry.asPacked.heightMm).toBe(dry.measured.heightMm);
    const brought = await see(await one({ begins: 'bisqued' }));
    expect(brought).toMatchObject({ stage: 'bisqued', isBisqued: true, next: glaze6 });
  });

  it('two at the same time get different numbers', async () => {
    const all = await Promise.all(
      [member, other, member, other].map((person) => somePieces(s, person, { clay, howMany: 5 })),
    );
    expect(new Set(all.flat()).size).toBe(20);
  });

  it.each([
    [{ cone: '10' }, 'cone'],
    [{ clay: 'No such clay' }, 'clay'],
    [{ ownClay: 'Both' }, 'ownClay'],
    [{ clay: undefined }, 'clay'],
    [{ group: 'Nobody knows it' }, 'group'],
    [{ payer: 'Nobody knows it' }, 'payer'],
    [{ once: true, begins: 'bisqued' }, 'once'],
    [{ once: true, kind: 'bisque', cone: '06' }, 'once'],
  ])('refuses %j beside its field', async (command, path) => {
    const refused = await somePieces(s, member, { clay, ...command }).catch((error) => error);
    expect(refused).toBeInstanceOf(Invalid);
    expect(refused.errors.map((error: { path: string }) => error.path)).toEqual([path]);
  });

  it.each([
    ['widthMm', 0],
    ['widthMm', 1e9],
    ['widthMm', Number.NaN],
    ['heightMm', -5],
    ['thickestMm', Number.POSITIVE_INFINITY],
    ['howMany', 0],
    ['howMany', 61],
    ['howMany', 1.5],
    ['cone', '15'],
    ['cone', 'hot'],
    ['wantedBy', '2026-02-30'],
    ['wantedBy', 'soon'],
    ['kg', 1e12],
    ['note', 'nul\0'],
    ['kept', '../../etc'],
    ['surprise', 'field'],
  ])('does not take %s = %s', (name, value) => {
    expect(registerForm.safeParse({ form: 'cup', clay, cone: '6', [name]: value }).success).toBe(false);
  });
});

describe('from wet to fired', () => {
  it('goes through every stage by the hands that may, and its events say the same as its row', async () => {
    const code = await s.aBucket({ sg: 1.46, stirredMinutesAgo: 5 });
    const number = await one();
    await moved(s, member, 'drying', [number]);
    await moved(s, member, 'ask-dry', [number]);
    s.clock.forward(2 * DAY);
    expect(await see(number)).toMatchObject({ stage: 'drying', isAsked: true, dryAt: null });
    await moved(s, technician, 'dry', [number]);
    const waiting = await see(number);
    expect(waiting).toMatchObject({ stage: 'waiting-bisque', isReady: true });
    expect(waiting.waitingSince).toBeLessThan(waiting.stageSince);

    await firedIn(technician, [number], bisque);
    expect(await see(number)).toMatchObject({ stage: 'bisqued', next: glaze6, outcome: 'good' });
    await moved(s, member, 'glazes', [number], { glazes: [{ bucket: code.toLowerCase() }] });
    const glazed = await see(number);
    expect(glazed.glazes).toMatchObject([
      { bucket: { code }, gravity: expect.closeTo(1.46, 1), batchNumber: null },
    ]);
    expect(glazed.glazes[0]?.reading).toBeGreaterThan(0);

    const early = await moved(s, member, 'hand-in', [number], {}).catch((error) => error);
    expect(early.errors).toMatchObject([{ path: 'heldBack' }]);
    await moved(s, member, 'hand-in', [number], { heldBack: true });
    // The test bucket says nothing of its cones: a technician answers for it.
    expect((await see(number)).gates.filter(({ ok }) => !ok).map(({ gate }) => gate)).toEqual(['unknown']);
    await moved(s, technician, 'yes', [number], { trayMm: 20 });
    expect(await see(number)).toMatchObject({ isReady: true, trayMm: 20 });
    await firedIn(technician, [number], glaze6);
    expect(await see(number)).toMatchObject({ stage: 'fired', next: null, gates: [], yesAt: null });
    await moved(s, member, 'pick-up', [number]);
    expect(await see(number)).toMatchObject({ stage: 'picked-up' });
    expect((await s.as(member, (act) => pieceHistory(act, number))).map(({ kind }) => kind)).toEqual([
      'picked-up',
      'came-out',
      'entered-load',
      'yes',
      'handed-in',
      'glazed',
      'came-out',
      'entered-load',
      'dry',
      'asked-dry',
      'drying',
      'registered',
    ]);
    expect(await words(member)).toContain(`Piece ${number} is fired: ready to pick up.`);
  });

  it('a batch moves as one, and its owners are told once', async () => {
    const numbers = await dryPieces(s, member, { clay, howMany: 4 });
    const before = (await words(member)).length;
    await firedIn(technician, numbers, bisque);
    expect((await words(member)).slice(0, (await words(member)).length - before)).toEqual([
      `Pieces ${numbers[0]} to ${numbers[3]} are bisqued: glaze next.`,
    ]);
  });

  it('all or none: one that cannot keeps the others where they are', async () => {
    const [first, second] = (await somePieces(s, member, { clay, howMany: 2 })) as [number, number];
    await moved(s, member, 'drying', [first]);
    await expect(moved(s, member, 'drying', [first, second])).rejects.toThrow(Conflict);
    expect((await see(second)).stage).toBe('made');
  });

  it('what burst in the bisque is through; its owner is told to look', async () => {
    const numbers = await dryPieces(s, other, { clay });
    await firedIn(technician, numbers, bisque, 'burst');
    expect(await see(numbers[0] as number, other)).toMatchObject({ stage: 'fired', outcome: 'burst' });
    expect((await words(other))[0]).toMatch(/burst\. Have a look/);
  });

  it('what is wanted bisqued only is ready after it; what is glazed raw is fired once, but dry', async () => {
    const plain = await dryPieces(s, member, { clay, kind: 'bisque', cone: '08' });
    expect(await see(plain[0] as number)).toMatchObject({
      next: { kind: 'bisque', cone: '08' },
      isReady: true,
    });
    await firedIn(technician, plain, { ...bisque, cone: '08' });
    expect((await see(plain[0] as number)).stage).toBe('fired');

    const raw = await one({ once: true });
    await moved(s, member, 'glazes', [raw], { glazes: [] });
    await moved(s, member, 'hand-in', [raw], {});
    expect(await see(raw)).toMatchObject({ stage: 'waiting-glaze', isReady: false, next: glaze6 });
    await moved(s, technician, 'dry', [raw]);
    expect(await see(raw)).toMatchObject({ stage: 'waiting-glaze', isReady: true });
  });

  it('lustre goes over what is fired, as another firing, and no hotter than its clay stands', async () => {
    const number = await one({ begins: 'bisqued' });
    await moved(s, member, 'glazes', [number], { glazes: [] });
    await moved(s, member, 'hand-in', [number], {});
    await firedIn(technician, [number], glaze6);
    const hot = await moved(s, member, 'another-firing', [number], { kind: 'other', cone: '10' }).catch(
      (e) => e,
    );
    expect(hot.errors).toMatchObject([{ path: 'cone' }]);
    const lustre = { kind: 'lustre', cone: '018', atmosphere: 'oxidation' };
    await moved(s, member, 'another-firing', [number], lustre);
    await moved(s, member, 'hand-in', [number], {});
    expect(await see(number)).toMatchObject({ stage: 'waiting-glaze', isReady: true, next: lustre });
  });

  it('a runny glaze takes its tray, and the tags of glazes are the piece’s', async () => {
    const code = await s.aBucket({ sg: 1.46, stirredMinutesAgo: 5 });
    await s.as(technician, (act) => setTrait(act, code, { isRunny: true, trayMm: 25, tags: 'Chromium' }));
    const number = await one({ begins: 'bisqued' });
    await moved(s, member, 'glazes', [number], { glazes: [{ bucket: code }] });
    const piece = await see(number);
    expect(piece).toMatchObject({ trayMm: 25, tags: ['chromium'] });
    expect(piece.gates.find(({ gate }) => gate === 'foot')?.words).toContain('12 mm');
  });
});

describe('what a technician decides', () => {
  it('gives a piece back with reason, words and photo, and its owner hands it in again', async () => {
    const number = await one();
    await moved(s, member, 'ask-dry', [number]);
    const body = { reason: 'not-dry' as const, note: 'The foot is cold.' };
    const picture = await photo();
    await s.as(technician, (act) => movePieces(act, 'return', [number], body, picture));
    const back = await see(number);
    expect(back).toMatchObject({ stage: 'returned', reason: 'not-dry', isAsked: false });
    const [event] = await s.as(member, (act) => pieceHistory(act, number));
    expect(event).toMatchObject({ note: 'The foot is cold.', photo: picture.sha256 });
    expect((await words(member))[0]).toBe(
      `Piece ${number} was given back to you: not dry yet. The foot is cold.`,
    );
    await moved(s, member, 'ask-dry', [number]);
    expect(await see(number)).toMatchObject({ stage: 'drying', isAsked: true, reason: null });
  });

  it('asks for words where the reason is something else', async () => {
    const refused = await moved(s, technician, 'return', [await one()], { reason: 'other' }).catch((e) => e);
    expect(refused.errors).toMatchObject([{ path: 'note' }]);
  });

  it('a yes is to one firing, and ends with another clay', async () => {
    const [number] = (await dryPieces(s, member, { ownClay: 'From the river' })) as [number];
    expect(await see(number)).toMatchObject({ isReady: false, next: bisque });
    await moved(s, technician, 'yes', [number], { trayMm: 15 });
    expect(await see(number)).toMatchObject({ isReady: true, trayMm: 15 });
    await expect(moved(s, technician, 'yes', [await one()], { trayMm: 15 })).rejects.toThrow(Conflict);
    await firedIn(technician, [number], bisque);
    expect(await see(number)).toMatchObject({ yesAt: null, trayMm: 0 });
    await moved(s, technician, 'yes', [number], { trayMm: 15 });
    const change = changeForm.parse({ form: 'beaker', ownClay: 'Another river', cone: '6' });
    await s.as(member, (act) => changePieces(act, number, change));
    expect(await see(number)).toMatchObject({ yesAt: null, ownClay: 'Another river' });
  });

  it('a glaze from outside asks for its own yes', async () => {
    const number = await one({ begins: 'bisqued' });
    const own = { own: 'Blue from home', coneFrom: '5', coneTo: '6' };
    await moved(s, member, 'glazes', [number], { glazes: [own] });
    await moved(s, member, 'hand-in', [number], { heldBack: true });
    expect((await see(number)).isReady).toBe(false);
    await moved(s, technician, 'yes', [number], { trayMm: 15 });
    expect((await see(number)).isReady).toBe(true);
    await moved(s, member, 'glazes', [number], { glazes: [{ ...own, own: 'Green from home' }] });
    expect(await see(number)).toMatchObject({ stage: 'glazed', yesAt: null, footAt: null });
    const wrongWay = { glazes: [{ own: 'x', coneFrom: '6', coneTo: '04' }] };
    const refused = await moved(s, member, 'glazes', [number], wrongWay).catch((error) => error);
    expect(refused.errors).toMatchObject([{ path: 'glazes.0.coneTo' }]);
    const nowhere = await moved(s, member, 'glazes', [number], { glazes: [{ bucket: 'NOPE' }] }).catch(
      (e) => e,
    );
    expect(nowhere.errors).toMatchObject([{ path: 'glazes.0.bucket' }]);
  });

  it('keeps a piece back, and lets it go on', async () => {
    const [number] = (await dryPieces(s, member, { clay })) as [number];
    await moved(s, technician, 'flag', [number], { words: 'A hairline at the rim?' });
    expect(await see(number)).toMatchObject({ flag: 'A hairline at the rim?', isReady: false });
    await moved(s, technician, 'unflag', [number]);
    expect(await see(number)).toMatchObject({ flag: null, isReady: true });
    await expect(moved(s, technician, 'unflag', [number])).rejects.toThrow(Conflict);
  });

  it('fires again, leaves behind, loses and finds', async () => {
    const number = await one({ begins: 'bisqued' });
    await moved(s, member, 'glazes', [number], { glazes: [] });
    await moved(s, member, 'hand-in', [number], {});
    await firedIn(technician, [number], glaze6);
    await moved(s, technician, 'refire', [number]);
    expect(await see(number)).toMatchObject({ stage: 'refire', next: glaze6, isReady: true });
    await firedIn(technician, [number], glaze6);
    await moved(s, technician, 'left-behind', [number]);
    await moved(s, technician, 'lost', [number], { cause: 'mixed-up', note: 'Taken on Saturday' });
    expect(await see(number)).toMatchObject({ stage: 'lost', reason: 'mixed-up' });
    expect((await words(member))[0]).toContain('somebody else took it. Taken on Saturday');
    await expect(moved(s, member, 'here-again', [number])).rejects.toThrow(Forbidden);
    await moved(s, technician, 'here-again', [number]);
    expect((await see(number)).stage).toBe('fired');
  });

  it('what was picked up by mistake goes back to where it was, by its owner', async () => {
    const [number] = (await dryPieces(s, member, { clay })) as [number];
    await moved(s, member, 'pick-up', [number]);
    await moved(s, member, 'here-again', [number]);
    expect(await see(number)).toMatchObject({ stage: 'waiting-bisque', isReady: true });
    await expect(moved(s, technician, 'refire', [number])).rejects.toThrow(Conflict);
  });

  it('measures it: such ware is packed closer, until its owner says another size', async () => {
    const number = await one();
    await moved(s, technician, 'measure', [number], { widthMm: 90, heightMm: 120 });
    expect(await see(number)).toMatchObject({
      measured: {
        footprint: { shape: 'circle', diameterMm: 90 },
        heightMm: 120,
        byTechnician: true,
        when: 'wet',
      },
    });
    const same = changeForm.parse({
      form: 'beaker',
      clay,
      cone: '5',
      widthMm: 90,
      heightMm: 120,
      measured: 'wet',
    });
    await s.as(member, (act) => changePieces(act, number, same));
    expect(await see(number)).toMatchObject({ measured: { byTechnician: true }, final: { cone: '5' } });
    await s.as(member, (act) => changePieces(act, number, { ...same, heightMm: 90 }));
    expect((await see(number)).measured.byTechnician).toBe(false);
  });
});

describe('whose a piece is', () => {
  it('is nobody else’s business: strangers find none, technicians all', async () => {
    const number = await one();
    await expect(see(number, other)).rejects.toThrow(NotFound);
    await expect(moved(s, other, 'drying', [number])).rejects.toThrow(NotFound);
    expect((await see(number, technician)).isMine).toBe(false);
    const mine = await s.as(other, (act) => listOwn(act));
    expect(mine.some((piece) => piece.number === number)).toBe(false);
  });

  it.each(MOVE_PATHS)('%s is not for a stranger, and asks a technician where it must', async (path) => {
    const number = await one();
    const body = {
      glazes: { glazes: [] },
      return: { reason: 'crack' },
      flag: { words: 'x' },
      lost: { cause: 'broken' },
      'another-firing': { kind: 'lustre', cone: '018', atmosphere: 'oxidation' },
      measure: { widthMm: 1, heightMm: 1 },
      assign: { who: member.email },
    } as Record<string, object>;
    const refused = await moved(s, other, path, [number], body[path] ?? {}).catch((error) => error);
    const decides = [
      'dry',
      'return',
      'yes',
      'flag',
      'unflag',
      'refire',
      'left-behind',
      'lost',
      'assign',
      'measure',
    ];
    expect(refused).toBeInstanceOf(decides.includes(path) ? Forbidden : NotFound);
    const own = await moved(s, member, path, [number], body[path] ?? {}).catch((error) => error);
    if (decides.includes(path)) expect(own).toBeInstanceOf(Forbidden);
    else expect(own).not.toBeInstanceOf(Forbidden);
  });

  it('a household’s pieces are everybody’s in it; a class is registered for by who teaches it', async () => {
    const home = `Home ${member.id}`;
    const id = await s.as(member, (act) => makeHousehold(act, { name: home }));
    await s.as(member, (act) => addToGroup(act, id, { who: other.email }));
    const [number] = (await somePieces(s, member, { clay, group: home, payer: 'me' })) as [number];
    expect(await see(number, other)).toMatchObject({
      owner: { kind: 'group', name: home },
      payer: { kind: 'person', name: 'Ida' },
      isMine: true,
    });
    await moved(s, other, 'drying', [number]);

    await s.as(technician, (act) => makeClass(act, { name: 'Class Tuesday 07', contact: other.email }));
    const [pot] = (await somePieces(s, other, { clay, group: 'class tuesday 07' })) as [number];
    expect(await see(pot, other)).toMatchObject({
      owner: { name: 'Class Tuesday 07' },
      payer: { kind: 'group' },
    });
    await expect(see(pot)).rejects.toThrow(NotFound);
    await expect(somePieces(s, member, { clay, group: 'Class Tuesday 07' })).rejects.toThrow(Invalid);
    const told = await words(other);
    await moved(s, technician, 'flag', [pot], { words: 'Wobbles' });
    expect(await words(other)).toHaveLength(told.length + 1);
  });

  it('a piece without a name needs a photo, is claimed once each, and is handed over by a technician', async () => {
    const command = foundForm.parse({ form: 'bowl', looks: 'bisque', place: 'sink' });
    const bare = await s.as(technician, (act) => registerFound(act, command, null)).catch((error) => error);
    expect(bare.errors).toMatchObject([{ path: 'photo' }]);
    const picture = await photo();
    await expect(s.as(member, (act) => registerFound(act, command, picture))).rejects.toThrow(Forbidden);
    const { numbers } = await s.as(technician, (act) => registerFound(act, command, picture));
    const [number] = numbers as [number];
    await expect(see(number)).rejects.toThrow(NotFound);
    const { shelf } = await s.as(member, (act) => namelessShelf(act));
    expect(shelf.find((piece) => piece.number === number)).toMatchObject({
      looks: 'bisque',
      isClaimed: false,
    });
    await s.as(member, (act) => claimPiece(act, number, {}));
    await expect(s.as(member, (act) => claimPiece(act, number, {}))).rejects.toThrow(Conflict);
    await s.as(other, (act) => claimPiece(act, number, { note: 'It has my thumb in it' }));
    await moved(s, technician, 'assign', [number], { who: member.name });
    expect(await see(number)).toMatchObject({ stage: 'bisqued', isBisqued: true, owner: { name: 'Ida' } });
    expect((await words(member))[0]).toBe(`Piece ${number} is yours now.`);
    await expect(s.as(other, (act) => claimPiece(act, number, {}))).rejects.toThrow(NotFound);
    await expect(s.as(other, (act) => claimPiece(act, 2 ** 31 - 1, {}))).rejects.toThrow(NotFound);
  });

  it('the shelf without names comes page by page, the newest first, each piece once', async () => {
    const command = foundForm.parse({ form: 'bowl', looks: 'bisque', place: 'long shelf' });
    const picture = await photo();
    for (let i = 0; i < 62; i++) await s.as(technician, (act) => registerFound(act, command, picture));
    const seen: number[] = [];
    let pages = 0;
    for (let before: number | undefined; ; pages++) {
      const { shelf, next } = await s.as(member, (act) => namelessShelf(act, before));
      seen.push(...shelf.map(({ number }) => number));
      if (next === null) break;
      before = next;
    }
    expect(pages).toBe(1);
    expect(new Set(seen).size).toBe(seen.length);
    expect(seen).toEqual([...seen].sort((a, b) => b - a));
    const first = await s.visit(member, '/ware/found');
    const older = first.body.match(/href="(\/ware\/found\?before=\d+)"/)?.[1] ?? '';
    expect((await s.visit(member, older)).body).toMatch(/href="\/ware\/found">\s*Newest/);
    expect((await s.visit(member, '/ware/found?before=1e9x')).statusCode).toBe(200);
  });

  it('may not be given to nobody, to two, or to a name that two people have', async () => {
    const number = await one();
    await s.aPerson('member', 'Twin');
    await s.aPerson('member', 'Twin');
    for (const body of [
      {},
      { who: member.email, group: 'x' },
      { who: 'No one' },
      { who: 'Twin' },
      { group: 'No' },
    ])
      await expect(moved(s, technician, 'assign', [number], body)).rejects.toThrow(Invalid);
  });
});

describe('putting right', () => {
  it('only pieces of one batch, none in a load, and the ledger keeps the figures', async () => {
    const [a, b] = (await somePieces(s, member, { clay, howMany: 2 })) as [number, number];
    const stray = await one();
    const change = changeForm.parse({
      form: 'bowl',
      clay,
      cone: '5',
      widthMm: 160,
      heightMm: 80,
      thickestMm: 14,
    });
    await expect(s.as(member, (act) => changePieces(act, a, { ...change, also: [stray] }))).rejects.toThrow(
      Invalid,
    );
    await s.as(member, (act) => changePieces(act, a, { ...change, also: [b] }));
    expect(await see(b)).toMatchObject({ form: 'bowl', stack: 'nest', thickestMm: 14, final: { cone: '5' } });
    const [event] = await s.as(member, (act) => pieceHistory(act, b));
    expect(event?.payload).toMatchObject({
      changed: { cone: '6 → 5', widthMm: '85 → 160', thickestMm: '6 → 14' },
    });

    const [inside] = (await dryPieces(s, member, { clay })) as [number];
    await s.as(technician, async (act) => enterLoad(act, await lockPieces(act, [inside]), ++load));
    await expect(s.as(member, (act) => changePieces(act, inside, change))).rejects.toThrow(Conflict);
  });
});

describe('in and out of loads', () => {
  it('two at once take a piece once', async () => {
    const numbers = await dryPieces(s, member, { clay, howMany: 3 });
    const [first, second] = [++load, ++load];
    const taken = await Promise.allSettled(
      [first, second].map((into) =>
        s.as(technician, async (act) => enterLoad(act, await lockPieces(act, numbers), into)),
      ),
    );
    expect(taken.map(({ status }) => status).sort()).toEqual(['fulfilled', 'rejected']);
    const lost = taken.find(({ status }) => status === 'rejected') as PromiseRejectedResult;
    expect(lost.reason).toBeInstanceOf(Conflict);
    expect(lost.reason.message).toContain(`Pieces ${numbers[0]} to ${numbers[2]} do not wait any more`);
    const winner = taken[0]?.status === 'fulfilled' ? first : second;
    for (const number of numbers) expect(await see(number)).toMatchObject({ stage: 'in-load', load: winner });
  });

  it('a cancelled load gives the place back', async () => {
    const [number] = (await dryPieces(s, member, { clay })) as [number];
    const { waitingSince } = await see(number);
    s.clock.forward(3 * HOUR);
    await s.as(technician, async (act) => enterLoad(act, await lockPieces(act, [number]), ++load));
    await expect(s.as(technician, (act) => leaveLoad(act, [number], load - 1))).rejects.toThrow(Conflict);
    await s.as(technician, (act) => leaveLoad(act, [number], load));
    expect(await see(number)).toMatchObject({ stage: 'waiting-bisque', waitingSince, load: null });
    await expect(s.as(technician, (act) => leaveLoad(act, [number], load))).rejects.toThrow(Conflict);
  });

  it('takes nothing that does not wait, and nothing that is not there', async () => {
    const made = await one();
    await expect(s.as(technician, (act) => enterLoad(act, [{ number: made }], ++load))).rejects.toThrow(
      Conflict,
    );
    const ghost = [{ number: 2 ** 31 - 1 }];
    await expect(s.as(technician, (act) => enterLoad(act, ghost, ++load))).rejects.toThrow(Conflict);
  });

  it('an outcome said again counts instead, and moves what nothing was done with since', async () => {
    const numbers = (await dryPieces(s, member, { clay, howMany: 2 })) as [number, number];
    await firedIn(technician, numbers, bisque);
    await moved(s, member, 'glazes', [numbers[1]], { glazes: [] });
    await s.as(technician, (act) =>
      comeOut(
        act,
        load,
        bisque,
        numbers.map((number) => ({ number, outcome: 'burst' as const, level: 1 })),
      ),
    );
    expect(await see(numbers[0])).toMatchObject({ stage: 'fired', outcome: 'burst' });
    expect(await see(numbers[1])).toMatchObject({ stage: 'glazed', outcome: 'burst' });
    const never = await one();
    const items = [{ number: never, outcome: 'good' as const, level: 1 }];
    await expect(s.as(technician, (act) => comeOut(act, load, bisque, items))).rejects.toThrow(Conflict);
  });

  it('an outcome put right after the next firing moves nothing back', async () => {
    const numbers = (await dryPieces(s, member, { clay })) as [number];
    await firedIn(technician, numbers, bisque);
    const first = load;
    await moved(s, member, 'glazes', numbers, { glazes: [] });
    await moved(s, member, 'hand-in', numbers, {});
    await firedIn(technician, numbers, glaze6);
    const told = (await words(member)).length;
    const again = (into: number, firing: Firing, outcome: 'good' | 'crack') =>
      s.as(technician, (act) => comeOut(act, into, firing, [{ number: numbers[0], outcome, level: 1 }]));
    await again(first, bisque, 'crack');
    expect(await see(numbers[0])).toMatchObject({ stage: 'fired', outcome: 'good' });
    await again(load, glaze6, 'crack');
    await again(load, glaze6, 'crack');
    expect((await see(numbers[0])).outcome).toBe('crack');
    expect(await words(member)).toHaveLength(told + 2);
  });

  it('what was given back before it was glazed is not handed in bare by mistake', async () => {
    const number = await one({ begins: 'bisqued' });
    await moved(s, technician, 'return', [number], { reason: 'crack' });
    await expect(moved(s, member, 'hand-in', [number], { heldBack: true })).rejects.toThrow(/how you glazed/);
    await moved(s, member, 'glazes', [number], { glazes: [] });
    await moved(s, member, 'hand-in', [number], {});
    expect((await see(number)).isReady).toBe(true);
  });

  it('greenware given back dry is felt anew', async () => {
    const [number] = (await dryPieces(s, member, { clay })) as [number];
    await moved(s, technician, 'return', [number], { reason: 'crack' });
    await moved(s, member, 'ask-dry', [number]);
    expect(await see(number)).toMatchObject({ stage: 'drying', dryAt: null });
    await moved(s, technician, 'dry', [number]);
    expect((await see(number)).isReady).toBe(true);
  });

  it('what waits for one firing is listed by how long it has waited, ready or not', async () => {
    const own = await aStudio();
    const name = await aClay(own);
    const soft = await aClay(own, { bisqueCone: '08' });
    await dryPieces(own, own.people.member, { clay: soft });
    own.clock.forward(HOUR);
    await dryPieces(own, own.people.member, { clay: name, howMany: 2 });
    await dryPieces(own, own.people.member, { ownClay: 'Strange' });
    const all = await own.as(own.people.technician, (act) => listWaiting(act));
    expect(all.map(({ next, isReady }) => [next?.cone, isReady])).toEqual([
      ['08', true],
      ['06', true],
      ['06', true],
      ['06', false],
    ]);
    const waiting = await own.as(own.people.technician, (act) => listWaiting(act, bisque));
    expect(waiting).toHaveLength(3);
    const [dated] = await dryPieces(own, own.people.member, { clay: soft, wantedBy: '2030-01-31' });
    const short = await own.as(own.people.technician, (act) => listWaitingSizes(act));
    expect(short.find(({ number }) => number === dated)?.wantedBy).toBe('2030-01-31');
    expect(short).toEqual(inShort(await own.as(own.people.technician, (act) => listWaiting(act))));
  });
});

it('whatever is done in whatever order, every piece is in one place and its row says what its events say', async () => {
  const own = await aStudio();
  const name = await aClay(own);
  const { member: ida, technician: wren } = own.people;
  const code = await own.aBucket({ sg: 1.46, stirredMinutesAgo: 5 });
  const bodies: Record<string, object> = {
    glazes: { glazes: [{ bucket: code }] },
    'hand-in': { heldBack: true },
    return: { reason: 'foot' },
    yes: { trayMm: 10 },
    flag: { words: 'look' },
    lost: { cause: 'broken' },
    measure: { widthMm: 80, heightMm: 90 },
    'another-firing': { kind: 'lustre', cone: '018', atmosphere: 'oxidation' },
    assign: { who: ida.email },
  };
  const acts = [...MOVE_PATHS, 'enter', 'leave', 'out'] as const;
  await fc.assert(
    fc.asyncProperty(
      fc.array(fc.tuple(fc.constantFrom(...acts), fc.nat(2)), { minLength: 10, maxLength: 25 }),
      async (deeds) => {
        const numbers = await somePieces(own, ida, { clay: name, howMany: 3 });
        for (const [deed, which] of deeds) {
          own.clock.forward(HOUR);
          const number = numbers[which] as number;
          const into = load;
          const attempt = own.as(wren, async (act) => {
            if (deed === 'enter') return enterLoad(act, [{ number }], into);
            if (deed === 'leave') return leaveLoad(act, [number], into);
            const items = [{ number, outcome: 'good' as const, level: 1 }];
            if (deed === 'out') return comeOut(act, into, bisque, items);
            await movePieces(act, deed, [number], (bodies[deed] ?? {}) as never);
          });
          await attempt.catch((error) => {
            if (!(error instanceof Conflict || error instanceof Invalid)) throw error;
          });
        }
        const waiting = await own.as(wren, (act) => listWaiting(act));
        expect(await own.as(wren, (act) => listWaitingSizes(act))).toEqual(inShort(waiting));
        for (const piece of await own.as(wren, (act) => findOwn(act, numbers))) {
          expect(STAGES).toContain(piece.stage);
          expect(piece.stage === 'in-load').toBe(piece.load !== null);
          for (const path of MOVE_PATHS) expect(() => moveRefusal(path, piece)).not.toThrow();
        }
      },
    ),
    { numRuns: 6 },
  );
  expect(await own.as(wren, (act) => examinePieces(act))).toEqual([]);
});

it('no row disagrees with its events after all of this', async () => {
  expect(await s.as(technician, (act) => examinePieces(act))).toEqual([]);
});
