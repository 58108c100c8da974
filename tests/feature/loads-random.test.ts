import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { HOUR } from '../../server/core/clock.ts';
import { Refusal } from '../../server/core/errors.ts';
import {
  approve,
  cancel,
  finishLoading,
  freeSpotsFor,
  leaveOut,
  listLoads,
  loadLevel,
  movePiece,
  pin,
  prepareProposal,
  prepareRepack,
  putIn,
  reopenLevel,
  saveProposals,
  saveRepack,
  takeOut,
} from '../../server/kilns/service/index.ts';
import { findPieces, movePieces } from '../../server/ware/service/index.ts';
import { WAITING } from '../../server/ware/stage.ts';
import { aKiln } from '../helpers/kilns.ts';
import { aClay, nothingIsWrong, ownGroup, pageOf, quickly, readAs, readyPieces } from '../helpers/loads.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
let wren: Person;
let maro: Person;
let kilns: string[];
beforeAll(async () => {
  s = await aStudio();
  ({ technician: wren, manager: maro } = s.people);
  kilns = [(await aKiln(s)).code, (await aKiln(s, { like: 'front' })).code];
});

type World = { firing: ReturnType<typeof ownGroup>; pieces: number[]; since: Map<number, number | null> };

/** What a busy Saturday does with loads; each number chooses among what is there. */
const ACTS = [
  'propose',
  'propose',
  'approve',
  'approve',
  'cancel',
  'move',
  'take-out',
  'leave-out',
  'put-in',
  'put-in',
  'pin',
  'repack',
  'tick',
  'tick',
  'reopen',
  'finish',
  'flag',
  'approve-both',
] as const;

async function act(
  { firing, pieces }: World,
  did: (typeof ACTS)[number],
  a: number,
  b: number,
): Promise<void> {
  const read = readAs(s, wren);
  const who = b % 2 === 0 ? wren : maro;
  const own = (await listLoads(read, { states: ['proposed', 'approved', 'loaded'] })).filter(
    (load) => load.firing.cone === firing.cone,
  );
  const load = own[a % Math.max(1, own.length)];
  const piece = pieces[b % pieces.length] as number;
  if (did === 'propose') {
    const wish = { kiln: kilns[a % kilns.length] as string, firing, maxLoads: 1 + (b % 2) };
    const prepared = await prepareProposal(read, wish, quickly);
    await s.as(who, (now) => saveProposals(now, prepared));
    return;
  }
  if (did === 'flag') {
    const [found] = await findPieces(read, [piece]);
    await s.as(wren, (now) =>
      movePieces(now, found?.flag ? 'unflag' : 'flag', [piece], { words: 'Hm' } as never),
    );
    return;
  }
  if (!load) return;
  const { number, version } = load;
  const page = await pageOf(s, number);
  const level = page.levels[b % page.levels.length];
  const inIt = page.pieces[b % Math.max(1, page.pieces.length)]?.number ?? piece;
  switch (did) {
    case 'approve':
      return s.as(who, (now) => approve(now, number, { version }));
    case 'approve-both': {
      const answers = await Promise.allSettled(
        own
          .slice(0, 2)
          .map((one, i) =>
            s.as(i ? maro : wren, (now) => approve(now, one.number, { version: one.version })),
          ),
      );
      for (const answer of answers)
        if (answer.status === 'rejected' && !(answer.reason instanceof Refusal)) throw answer.reason;
      return;
    }
    case 'cancel':
      return s.as(who, (now) => cancel(now, number, { reason: 'So it goes' }));
    case 'move': {
      const places = await freeSpotsFor(read, number, inIt);
      const place = places[a % Math.max(1, places.length)];
      return place && s.as(who, (now) => movePiece(now, number, { piece: inIt, ...place, version }));
    }
    case 'take-out':
      return s.as(who, (now) => takeOut(now, number, { piece: inIt, version }));
    case 'leave-out':
      return s.as(who, (now) => leaveOut(now, number, { piece: inIt, version }));
    case 'put-in':
      return s.as(who, (now) => putIn(now, number, { piece, version }));
    case 'pin':
      return s.as(who, (now) => pin(now, number, { piece: inIt, level: 1 + (a % 3), version }));
    case 'repack': {
      const prepared = await prepareRepack(read, number, { version }, quickly);
      return s.as(who, (now) => saveRepack(now, number, prepared));
    }
    case 'tick': {
      const next = page.levels.find(({ tick }) => tick === null) ?? level;
      const on = page.pieces.filter((one) => one.part === next?.part && one.level === next.level);
      const notIn = b % 3 === 0 ? on.slice(0, 1).map((one) => one.number) : [];
      return (
        next &&
        s.as(who, (now) => loadLevel(now, number, { part: next.part, level: next.level, notIn, why: 'x' }))
      );
    }
    case 'reopen':
      return level && s.as(who, (now) => reopenLevel(now, number, { part: level.part, level: level.level }));
    case 'finish':
      return s.as(who, (now) => finishLoading(now, number));
  }
}

/** Every piece is in exactly one place, and its place in the queue is the one it always had. */
async function inOnePlace({ pieces, since }: World): Promise<void> {
  const found = await findPieces(readAs(s, wren), pieces);
  for (const { number, stage, load, waitingSince } of found) {
    expect(
      stage === 'in-load' ? load !== null : WAITING.includes(stage) && load === null,
      `piece ${number}`,
    ).toBe(true);
    expect(waitingSince).toBe(since.get(number));
  }
  await nothingIsWrong(s);
}

describe('whatever is done with loads, in any order', () => {
  it('every piece is in exactly one place, and every load is what its events say', async () => {
    const clay = await aClay(s);
    const steps = fc.array(fc.tuple(fc.constantFrom(...ACTS), fc.nat(1000), fc.nat(1000)), {
      minLength: 10,
      maxLength: 22,
    });
    let done = 0;
    let refused = 0;
    await fc.assert(
      fc.asyncProperty(steps, async (list) => {
        const firing = ownGroup();
        const pieces = [
          ...(await readyPieces(s, s.people.member, { for: 'glaze', clay, cone: firing.cone, howMany: 5 })),
          ...(await readyPieces(s, s.people.member, {
            for: 'glaze',
            clay,
            cone: firing.cone,
            form: 'plate',
            howMany: 4,
          })),
        ];
        s.clock.forward(HOUR);
        const found = await findPieces(readAs(s, wren), pieces);
        const since = new Map(found.map(({ number, waitingSince }) => [number, waitingSince]));
        const world = { firing, pieces, since };
        for (const [did, a, b] of list) {
          await act(world, did, a, b).then(
            () => done++,
            (error) => {
              if (!(error instanceof Refusal)) throw error;
              expect(error.message).toMatch(/^[A-Z].*\.$/s);
              refused++;
            },
          );
        }
        await inOnePlace(world);
        for (const load of await listLoads(readAs(s, wren), { states: ['proposed', 'approved', 'loaded'] }))
          await s.as(wren, (now) => cancel(now, load.number, { reason: 'End of the day' }));
        for (const piece of await findPieces(readAs(s, wren), pieces)) expect(piece.load).toBeNull();
        await inOnePlace(world);
      }),
      { numRuns: 8, endOnFailure: true },
    );
    // The acts are not refused one and all.
    expect(done).toBeGreaterThan(refused / 2);
  }, 120_000);
});
