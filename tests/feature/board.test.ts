import { beforeAll, describe, expect, it } from 'vitest';
import { DAY, HOUR, MINUTE } from '../../server/core/clock.ts';
import {
  careBody,
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
import { readAs } from '../helpers/loads.ts';
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

  it('tells technicians by name who may open it, and members without names', async () => {
    const { number, kiln } = await aLoadedKiln(s, { like: { name: 'Hazel' } });
    await started(s, number);
    await s.as(wren(), (act) => shutOff(act, number, {}));
    await s.as(wren(), (act) => noteReading(act, number, { celsius: 100 }));
    expect((await boardOf(kiln.code))?.whoOpens).toContain('Cracked by Wren only');
    expect((await boardOf(kiln.code, s.people.member))?.whoOpens).toContain(
      'Cracked by whoever fires this kiln',
    );
    expect((await s.visit(s.people.member, '/kilns')).body).not.toContain('Wren');
  });

  it('tells what is next by the calendar, and why a kiln is out of service', async () => {
    const kiln = await aKiln(s, { name: 'Elder' });
    const [late, soon] = [
      await aBareLoad(s, kiln, schedules.get('Bisque') ?? 0),
      await aBareLoad(s, kiln, schedules.get('Bisque') ?? 0),
    ];
    expect((await boardOf(kiln.code))?.next).toBeNull();
    for (const [load, at] of [
      [late, 2],
      [soon, 0],
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
    expect(await dues(of)).toEqual([]);
    s.clock.forward(4 * DAY);
    expect(await dues(of)).toMatchObject([{ why: 'open', act: { href: `/kilns/loads/${number}/open` } }]);
    expect((await dues(of))[0]?.what).toContain('Nobody has read it since it was shut off.');
    await s.as(wren(), (act) => openKiln(act, number, { celsius: 40, how: 'opened' }));
    expect(await dues(of)).toMatchObject([{ why: 'unload', act: { href: `/kilns/loads/${number}/unload` } }]);
    expect((await dues({ code: kiln.code })).length).toBe(1);
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
    s.clock.forward(31 * MINUTE);
    expect((await due(readAs(s, wren())))[0]).toMatchObject({ why: 'hand-log', load: { number } });
    await s.as(wren(), (act) => noteGasLine(act, number, gasForm.parse({ topC: 300 })));
    expect(await dues({ why: 'hand-log' })).toEqual([]);
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

it('a member reads where their piece is, and when it is likely out', async () => {
  const { number, pieces } = await aLoadedKiln(s);
  expect(await words(number)).toBe('in the kiln, not on the calendar yet');
  await started(s, number);
  expect(await words(number)).toMatch(/^firing now, out about /);
  const page = await s.visit(s.people.member, `/ware/${pieces[0]}`);
  expect(page.body).toContain('firing now, out about');
  expect(await words(999_999)).toBeUndefined();
});
