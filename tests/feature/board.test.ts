import { beforeAll, describe, expect, it } from 'vitest';
import { DAY, HOUR, MINUTE } from '../../server/core/clock.ts';
import { toWallTime } from '../../server/core/wall-time.ts';
import {
  careBody,
  checkBeforeFiring,
  checkForm,
  due,
  findLoad,
  gasForm,
  type KilnDue,
  noteCare,
  noteGasLine,
  noteReading,
  openKiln,
  planLoad,
  showBoard,
  showPlan,
  shutOff,
} from '../../server/kilns/service/index.ts';
import { loadWords } from '../../server/ware/service/index.ts';
import { aBareLoad, usualSchedules } from '../helpers/calendar.ts';
import { aLoadedKiln, emptied, started } from '../helpers/firing.ts';
import { aKiln } from '../helpers/kilns.ts';
import { aClay, aProposal, ownGroup, readAs, readyPieces } from '../helpers/loads.ts';
import { aStudio, PARTIAL, type Studio } from '../helpers/studio.ts';

let s: Studio;
let schedules: Map<string, number>;

beforeAll(async () => {
  s = await aStudio();
  schedules = await usualSchedules(s);
});

const wren = () => s.people.technician;
const boardOf = async (code: string, person = wren()) =>
  (await showBoard(readAs(s, person))).kilns.find(({ kiln }) => kiln.code === code);
const dues = async (of: Partial<Pick<KilnDue, 'why'>> & { code?: string; load?: number }) =>
  (await due(readAs(s, wren()))).filter(
    (one) =>
      (of.why === undefined || one.why === of.why) &&
      (of.code === undefined || one.kiln.code === of.code) &&
      (of.load === undefined || one.load?.number === of.load),
  );
const words = async (load: number) => (await loadWords(readAs(s, s.people.member), [load])).get(load);

describe('the board', () => {
  it('has words for a studio without a kiln', async () => {
    const bare = await aStudio();
    const technician = await bare.visit(bare.people.technician, '/kilns');
    expect(technician.body).toContain('Add the first kiln');
    const member = await bare.visit(bare.people.member, '/kilns');
    expect(member.body).toContain('No kiln yet');
    expect(member.body).not.toContain('/kilns/new');
    expect((await bare.visit(bare.people.technician, '/kilns/calendar')).body).toContain('No kiln yet');
  });

  it('leads to all about kilns, to each reader what they may see', async () => {
    await aKiln(s);
    const hrefs = ['/kilns/loads', '/kilns/calendar', '/kilns/schedules', '/kilns/faults', '/kilns/settings'];
    const technician = await s.visit(wren(), '/kilns');
    const member = await s.visit(s.people.member, '/kilns');
    for (const href of hrefs) expect(technician.body).toContain(`href="${href}"`);
    for (const href of hrefs.slice(0, 3)) expect(member.body).toContain(`href="${href}"`);
    for (const href of hrefs.slice(3)) expect(member.body).not.toContain(`href="${href}"`);
    expect((await s.visit(null, '/kilns')).headers.location).toBe('/sign-in?next=%2Fkilns');
    const part = await s.visit(s.people.member, '/kilns', PARTIAL);
    expect(part.body).not.toContain('<html');
    expect(part.body).toContain('id="board"');
  });

  it('goes with a load from loaded to empty; only a typed reading makes it less than hot', async () => {
    const { number, kiln } = await aLoadedKiln(s, { like: { name: 'Rowan' } });
    const state = async () => (await boardOf(kiln.code))?.state;
    expect(await state()).toBe('loaded');
    await started(s, number);
    expect(await state()).toBe('firing');
    // As cold as the room, before it heats: it says nothing of how hot it is once it is shut off.
    await s.as(wren(), (act) => noteReading(act, number, { celsius: 20 }));
    s.clock.forward(10 * HOUR);
    await s.as(wren(), (act) => shutOff(act, number, {}));
    expect(await state()).toBe('hot');
    expect((await s.visit(s.people.member, '/kilns')).body).toContain('Not read since it was shut off');
    s.clock.forward(9 * DAY);
    expect(await state()).toBe('hot');
    expect((await boardOf(kiln.code))?.load?.opens?.due).toBe(true);
    for (const [celsius, says] of [
      [400, 'hot'],
      [110, 'cooling'],
      [49, 'cold'],
    ] as const) {
      await s.as(wren(), (act) => noteReading(act, number, { celsius }));
      s.clock.forward(MINUTE);
      expect(await state()).toBe(says);
    }
    const page = (await s.visit(s.people.member, '/kilns')).body;
    expect(page).toContain('COLD');
    expect(page).toContain('49 °C');
  });

  it('tells everybody by name who may open it', async () => {
    const { number, kiln } = await aLoadedKiln(s, { like: { name: 'Hazel' } });
    await started(s, number);
    await s.as(wren(), (act) => shutOff(act, number, {}));
    await s.as(wren(), (act) => noteReading(act, number, { celsius: 100 }));
    for (const person of [wren(), s.people.member])
      expect((await boardOf(kiln.code, person))?.whoOpens).toContain('May be cracked by Wren.');
    expect((await s.visit(s.people.member, '/kilns')).body).toContain('May be cracked by Wren.');
  });

  it('tells what is next by the calendar, and why a kiln is out of service', async () => {
    const kiln = await aKiln(s, { name: 'Elder' });
    const [late, soon] = [
      await aBareLoad(s, kiln, schedules.get('Bisque') ?? 0),
      await aBareLoad(s, kiln, schedules.get('Bisque') ?? 0),
    ];
    expect((await boardOf(kiln.code))?.next).toBeNull();
    // The sooner one first: slots may lie closer together than a firing takes.
    for (const [load, at] of [
      [soon, 0],
      [late, 2],
    ] as const) {
      const { slots, load: now } = await showPlan(readAs(s, wren()), load);
      const wish = { startsAt: slots[at]?.startsAt ?? 0, version: now.version };
      await s.as(wren(), (act) => planLoad(act, load, wish));
    }
    expect((await boardOf(kiln.code))?.next?.number).toBe(soon);
    const body = careBody.parse({ kind: 'out-of-service', note: 'The lid lifter is bent' });
    await s.as(wren(), (act) => noteCare(act, kiln.code, body));
    expect(await boardOf(kiln.code)).toMatchObject({ state: 'out-of-service' });
    expect((await s.visit(s.people.member, '/kilns')).body).toContain('The lid lifter is bent');
  });
});

describe('what needs somebody', () => {
  it('is each step of a load that nobody took, with the way to it', async () => {
    const { number, kiln } = await aLoadedKiln(s, { like: { name: 'Maple' } });
    const of = { load: number };
    expect(await dues(of)).toMatchObject([
      { why: 'start', title: 'Loaded, not started', act: { href: `/kilns/loads/${number}/check` } },
    ]);
    await started(s, number);
    expect(await dues(of)).toEqual([]);
    const { schedule } = await findLoad(readAs(s, wren()), number);
    s.clock.forward((schedule?.hours ?? 0) * HOUR + 2 * HOUR);
    expect(await dues(of)).toMatchObject([
      { why: 'past-off', act: { href: `/kilns/loads/${number}/readings` } },
    ]);
    await s.as(wren(), (act) => shutOff(act, number, {}));
    expect(await dues(of)).toMatchObject([
      { why: 'cooling', act: { href: `/kilns/loads/${number}/readings` } },
    ]);
    await s.as(wren(), (act) => noteReading(act, number, { celsius: 600 }));
    expect((await dues(of))[0]?.what).toMatch(/^Last read 600 °C, today .* Cold enough to open from about /);
    s.clock.forward(4 * DAY);
    expect(await dues(of)).toMatchObject([{ why: 'open', act: { href: `/kilns/loads/${number}/open` } }]);
    expect((await dues(of))[0]?.what).toContain('Last read 600 °C');
    await s.as(wren(), (act) => openKiln(act, number, { celsius: 40, how: 'opened' }));
    expect(await dues(of)).toMatchObject([{ why: 'unload', act: { href: `/kilns/loads/${number}/unload` } }]);
    expect((await dues({ code: kiln.code })).length).toBe(1);
  });

  it('is a proposal that nobody looked over, pressing after a day or where a piece is wanted soon', async () => {
    const kiln = await aKiln(s, { name: 'Alder' });
    const clay = await aClay(s);
    const wantedBy = new Date(s.clock.now() + 5 * DAY).toISOString().slice(0, 10);
    for (const [more, first] of [
      [{}, 'approve-later'],
      [{ wantedBy }, 'approve'],
    ] as const) {
      const firing = ownGroup();
      await readyPieces(s, s.people.member, { for: 'glaze', clay, cone: firing.cone, ...more });
      const load = await aProposal(s, { kiln: kiln.code, firing });
      expect(await dues({ load })).toMatchObject([{ why: first, act: { href: `/kilns/loads/${load}` } }]);
      s.clock.forward(DAY);
      expect(await dues({ load })).toMatchObject([{ why: 'approve' }]);
    }
    const all = (await due(readAs(s, wren()))).map(({ why }) => why);
    expect(all.lastIndexOf('approve')).toBeLessThan(all.indexOf('out-of-service'));
  });

  it('is a log that is missing a day after a load came out, and for two weeks', async () => {
    const { number } = await aLoadedKiln(s);
    await emptied(s, number);
    expect(await dues({ load: number })).toEqual([]);
    s.clock.forward(25 * HOUR);
    expect(await dues({ load: number })).toMatchObject([
      { why: 'log', act: { href: `/kilns/loads/${number}/log` } },
    ]);
    s.clock.forward(14 * DAY);
    expect(await dues({ load: number })).toEqual([]);
  });

  it('is a hand log that is late, before anything else', async () => {
    const { number } = await aLoadedKiln(s, {
      like: { name: 'Gas kiln', power: 'gas', emergency: 'Shut the cock first.' },
    });
    await started(s, number);
    expect(await dues({ why: 'hand-log' })).toEqual([]);
    expect((await s.visit(wren(), `/kilns/loads/${number}`)).body).toContain('gas: not metered here');
    s.clock.forward(31 * MINUTE);
    expect((await due(readAs(s, wren())))[0]).toMatchObject({ why: 'hand-log', load: { number } });
    await s.as(wren(), (act) => noteGasLine(act, number, gasForm.parse({ topC: 300 })));
    expect(await dues({ why: 'hand-log' })).toEqual([]);
  });

  it('is a latest shut-off that has passed with burners lit, on the board and on Today, until it is noted as off', async () => {
    const emergency = 'Shut the cock first.';
    const { number, kiln } = await aLoadedKiln(s, { like: { name: 'Ash kiln', power: 'gas', emergency } });
    const iso = (hours: number) => new Date(s.clock.now() + hours * HOUR).toISOString();
    const agree = (hours: number) =>
      s.as(wren(), (act) => checkBeforeFiring(act, number, checkForm.parse({ latestShutOff: iso(hours) })));
    await agree(2);
    await agree(8);
    await started(s, number);
    const agreed = s.clock.now() + 8 * HOUR;
    const isSaid = async () => {
      const board = (await s.visit(s.people.member, '/kilns')).body;
      const today = (await s.visit(wren(), '/today')).body;
      return [board, today].map((body) => body.includes('Past its latest shut-off'));
    };
    s.clock.forward(8 * HOUR);
    expect(await dues({ why: 'latest-off' })).toEqual([]);
    expect(await isSaid()).toEqual([false, false]);
    s.clock.forward(MINUTE);
    expect((await boardOf(kiln.code))?.offSince).toBe(agreed);
    expect((await due(readAs(s, wren())))[0]).toMatchObject({
      why: 'latest-off',
      load: { number },
      act: { href: `/kilns/loads/${number}/shut-off` },
    });
    expect(await isSaid()).toEqual([true, true]);
    await s.as(wren(), (act) => shutOff(act, number, {}));
    expect(await dues({ why: 'latest-off' })).toEqual([]);
    expect(await isSaid()).toEqual([false, false]);
  });

  it('is a place on the calendar that no longer works, on the calendar itself too', async () => {
    const kiln = await aKiln(s, { name: 'Larch' });
    const load = await aBareLoad(s, kiln, schedules.get('Bisque') ?? 0);
    const { slots, load: now } = await showPlan(readAs(s, wren()), load);
    const startsAt = slots[0]?.startsAt ?? 0;
    await s.as(wren(), (act) => planLoad(act, load, { startsAt, version: now.version }));
    expect(await dues({ why: 'calendar', load })).toEqual([]);
    const body = careBody.parse({ kind: 'out-of-service', note: 'No power' });
    await s.as(wren(), (act) => noteCare(act, kiln.code, body));
    expect(await dues({ why: 'calendar', load })).toMatchObject([
      { what: 'Larch is out of service: No power.', act: { href: `/kilns/loads/${load}/plan` } },
    ]);
    expect(await dues({ why: 'out-of-service', code: kiln.code })).toHaveLength(1);
    const on = new Date(startsAt).toISOString().slice(0, 10);
    expect((await s.visit(s.people.member, `/kilns/calendar?on=${on}`)).body).toContain(
      'This does not fit any more',
    );
    const today = await s.visit(wren(), '/today');
    expect(today.body).toContain('Does not fit the calendar');
    expect(today.body).toContain('<h2>Kilns</h2>');
  });

  it('is for technicians', async () => {
    await expect(due(readAs(s, s.people.member))).rejects.toThrow('This needs a technician.');
  });
});

describe('when it may be opened', () => {
  const HALF = 30 * MINUTE;
  const times = (html: string) => /[Cc]old enough to open ([^,.<]*)/.exec(html)?.[1]?.trim();

  it('is said alike on the board, the page of the load, the page of the kiln and where it is opened', async () => {
    const { number, kiln } = await aLoadedKiln(s, { like: { name: 'Juniper' } });
    const member = s.people.member;
    const said = async () => {
      const one = await boardOf(kiln.code);
      if (!one?.load?.opens) throw new Error('no forecast');
      const { from, to } = one.load.opens;
      const at = (instant: number) => toWallTime(instant, 'Europe/London').slice(11);
      expect([from % HALF, to % HALF]).toEqual([0, 0]);
      const load = (await s.visit(member, `/kilns/loads/${number}`)).body;
      const own = (await s.visit(member, `/kilns/${kiln.code}`)).body;
      expect(times(load)).toContain(at(from));
      expect(times(load)).toContain(at(to));
      expect(times(own)).toBe(times(load));
      expect((await s.visit(member, '/kilns')).body).toContain(`Cold enough to open ${times(load)}`);
      return { ...one.load.opens, words: times(load) };
    };
    await started(s, number);
    s.clock.forward(7 * MINUTE);
    const firing = await said();
    // Shut off hours before its plan says.
    s.clock.forward(2 * HOUR);
    await s.as(wren(), (act) => shutOff(act, number, {}));
    const off = await said();
    expect(off.to).toBeLessThan(firing.to);
    expect((await s.visit(wren(), `/kilns/loads/${number}/open`)).body).toContain(off.words);
    await s.as(wren(), (act) => noteReading(act, number, { celsius: 112 }));
    const read = await said();
    expect(read.to).toBeLessThan(off.from);
    expect((await s.visit(wren(), `/kilns/loads/${number}/open`)).body).toContain(read.words);
    // Whoever's ware is in it hears an end that is no earlier, and on the half hour.
    const place = (await boardOf(kiln.code))?.load?.place;
    expect(place && place.freeAt >= read.from && place.freeAt % HALF === 0).toBe(true);
    const page = (await s.visit(member, `/kilns/loads/${number}`)).body;
    expect(page).toContain('last read 112 °C');
    await s.as(wren(), (act) => openKiln(act, number, { celsius: 40, how: 'opened' }));
    expect(times((await s.visit(member, `/kilns/loads/${number}`)).body)).toBeUndefined();
  });

  it('is on the page of the kiln too, which never looks harmless while it is hot', async () => {
    const { number, kiln } = await aLoadedKiln(s, { like: { name: 'Spruce' } });
    await started(s, number);
    await s.as(wren(), (act) => shutOff(act, number, {}));
    await s.as(wren(), (act) => noteReading(act, number, { celsius: 112 }));
    const { body } = await s.visit(s.people.member, `/kilns/${kiln.code}`);
    expect(body).toContain('COOLING');
    expect(body).toContain('112 °C');
    expect(body).toContain('It is hot');
    expect(body).not.toContain('In service');
  });
});

it('a member reads where their piece is, and when it is likely out', async () => {
  const { number, pieces } = await aLoadedKiln(s);
  expect(await words(number)).toBe('in the kiln, not on the calendar yet');
  await started(s, number);
  expect(await words(number)).toMatch(/^firing now, out about /);
  const page = await s.visit(s.people.member, `/ware/${pieces[0]}`);
  expect(page.body).toContain('firing now, out about');
  expect(await words(999_999)).toBeUndefined();
});
