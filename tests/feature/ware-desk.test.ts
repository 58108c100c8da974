import { beforeAll, describe, expect, it } from 'vitest';
import { bucketBody, createBucketWithRecipe } from '../../server/buckets/service/index.ts';
import { DAY, HOUR } from '../../server/core/clock.ts';
import { pictureIn } from '../../server/core/files.ts';
import { ownMessages } from '../../server/core/messages.ts';
import { may } from '../../server/core/policy.ts';
import { byFiring } from '../../server/ware/firing.ts';
import { isOpen } from '../../server/ware/gates.ts';
import { isUncollected } from '../../server/ware/mine.ts';
import { addClay } from '../../server/ware/service/clays.ts';
import { confirmDry, type Listed, lookAtDesk, lookAtShelf } from '../../server/ware/service/desk.ts';
import { due } from '../../server/ware/service/due.ts';
import {
  claimPiece,
  examinePieces,
  findPieces,
  listDesk,
  movePieces,
  type PieceNow,
  registerForm,
  registerFound,
  registerPieces,
} from '../../server/ware/service/index.ts';
import { WAITING } from '../../server/ware/stage.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';
import { aPhoto } from '../helpers/upload.ts';

let s: Studio;
let member: Person;
let technician: Person;
beforeAll(async () => {
  s = await aStudio();
  ({ member, technician } = s.people);
  await s.as(technician, (act) =>
    addClay(act, {
      name: 'Buff stoneware',
      maxCone: '6',
      bisqueCone: '06',
      dryShrinkPercent: 6,
      firedShrinkPercent: 12,
    }),
  );
});

const read = (person: Person = technician) => ({
  tx: s.database.db,
  actor: person.caller,
  now: s.clock.now(),
});
const pieces = async (count: number, more: object = {}, owner = member) => {
  const command = { form: 'cup', clay: 'Buff stoneware', cone: '6', howMany: count, ...more };
  const made = await s.as(owner, (act) => registerPieces(act, registerForm.parse(command)));
  return made.numbers;
};
/** Handed in as dry: on the technician's list. */
const asked = async (count: number, more: object = {}, owner = member) => {
  const numbers = await pieces(count, more, owner);
  await s.as(owner, (act) => movePieces(act, 'ask-dry', numbers, {}));
  return numbers;
};
const stages = async (numbers: number[]) =>
  (await findPieces(read(), numbers)).map(({ stage, dryAt }) => (dryAt === null ? stage : `${stage}, dry`));
const confirm = (fields: Record<string, string | string[]>, person = technician) =>
  s.submit(person, '/ware/desk/dry', fields);
const strings = (numbers: number[]) => numbers.map(String);

describe('the dry rack', () => {
  it('confirms exactly what was shown less what was ticked, and tells the owners', async () => {
    const numbers = await asked(6);
    const untouched = await asked(2);
    const [, second, , fourth] = numbers as [number, number, number, number];
    const done = await confirm({ shown: strings(numbers), not: strings([second, fourth]) });
    expect(done.headers.location).toBe('/ware/desk/dry?done=4');
    expect(await stages(numbers)).toEqual([
      'waiting-bisque, dry',
      'drying',
      'waiting-bisque, dry',
      'drying',
      'waiting-bisque, dry',
      'waiting-bisque, dry',
    ]);
    expect(await stages(untouched)).toEqual(['drying', 'drying']);
    const [message] = await ownMessages(read(member));
    expect(message?.words).toContain('bone dry');
  });

  it('never confirms what was handed in after the page was shown', async () => {
    const before = await asked(2);
    const page = (await s.visit(technician, '/ware/desk/dry')).body;
    const shown = [...page.matchAll(/name="shown" value="(\d+)"/g)].map(([, n]) => Number(n));
    expect(shown).toEqual(expect.arrayContaining(before));
    const after = await asked(1);
    await confirm({ shown: strings(shown) });
    expect(await stages(before)).toEqual(['waiting-bisque, dry', 'waiting-bisque, dry']);
    expect(await stages(after)).toEqual(['drying']);
  });

  it('takes what nobody asked about only where it is ticked', async () => {
    const [standing, other] = (await pieces(2)) as [number, number];
    await s.as(member, (act) => movePieces(act, 'drying', [standing, other], {}));
    await confirm({ also: String(standing) });
    expect(await stages([standing, other])).toEqual(['waiting-bisque, dry', 'drying']);
  });

  it('does all of it or none, and says which one has moved', async () => {
    const numbers = await asked(3);
    const [first] = numbers as [number];
    await confirm({ shown: String(first) });
    const again = await confirm({ shown: strings(numbers), not: String(numbers[2]) });
    expect(again.statusCode).toBe(409);
    expect(again.body).toContain(`Piece ${first} is known to be dry.`);
    expect(await stages(numbers)).toEqual(['waiting-bisque, dry', 'drying', 'drying']);
    const ticked = new RegExp(`name="not" value="${numbers[2]}" checked`);
    expect(again.body).toMatch(ticked);
  });

  it('two technicians at once confirm each piece once', async () => {
    const numbers = await asked(3);
    const both = await Promise.allSettled(
      [technician, s.people.manager].map((person) =>
        s.as(person, (act) => confirmDry(act, { shown: numbers, not: [], also: [] })),
      ),
    );
    expect(both.map(({ status }) => status).sort()).toEqual(['fulfilled', 'rejected']);
    expect(await examinePieces(read())).toEqual([]);
  });

  it('a form sent twice is recorded once', async () => {
    const numbers = await asked(1);
    const fields = { key: 'a-key-of-this-form', shown: strings(numbers) };
    expect((await confirm(fields)).statusCode).toBe(303);
    const twice = await confirm(fields);
    expect(twice.statusCode).toBe(303);
  });

  it.each<[string, Record<string, string | string[]>, number]>([
    ['nothing', {}, 422],
    ['everything ticked', { shown: ['1', '2'], not: ['1', '2'] }, 422],
    ['a piece there never was', { shown: ['999999'] }, 404],
    ['words', { shown: ['one'] }, 422],
    ['zero', { shown: ['0'] }, 422],
    ['a fraction', { shown: ['1.5'] }, 422],
    ['more than Postgres counts', { shown: ['99999999999'] }, 422],
    ['too many', { shown: Array.from({ length: 301 }, (_, i) => String(i + 1)) }, 422],
    [
      'too many in two lists',
      {
        shown: Array.from({ length: 200 }, (_, i) => String(i + 1)),
        also: Array.from({ length: 200 }, (_, i) => String(i + 300)),
      },
      422,
    ],
    ['SQL', { shown: ["1'; drop table pieces; --"] }, 422],
  ])('refuses %s', async (_, fields, status) => {
    expect((await confirm(fields)).statusCode).toBe(status);
  });

  it('feels raw glazed ware too, which is fired once', async () => {
    const [number] = (await pieces(1, { once: true })) as [number];
    await s.as(member, (act) => movePieces(act, 'ask-dry', [number], {}));
    const isListed = async () =>
      (await lookAtDesk(read())).toFeel.first.some((piece) => piece.number === number);
    expect(await isListed()).toBe(true);
    await confirm({ shown: String(number) });
    expect(await isListed()).toBe(false);
  });
});

describe('a yes', () => {
  it('is asked for a strange clay, given with a tray, and asked no more', async () => {
    const [number] = (await asked(1, { clay: undefined, ownClay: 'river mud' })) as [number];
    await confirm({ shown: String(number) });
    const { body } = await s.visit(technician, '/ware/desk/yes');
    expect(body).toContain('river mud');
    const yes = await s.submit(technician, '/ware/desk/yes', { piece: String(number), trayMm: '25' });
    expect(yes.statusCode).toBe(303);
    const [piece] = await findPieces(read(), [number]);
    expect(piece).toMatchObject({ trayMm: 25, isReady: true });
    const twice = await s.submit(technician, '/ware/desk/yes', { piece: String(number), trayMm: '0' });
    expect(twice.statusCode).toBe(422);
    expect((await lookAtDesk(read())).yesAsked.first.map((one) => one.number)).not.toContain(number);
  });

  it('is not given to what asks for none, nor to what is not there', async () => {
    const [number] = (await pieces(1)) as [number];
    const plain = await s.submit(technician, '/ware/desk/yes', { piece: String(number), trayMm: '20' });
    expect(plain.statusCode).toBe(409);
    expect(plain.body).toContain('asks for no yes');
    const none = await s.submit(technician, '/ware/desk/yes', { piece: '999999', trayMm: '20' });
    expect(none.statusCode).toBe(404);
  });
});

describe('the desk', () => {
  it('sorts what waits by firing, with what keeps the rest out', async () => {
    const numbers = await asked(2, { thickestMm: 20 });
    await confirm({ shown: strings(numbers) });
    const { body } = await s.visit(technician, '/ware/desk');
    expect(body).toContain('Bisque, cone 06 oxidation');
    expect(body).toContain('Thicker than 12 mm');
    const desk = await lookAtDesk(read());
    const queue = desk.queues.find(({ firing }) => firing.kind === 'bisque' && firing.cone === '06');
    expect(queue?.kept.first.map(({ number }) => number)).toEqual(expect.arrayContaining(numbers));
    for (const { ready, kept } of desk.queues) {
      const those = await findPieces(read(), ready.first);
      expect(those.length).toBe(ready.first.length);
      expect(those.every(({ isReady }) => isReady)).toBe(true);
      expect(kept.first.every(({ gates }) => gates.some(({ ok }) => !ok))).toBe(true);
    }
  });

  it('finds a piece by its number, whatever else is typed says why not', async () => {
    const [number] = (await pieces(1)) as [number];
    const found = await s.visit(technician, `/ware/desk/find?number=%20${number}%20`);
    expect(found.headers.location).toBe(`/ware/${number}`);
    for (const typed of ['', '0', 'cup', '1-3', '1,2', '99999999999', '%00', '%F0%9F%8F%BA', '-1']) {
      const answer = await s.visit(technician, `/ware/desk/find?number=${typed}`);
      expect(answer.statusCode, typed).toBe(422);
      expect(answer.body, typed).toContain('Type one number, such as 128.');
    }
    const none = await s.visit(technician, '/ware/desk/find?number=999999');
    expect(none.body).toContain('There is no piece 999999.');
    expect((await s.visit(technician, '/ware/desk/find?number=1&number=2&number=x')).statusCode).toBe(422);
  });

  it('is for technicians, every page and form of it', async () => {
    const at = s.routes.filter(({ url }) => url.startsWith('/ware/desk'));
    expect(at.length).toBeGreaterThan(9);
    for (const { method, url, permission } of at) {
      expect(may('member', permission as 'ware.decide'), url).toBe(false);
      if (method === 'HEAD') continue;
      const answer = method === 'GET' ? await s.visit(member, url) : await s.submit(member, url, {});
      expect(answer.statusCode, `${method} ${url}`).toBe(403);
    }
    await expect(s.as(member, (act) => lookAtDesk(act))).rejects.toThrow('This needs a technician.');
    await expect(s.as(member, (act) => confirmDry(act, { shown: [1], not: [], also: [] }))).rejects.toThrow(
      'This needs a technician.',
    );
  });
});

/** Out of the kiln as good: bisque is all that was wanted. */
async function fired(count: number, owner = member) {
  const numbers = await pieces(count, { begins: 'bisqued', kind: 'glaze' }, owner);
  const { enterLoad, comeOut } = await import('../../server/ware/service/in-loads.ts');
  const load = 1000 + (numbers[0] as number);
  const firing = { kind: 'glaze', cone: '6', atmosphere: 'oxidation' } as const;
  await s.as(owner, (act) => movePieces(act, 'glazes', numbers, { glazes: [] }));
  await s.as(owner, (act) => movePieces(act, 'hand-in', numbers, { heldBack: true }));
  await s.as(technician, async (act) => enterLoad(act, await findPieces(act, numbers), load));
  await s.as(technician, (act) =>
    comeOut(
      act,
      load,
      firing,
      numbers.map((number) => ({ number, outcome: 'good', level: 1 })),
    ),
  );
  return numbers;
}

describe('fired ware that nobody fetches', () => {
  it('is listed once it has stood too long, and only what is ticked is put away', async () => {
    const numbers = await fired(3);
    const overdue = async () => (await lookAtDesk(read())).overdue.first.map(({ number }) => number);
    expect(await overdue()).toEqual([]);
    s.clock.forward(21 * DAY);
    expect(await overdue()).toEqual([]);
    s.clock.forward(HOUR);
    expect(await overdue()).toEqual(numbers);
    expect((await due(read())).find(({ why }) => why === 'not-fetched')).toMatchObject({
      count: 3,
      what: '3 pieces fired more than 21 days ago.',
    });
    const put = { piece: strings(numbers.slice(0, 2)) };
    expect((await s.submit(technician, '/ware/desk/fetch', put)).headers.location).toBe(
      '/ware/desk/fetch?done=2',
    );
    expect(await stages(numbers)).toEqual(['left-behind', 'left-behind', 'fired']);
    expect((await s.submit(technician, '/ware/desk/fetch', put)).statusCode).toBe(409);
    expect((await s.submit(technician, '/ware/desk/fetch', {})).statusCode).toBe(422);
  });
});

describe('the shelf without names', () => {
  let width = 50;
  const found = async () => {
    const picture = await pictureIn({ bytes: await aPhoto(++width), isTooLarge: false }, 'photo');
    const made = await s.as(technician, (act) =>
      registerFound(act, { form: 'bowl', looks: 'fired', mark: 'a comb' }, picture),
    );
    return made.numbers[0] as number;
  };

  it('shows photos and claims, and hands a piece to one who claimed it', async () => {
    const number = await found();
    const first = await s.aPerson('member', 'Same Name');
    const second = await s.aPerson('member', 'Same Name');
    await s.as(first, (act) => claimPiece(act, number, { note: 'with a comb under it' }));
    await s.as(second, (act) => claimPiece(act, number, {}));
    const { body } = await s.visit(technician, '/ware/desk/no-name');
    expect(body).toContain('2 people say it is theirs');
    expect(body).toContain('with a comb under it');
    expect((await due(read())).map(({ why }) => why)).toContain('claims');
    const given = { piece: String(number), claim: String(second.id) };
    expect((await s.submit(technician, '/ware/desk/no-name', given)).statusCode).toBe(303);
    const [piece] = await findPieces(read(), [number]);
    expect(piece).toMatchObject({ stage: 'fired', owner: { kind: 'person', id: second.id } });
    expect((await ownMessages(read(second)))[0]?.href).toBe(`/ware/${number}`);
  });

  it('gives it to nobody who did not say so, and to anybody a technician names', async () => {
    const number = await found();
    const stranger = await s.aPerson('member', 'Quiet Potter');
    const give = (fields: Record<string, string>) =>
      s.submit(technician, '/ware/desk/no-name', { piece: String(number), ...fields });
    expect((await give({ claim: String(stranger.id) })).statusCode).toBe(409);
    expect((await give({})).statusCode).toBe(422);
    const wrong = await give({ who: 'Nobody Atall' });
    expect(wrong.statusCode).toBe(422);
    expect(wrong.body).toContain('Nobody here has this name');
    expect((await give({ who: 'quiet potter' })).statusCode).toBe(303);
    const [piece] = await findPieces(read(), [number]);
    expect(piece?.owner?.id).toBe(stranger.id);
    expect(
      (await s.submit(technician, '/ware/desk/no-name', { piece: '999999', who: 'Ida' })).statusCode,
    ).toBe(404);
  });
});

describe('a desk with more than fits a page', () => {
  it('counts all of it, shows those that are there longest, and leads on to the rest', async () => {
    const full = await aStudio();
    const { technician: wren, member: ida } = full.people;
    const look = () => ({ tx: full.database.db, actor: wren.caller, now: full.clock.now() });
    const some = async (howMany: number, more: object) => {
      full.clock.forward(HOUR);
      const command = { form: 'cup', ownClay: 'mud', cone: '6', howMany, begins: 'bisqued', ...more };
      const { numbers } = await full.as(ida, (act) => registerPieces(act, registerForm.parse(command)));
      return numbers;
    };
    const waiting: number[] = [];
    for (const howMany of [50, 35]) {
      const numbers = await some(howMany, {});
      await full.as(ida, (act) => movePieces(act, 'glazes', numbers, { glazes: [] }));
      await full.as(ida, (act) => movePieces(act, 'hand-in', numbers, {}));
      waiting.push(...numbers);
    }
    const desk = await lookAtDesk(look());
    expect(desk.yesAsked.count).toBe(85);
    expect(desk.yesAsked.first.map(({ number }) => number)).toEqual(waiting.slice(0, 8));
    expect(desk.queues.map(({ kept }) => [kept.count, kept.first.length])).toEqual([[85, 20]]);
    expect((await full.visit(wren, '/ware/desk')).body).toContain('and 77 more');
    const yes = await full.visit(wren, '/ware/desk/yes');
    expect(yes.body.match(/Yes to \d/g)).toHaveLength(60);
    expect(yes.body).toContain('25 more come once these are done.');
    for (let at = 0; at < 4; at++)
      await full.as(wren, (act) =>
        movePieces(act, 'yes', waiting.slice(at * 20, at * 20 + 20), { trayMm: 15 }),
      );
    const after = await lookAtDesk(look());
    expect(after.queues.map(({ ready }) => [ready.count, ready.first])).toEqual([[80, waiting.slice(0, 60)]]);

    const lost: number[] = [];
    for (let at = 0; at < 62; at++) {
      if (at % 3 === 0) full.clock.forward(HOUR);
      const picture = await pictureIn({ bytes: await aPhoto(60 + at), isTooLarge: false }, 'photo');
      const found = await full.as(wren, (act) =>
        registerFound(act, { form: 'bowl', looks: 'fired' }, picture),
      );
      lost.push(...found.numbers);
    }
    const first = (await full.visit(wren, '/ware/desk/no-name')).body;
    const shown = (body: string) =>
      [...body.matchAll(/alt="Piece (\d+):/g)].map(([, number]) => Number(number));
    expect(shown(first)).toEqual(lost.slice(0, 60));
    const link = /href="(\/ware\/desk\/no-name\?after=\d+)"/.exec(first)?.[1] ?? '';
    const second = (await full.visit(wren, link)).body;
    expect(shown(second)).toEqual(lost.slice(60));
    expect(second).not.toContain('?after=');
    for (const odd of ['x', '0', '999999', '99999999999', '1,2', '-1', '%00'])
      expect((await full.visit(wren, `/ware/desk/no-name?after=${odd}`)).statusCode, odd).toBe(200);
  });
});

describe('what is due', () => {
  it('names the oldest of each, and nothing that needs nobody', async () => {
    const fresh = await aStudio();
    const now = () => ({
      tx: fresh.database.db,
      actor: fresh.people.technician.caller,
      now: fresh.clock.now(),
    });
    expect(await due(now())).toEqual([]);
    await expect(due({ ...now(), actor: fresh.people.member.caller })).rejects.toThrow(
      'This needs a technician.',
    );
    const command = registerForm.parse({ form: 'cup', ownClay: 'mud', cone: '6', howMany: 2 });
    const { numbers } = await fresh.as(fresh.people.member, (act) => registerPieces(act, command));
    const since = fresh.clock.now();
    await fresh.as(fresh.people.member, (act) => movePieces(act, 'ask-dry', numbers, {}));
    fresh.clock.forward(3 * DAY);
    const [feel, ...more] = await due(now());
    expect(more).toEqual([]);
    expect(feel).toMatchObject({
      why: 'feel-dry',
      count: 2,
      oldest: since,
      what: '2 pieces on the drying rack, said to be dry.',
      act: { href: '/ware/desk/dry' },
    });
    await fresh.as(fresh.people.technician, (act) => movePieces(act, 'dry', numbers, {}));
    expect((await due(now())).map(({ why, count }) => [why, count])).toEqual([['yes-asked', 2]]);
    await fresh.as(fresh.people.technician, (act) => movePieces(act, 'yes', numbers, { trayMm: 15 }));
    expect(await due(now())).toEqual([]);
    fresh.clock.forward(15 * DAY);
    expect((await due(now())).map(({ why }) => why)).toEqual(['long-wait']);
    for (const one of await due(now())) {
      const page = await fresh.visit(fresh.people.technician, one.act.href);
      expect(page.statusCode).toBe(200);
    }
  });
});

describe('what is due, counted', () => {
  /** The lists of the desk, read piece by piece. */
  async function byHand() {
    const all = (await listDesk(read())).reverse();
    const waited = ({ waitingSince, stageSince }: PieceNow) => waitingSince ?? stageSince;
    const stood = ({ stageSince }: PieceNow) => stageSince;
    const those = (since: typeof waited, is: (piece: PieceNow) => boolean) =>
      all.filter(is).sort((a, b) => since(a) - since(b) || a.number - b.number);
    const waits = ({ stage }: PieceNow) => WAITING.includes(stage);
    const isDamp = ({ dryAt, isBisqued }: PieceNow) => dryAt === null && !isBisqued;
    const isLate = (piece: PieceNow) => isUncollected(piece, { uncollectedDays: 21 }, s.clock.now());
    const isOn = ({ stage }: PieceNow) => ['drying', 'returned', 'fired', 'no-name'].includes(stage);
    return {
      toFeel: those(waited, (piece) => isDamp(piece) && (piece.isAsked || waits(piece))),
      drying: those(waited, (piece) => isDamp(piece) && piece.stage === 'drying' && !piece.isAsked),
      queues: byFiring(those(waited, waits)),
      yesAsked: those(waited, (piece) => waits(piece) && isOpen(piece.gates, 'unknown')),
      flagged: those(waited, (piece) => piece.flag !== null && (waits(piece) || isOn(piece))),
      returned: those(stood, ({ stage }) => stage === 'returned'),
      refire: those(stood, ({ stage }) => stage === 'refire'),
      fired: those(stood, (piece) => piece.stage === 'fired' && !isLate(piece)),
      overdue: those(stood, isLate),
      noName: those(stood, ({ stage }) => stage === 'no-name'),
      waited,
      stood,
    };
  }

  /** What is due, by those lists. */
  async function byPiece() {
    const hand = await byHand();
    const { waited, stood } = hand;
    const line = (why: string, list: PieceNow[], since: typeof waited, longerThan = -1) => {
      const oldest = Math.min(...list.map(since));
      return list.length > 0 && s.clock.now() - oldest > longerThan
        ? [{ why, count: list.length, oldest }]
        : [];
    };
    const { first } = await lookAtShelf(read());
    const claimed = new Set(first.flatMap(({ piece, claims }) => (claims.length > 0 ? [piece.number] : [])));
    const claims = hand.noName.filter(({ number }) => claimed.has(number));
    return [
      ...line('feel-dry', hand.toFeel, waited),
      ...line('claims', claims, stood),
      ...line('yes-asked', hand.yesAsked, waited),
      ...hand.queues.flatMap(({ items }) =>
        line(
          'long-wait',
          items.filter(({ isReady }) => isReady),
          waited,
          14 * DAY,
        ),
      ),
      ...line('not-fetched', hand.overdue, stood),
      ...line('returned', hand.returned, stood, 7 * DAY),
    ];
  }

  /** Count and first numbers of every list, as the desk says it and as the pieces do. */
  async function bothWays() {
    const desk = await lookAtDesk(read());
    const hand = await byHand();
    const numbers = (list: { number: number }[]) => list.map(({ number }) => number);
    const listed = ({ count, first }: Listed) => ({ count, first: numbers(first) });
    const upTo = (most: number, list: PieceNow[]) => ({
      count: list.length,
      first: numbers(list.slice(0, most)),
    });
    const { noName } = desk;
    const said = {
      toFeel: listed(desk.toFeel),
      drying: desk.drying,
      queues: desk.queues.map(({ ready, kept, ...queue }) => ({ ...queue, ready, kept: listed(kept) })),
      yesAsked: listed(desk.yesAsked),
      flagged: listed(desk.flagged),
      returned: listed(desk.returned),
      refire: listed(desk.refire),
      fired: desk.fired,
      overdue: listed(desk.overdue),
      noName: { count: noName.count, first: noName.first.map(({ piece }) => piece.number) },
    };
    const byPieces = {
      toFeel: upTo(8, hand.toFeel),
      drying: hand.drying.length,
      queues: hand.queues.map(({ firing, items }) => ({
        firing,
        oldest: hand.waited(items[0]),
        ready: upTo(
          60,
          items.filter(({ isReady }) => isReady),
        ),
        kept: upTo(
          20,
          items.filter(({ isReady }) => !isReady),
        ),
      })),
      yesAsked: upTo(8, hand.yesAsked),
      flagged: upTo(8, hand.flagged),
      returned: upTo(8, hand.returned),
      refire: upTo(8, hand.refire),
      fired: hand.fired.length,
      overdue: upTo(8, hand.overdue),
      noName: upTo(8, hand.noName),
    };
    return { said, byPieces };
  }

  const byWhy = (list: { why: string; count: number; oldest: number }[]) =>
    list.map(({ why, count, oldest }) => `${why} ${count} ${oldest}`).sort();

  it('agrees with the desk whatever lies on it and however long', async () => {
    await s.as(technician, async (act) => {
      const bucket = { capacityLitres: 25, target: { aim: 1.46 }, solidsDensity: 2.6 };
      const add = (code: string, more: object) =>
        createBucketWithRecipe(act, bucketBody.parse({ ...bucket, code, name: code, ...more }));
      await add('FITS', { coneFrom: '5', coneTo: '7' });
      await add('HOT', { coneFrom: '9', coneTo: '10' });
      await add('WHO', {});
    });
    const own = { own: 'From home', coneFrom: '5', coneTo: '7' };
    const hand = (numbers: number[]) =>
      s.as(member, (act) => movePieces(act, 'hand-in', numbers, { heldBack: true }));
    const strangeClay = { clay: undefined, ownClay: 'mud' };
    for (const more of [{}, { thickestMm: 40 }, { closed: true }, strangeClay]) {
      const [one, ...others] = (await asked(3, more)) as [number, ...number[]];
      await s.as(technician, (act) => movePieces(act, 'dry', others, {}));
      await s.as(technician, (act) => movePieces(act, 'flag', others.slice(1), { words: 'wait' }));
      await s.as(technician, (act) => movePieces(act, 'return', [one], { reason: 'not-dry' }));
      s.clock.forward(HOUR);
    }
    for (const glazes of [[], [{ bucket: 'FITS' }], [{ bucket: 'HOT' }, own], [{ bucket: 'WHO' }], [own]]) {
      const some = [...(await pieces(2, { begins: 'bisqued' })), ...(await pieces(1, { once: true }))];
      await s.as(member, (act) => movePieces(act, 'glazes', some, { glazes }));
      await hand(some);
      s.clock.forward(7 * HOUR);
    }
    const lustre = await pieces(1, { ...strangeClay, begins: 'bisqued', kind: 'lustre', cone: '018' });
    await hand(lustre);
    for (const width of [901, 902]) {
      const picture = await pictureIn({ bytes: await aPhoto(width), isTooLarge: false }, 'photo');
      const { numbers } = await s.as(technician, (act) =>
        registerFound(act, { form: 'bowl', looks: 'fired' }, picture),
      );
      if (width === 901) await s.as(member, (act) => claimPiece(act, numbers[0] as number, {}));
    }
    const strange = (await lookAtDesk(read())).yesAsked.first.slice(0, 3).map(({ number }) => number);
    await s.as(technician, (act) => movePieces(act, 'yes', strange, { trayMm: 15 }));
    await fired(2);
    const seen = new Set<string>();
    for (const step of [0, 3, 9, 16]) {
      s.clock.forward(step * DAY);
      const counted = await due(read());
      expect(byWhy(counted)).toEqual(byWhy(await byPiece()));
      const { said, byPieces } = await bothWays();
      expect(said).toEqual(byPieces);
      for (const { why } of counted) seen.add(why);
    }
    expect([...seen].sort()).toEqual([
      'claims',
      'feel-dry',
      'long-wait',
      'not-fetched',
      'returned',
      'yes-asked',
    ]);
  });
});

describe('rack tags', () => {
  const SITE = 'http://ware.millrace.example';
  const HOST = { host: 'ware.millrace.example' };

  it('carry a large number, owner, clay, firing and the code of the piece', async () => {
    const online = await aStudio({ PUBLIC_URL: SITE });
    const command = registerForm.parse({ form: 'cup', ownClay: 'mud', cone: '6', howMany: 3 });
    const { numbers } = await online.as(online.people.member, (act) => registerPieces(act, command));
    const { body } = await online.visit(
      online.people.member,
      `/ware/tags?pieces=${numbers[0]}-${numbers[1]}`,
      HOST,
    );
    const tags = body.match(/<li class="label">.*?<\/li>/gs) ?? [];
    expect(tags).toHaveLength(2);
    expect(tags[0]).toContain(`<p class="rack-number">${numbers[0]}</p>`);
    expect(tags[0]).toContain('Ida');
    expect(tags[0]).toContain('mud');
    expect(tags[0]).toContain('glaze, cone 6 oxidation');
    expect(tags[0]).toContain(`aria-label="QR code of ${SITE}/ware/${numbers[0]}"`);
    expect(tags[0]).toContain('Stays on the rack.');
    expect(body).not.toMatch(/\sstyle="/);
  });

  it('are of own pieces, or of anybody’s for a technician', async () => {
    const [number] = (await pieces(1)) as [number];
    const stranger = await s.aPerson();
    const refused = await s.visit(stranger, `/ware/tags?pieces=${number}`);
    expect(refused.statusCode).toBe(422);
    expect(refused.body).not.toContain('rack-number">');
    expect((await s.visit(technician, `/ware/tags?pieces=${number}`)).body).toContain('rack-number">');
    const local = (await s.visit(member, `/ware/tags?pieces=${number}`)).body;
    expect(local).toContain('Without a QR code for now');
    expect(local).not.toContain('class="qr"');
  });

  it.each(['abc', '1-9999999', '0', '9-1', '%00', '1&pieces=x', '1'.repeat(500)])(
    'refuse %s',
    async (typed) => {
      expect((await s.visit(technician, `/ware/tags?pieces=${typed}`)).statusCode).toBe(422);
    },
  );

  it('ask for numbers where none were given', async () => {
    expect((await s.visit(member, '/ware/tags')).statusCode).toBe(200);
  });
});
