import { beforeAll, describe, expect, it } from 'vitest';
import { ownMessages } from '../../server/core/messages.ts';
import {
  chooseSchedule,
  freeSpotsFor,
  type LoadPage,
  type LoadPiece,
  leaveOut,
  movePiece,
  pin,
  prepareRepack,
  putIn,
  saveRepack,
  takeOut,
  unpin,
} from '../../server/kilns/service/index.ts';
import { findPieces, movePieces } from '../../server/ware/service/index.ts';
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

const ready = (firing: { cone: string }, more: object = {}) =>
  readyPieces(s, ida, { for: 'glaze', clay, cone: firing.cone, ...more });

/** A load of so many bowls, proposed or approved. */
async function aLoad(howMany = 4, state: 'proposed' | 'approved' = 'proposed') {
  const kiln = await aKiln(s);
  const firing = ownGroup();
  const numbers = await ready(firing, { howMany });
  const load = await aProposal(s, { kiln: kiln.code, firing });
  if (state === 'approved') await approved(s, load);
  return { load, numbers, firing, version: state === 'approved' ? 2 : 1 };
}

const pieceIn = (page: LoadPage, number: number): LoadPiece => {
  const found = page.pieces.find((piece) => piece.number === number);
  if (!found) throw new Error(`piece ${number} is not in load ${page.load.number}`);
  return found;
};
const stageOf = async (number: number) => (await findPieces(readAs(s, wren), [number]))[0]?.stage;

describe('moving a piece', () => {
  it('to one of the places that are offered, with its row in step', async () => {
    const { load, numbers } = await aLoad();
    const piece = numbers[0] as number;
    const places = await freeSpotsFor(readAs(s, wren), load, piece);
    expect(places.length).toBeGreaterThan(0);
    for (const place of places.slice(0, 3)) {
      const { version } = (await pageOf(s, load)).load;
      await s.as(wren, (act) => movePiece(act, load, { piece, ...place, version }));
      const now = pieceIn(await pageOf(s, load), piece);
      expect(Math.hypot(now.xMm - place.xMm, now.yMm - place.yMm)).toBeLessThanOrEqual(3);
      expect(now).toMatchObject({ part: place.part, level: place.level });
    }
    await nothingIsWrong(s);
  });

  it('is refused beside the field, with the reason, and changes nothing', async () => {
    const { load, numbers } = await aLoad();
    const [piece, other] = numbers as [number, number];
    const before = await pageOf(s, load);
    const at = pieceIn(before, other);
    const move = (more: object) =>
      s.as(wren, (act) =>
        movePiece(act, load, { piece, part: 'full', level: 1, xMm: 0, yMm: 0, version: 1, ...more }),
      );
    await expect(move({ xMm: at.xMm, yMm: at.yMm })).rejects.toMatchObject({
      status: 422,
      errors: [{ path: 'piece', message: `It would stand in the place of piece ${other}.` }],
    });
    await expect(move({ xMm: 4000 })).rejects.toMatchObject({ errors: [{ path: 'piece' }] });
    await expect(move({ level: 9 })).rejects.toMatchObject({ errors: [{ path: 'level' }] });
    await expect(move({ part: 'left' })).rejects.toMatchObject({ errors: [{ path: 'level' }] });
    await expect(move({ piece: 99_999 })).rejects.toThrow('Piece 99999 is not in load');
    await expect(move({ version: 7 })).rejects.toMatchObject({ status: 409 });
    await expect(
      s.as(ida, (act) => movePiece(act, load, { piece, part: 'full', level: 1, xMm: 0, yMm: 0, version: 1 })),
    ).rejects.toMatchObject({ status: 403 });
    expect((await pageOf(s, load)).load).toEqual({ ...before.load });
  });
});

describe('taking out and putting in', () => {
  it.each(['proposed', 'approved'] as const)('keeps what a load reserves in step: %s', async (state) => {
    const { load, numbers, firing, version } = await aLoad(4, state);
    const [piece] = numbers as [number];
    await s.as(wren, (act) => takeOut(act, load, { piece, version }));
    expect(await stageOf(piece)).toBe('waiting-glaze');
    expect((await pageOf(s, load)).pieces).toHaveLength(3);
    await nothingIsWrong(s);
    const [more] = (await ready(firing)) as [number];
    const page = await pageOf(s, load);
    expect(page.notYetIn.map(({ number, isReady }) => [number, isReady])).toEqual([
      [piece, true],
      [more, true],
    ]);
    await s.as(wren, (act) => putIn(act, load, { piece: more, version: page.load.version }));
    await s.as(wren, (act) =>
      putIn(act, load, { piece, part: 'full', level: 1, version: page.load.version + 1 }),
    );
    const now = await pageOf(s, load);
    expect(now.pieces).toHaveLength(5);
    expect(await stageOf(more)).toBe(state === 'approved' ? 'in-load' : 'waiting-glaze');
    expect(now.checks.filter(({ ok }) => !ok)).toEqual([]);
    await nothingIsWrong(s);
    const told = (await ownMessages(readAs(s, ida), 3)).map(({ words }) => words);
    if (state === 'approved') expect(told.join()).toContain(`Piece ${piece} is out of load ${load}`);
  });

  it('refuses what the load cannot have, with the reason', async () => {
    const { load, numbers, firing } = await aLoad();
    const put = (piece: number, more: object = {}) =>
      s.as(wren, (act) => putIn(act, load, { piece, version: 1, ...more }));
    await expect(put(numbers[0] as number)).rejects.toThrow(/in this load already/);
    await expect(put(99_999)).rejects.toThrow('There is no piece 99999.');
    const other = ownGroup();
    const [elsewhere] = (await ready(other)) as [number];
    await expect(put(elsewhere)).rejects.toThrow(
      `Piece ${elsewhere} waits for another firing: glaze, cone ${other.cone} oxidation.`,
    );
    const [flagged, tall, wide] = (await ready(firing, { howMany: 3 })) as [number, number, number];
    await s.as(wren, (act) => movePieces(act, 'flag', [flagged], { words: 'Look again.' }));
    await expect(put(flagged)).rejects.toThrow('Kept back: Look again.');
    await s.as(wren, (act) => movePieces(act, 'measure', [tall], { widthMm: 60, heightMm: 660 }));
    await expect(put(tall)).rejects.toMatchObject({ status: 422, errors: [{ path: 'piece' }] });
    await s.as(wren, (act) => movePieces(act, 'measure', [wide], { widthMm: 540, heightMm: 20 }));
    await expect(put(wide, { part: 'full', level: 1 })).rejects.toThrow('Level 1 has no room for it.');
    await expect(put(wide, { part: 'full' })).rejects.toMatchObject({ errors: [{ path: 'level' }] });
    await expect(put(wide, { part: 'full', level: 1, xMm: 0, yMm: 0 })).rejects.toMatchObject({
      status: 422,
    });
    expect((await pageOf(s, load)).load.version).toBe(1);
  });

  it('the last piece stays: an empty load is cancelled', async () => {
    const { load, numbers } = await aLoad(1);
    for (const out of [takeOut, leaveOut])
      await expect(
        s.as(wren, (act) => out(act, load, { piece: numbers[0] as number, version: 1 })),
      ).rejects.toThrow('cancel the load instead');
  });

  it('one piece put into two approved loads at once goes into one', async () => {
    const { load, firing, version } = await aLoad(2, 'approved');
    await ready(firing, { howMany: 2 });
    const second = await aProposal(s, { kiln: (await aKiln(s)).code, firing });
    await approved(s, second);
    const [piece] = (await ready(firing)) as [number];
    const answers = await Promise.allSettled(
      [load, second].map((one) => s.as(wren, (act) => putIn(act, one, { piece, version }))),
    );
    expect(answers.map(({ status }) => status).sort()).toEqual(['fulfilled', 'rejected']);
    await nothingIsWrong(s);
  });
});

describe('packing again', () => {
  it.each(['proposed', 'approved'] as const)('keeps pins and what was left out: %s', async (state) => {
    const kiln = await aKiln(s);
    const firing = ownGroup();
    const bowls = await ready(firing, { howMany: 30 });
    const load = await aProposal(s, { kiln: kiln.code, firing });
    if (state === 'approved') await approved(s, load);
    let { version } = (await pageOf(s, load)).load;
    const [pinned, out] = (await pageOf(s, load)).pieces.map(({ number }) => number) as [number, number];
    await s.as(wren, (act) => pin(act, load, { piece: pinned, level: 2, version }));
    await s.as(wren, (act) => leaveOut(act, load, { piece: out, version: version + 1 }));
    version += 2;
    const late = await ready(firing, { howMany: 3 });
    const prepared = await prepareRepack(readAs(s, maro), load, { version }, quickly);
    await s.as(maro, (act) => saveRepack(act, load, prepared));
    const page = await pageOf(s, load);
    expect(pieceIn(page, pinned)).toMatchObject({ level: 2, pin: 2 });
    expect(page.pieces.some(({ number }) => number === out)).toBe(false);
    expect(page.load.wishes).toEqual({ pins: { [pinned]: 2 }, leftOut: [out] });
    expect(await stageOf(out)).toBe('waiting-glaze');
    expect(page.load.bound.gap).toBeGreaterThanOrEqual(0);
    expect(page.load.bound.gap).toBeLessThan(1);
    const inIt = page.pieces.map(({ number }) => number);
    for (const number of [...bowls, ...late]) {
      const isIn = state === 'approved' && inIt.includes(number);
      expect(await stageOf(number), `piece ${number}`).toBe(isIn ? 'in-load' : 'waiting-glaze');
    }
    await nothingIsWrong(s);
    await expect(
      s.as(wren, (act) =>
        movePiece(act, load, {
          piece: pinned,
          part: 'full',
          level: 1,
          xMm: 0,
          yMm: 0,
          version: page.load.version,
        }),
      ),
    ).rejects.toThrow(`Piece ${pinned} is pinned to level 2: unpin it first.`);
    const places = await freeSpotsFor(readAs(s, wren), load, pinned);
    expect(new Set(places.map(({ level }) => level))).toEqual(new Set([2]));
    await s.as(wren, (act) => unpin(act, load, { piece: pinned, version: page.load.version }));
    await expect(
      s.as(wren, (act) => unpin(act, load, { piece: pinned, version: page.load.version + 1 })),
    ).rejects.toThrow('is not pinned');
    // What was left out may be put in again, by hand.
    await s.as(wren, (act) =>
      takeOut(act, load, { piece: inIt.find((n) => n !== pinned) as number, version: page.load.version + 1 }),
    );
    await s.as(wren, (act) => putIn(act, load, { piece: out, version: page.load.version + 2 }));
    expect((await pageOf(s, load)).load.wishes.leftOut).toEqual([]);
    await nothingIsWrong(s);
  });

  it('says which pin cannot be kept', async () => {
    const { load, numbers, firing } = await aLoad(3);
    const [piece] = numbers as [number];
    const pinTo = (level: number, version: number) =>
      s.as(wren, (act) => pin(act, load, { piece, level, version }));
    await expect(pinTo(40, 1)).rejects.toMatchObject({
      status: 422,
      errors: [{ path: 'level', message: 'This kiln has no level 40.' }],
    });
    // Two that fill a shelf each cannot both be kept on one.
    const wide = (await ready(firing, {
      howMany: 2,
      form: 'other',
      called: 'Dish',
      widthMm: 400,
      heightMm: 60,
    })) as [number, number];
    const [one, two] = wide;
    await s.as(wren, (act) => putIn(act, load, { piece: one, version: 1 })).catch(() => {});
    const prepared = await prepareRepack(
      readAs(s, wren),
      load,
      { version: (await pageOf(s, load)).load.version },
      quickly,
    );
    await s.as(wren, (act) => saveRepack(act, load, prepared));
    let { version } = (await pageOf(s, load)).load;
    for (const number of wide)
      await s.as(wren, (act) => pin(act, load, { piece: number, level: 1, version: version++ }));
    await expect(prepareRepack(readAs(s, wren), load, { version }, quickly)).rejects.toThrow(
      new RegExp(`^Piece (${one}|${two}) cannot be kept on level 1: .* Unpin it, then pack again\\.$`),
    );
  });

  it('is not stored over what changed meanwhile, in the load or in the queue', async () => {
    const { load, numbers, firing } = await aLoad(3, 'approved');
    const prepared = await prepareRepack(readAs(s, wren), load, { version: 2 }, quickly);
    await s.as(maro, (act) => takeOut(act, load, { piece: numbers[0] as number, version: 2 }));
    await expect(s.as(wren, (act) => saveRepack(act, load, prepared))).rejects.toThrow(
      /^Maro changed this load/,
    );
    await expect(prepareRepack(readAs(s, wren), load, { version: 2 }, quickly)).rejects.toThrow(
      /^Maro changed/,
    );
    const [late] = (await ready(firing)) as [number];
    const again = await prepareRepack(readAs(s, wren), load, { version: 3 }, quickly);
    expect(again.packed.pieces.map(({ number }) => number)).toContain(late);
    await s.as(ida, (act) => movePieces(act, 'pick-up', [late], {}));
    await expect(s.as(wren, (act) => saveRepack(act, load, again))).rejects.toThrow(
      `Piece ${late} does not wait any more: picked up. Pack again.`,
    );
    await nothingIsWrong(s);
  });

  it('takes nothing in that was flagged while it was packed', async () => {
    const { load, firing } = await aLoad(3, 'approved');
    const [late] = (await ready(firing)) as [number];
    const prepared = await prepareRepack(readAs(s, wren), load, { version: 2 }, quickly);
    await s.as(wren, (act) => movePieces(act, 'flag', [late], { words: 'Cracked.' }));
    await expect(s.as(wren, (act) => saveRepack(act, load, prepared))).rejects.toThrow(
      new RegExp(`^Piece ${late}: .*Pack again\\.$`),
    );
    expect(await stageOf(late)).toBe('waiting-glaze');
    await nothingIsWrong(s);
  });

  it('lets go of what was flagged since', async () => {
    const { load, numbers } = await aLoad(3);
    const [bad] = numbers as [number];
    await s.as(wren, (act) => movePieces(act, 'flag', [bad], { words: 'Cracked.' }));
    await s.as(wren, async (act) =>
      saveRepack(act, load, await prepareRepack(act, load, { version: 1 }, quickly)),
    );
    const left = (await pageOf(s, load)).pieces.map(({ number }) => number);
    expect(left.sort((a, b) => a - b)).toEqual(numbers.slice(1));
  });
});

describe('the schedule of a load', () => {
  it('is one of its own kind and cone, in use', async () => {
    const { load } = await aLoad();
    await expect(
      s.as(wren, (act) => chooseSchedule(act, load, { schedule: 999, version: 1 })),
    ).rejects.toMatchObject({
      status: 422,
      errors: [{ path: 'schedule' }],
    });
  });
});
