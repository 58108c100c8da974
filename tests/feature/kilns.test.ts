import { describe, expect, it } from 'vitest';
import type { Read } from '../../server/core/actor.ts';
import { DAY, HOUR, MINUTE } from '../../server/core/clock.ts';
import { Conflict, Forbidden, Invalid, NotFound } from '../../server/core/errors.ts';
import { kilnsEndpoints } from '../../server/kilns/api-kilns.ts';
import { readKiln, typedFrom } from '../../server/kilns/kiln-form.ts';
import { loads } from '../../server/kilns/schema.ts';
import * as kilns from '../../server/kilns/service/index.ts';
import { KILN_DEFAULTS } from '../../server/kilns/settings.ts';
import { changeActivity } from '../../server/members/service/people.ts';
import { aKiln } from '../helpers/kilns.ts';
import { aStudio, type Person } from '../helpers/studio.ts';

const s = await aStudio();
const { technician, member, manager } = s.people;
const read = (who: Person = technician): Read => ({
  tx: s.database.db,
  actor: who.caller,
  now: s.clock.now(),
});
/** A kiln as its own form would send it back. */
const commandFrom = (opened: kilns.KilnToEdit) =>
  readKiln(typedFrom(opened), { units: 'metric', timeZone: 'Europe/London', currency: 'GBP' });
const note = (code: string, command: kilns.CareCommand) =>
  s.as(technician, (act) => kilns.noteCare(act, code, command));

let numbers = 9000;
/** A load of the kiln as it lies in the table, fired at an instant. */
async function aFiring(kilnId: number, at: number, state: 'cooling' | 'unloaded' | 'firing' | 'cancelled') {
  await s.database.db.insert(loads).values({
    number: ++numbers,
    lastEvent: 1,
    kilnId,
    state,
    kind: 'glaze',
    cone: '6',
    atmosphere: 'oxidation',
    problem: {} as never,
    plan: {} as never,
    bound: {} as never,
    wishes: { pins: {}, leftOut: [] },
    proposedAt: at,
    startedAt: state === 'cancelled' ? null : at,
    onCall: '',
  });
}

describe('a kiln', () => {
  it('is found by its code in any case, and is the technician’s and nobody else’s to fire', async () => {
    const { code } = await aKiln(s, { code: 'Front1', like: 'front' });
    const seen = await kilns.findKiln(read(member), 'fRONT1');
    expect(seen).toMatchObject({ code, mayFire: false, service: 'in-service', halfShelves: 0 });
    expect(seen.firers.map(({ name }) => name)).toEqual(['Wren']);
    expect((await kilns.findKiln(read(), code)).mayFire).toBe(true);
  });

  it('members may be named as firers; a manager is none by being a manager', async () => {
    const { code } = await aKiln(s, { firers: [member] });
    expect((await kilns.findKiln(read(member), code)).mayFire).toBe(true);
    expect((await kilns.findKiln(read(manager), code)).mayFire).toBe(false);
  });

  it('somebody who has left fires nothing any more', async () => {
    const gone = await s.aPerson('member', 'Leaver');
    const { code } = await aKiln(s, { firers: [gone] });
    await s.as(manager, (act) => changeActivity(act, { email: gone.email, active: false }));
    expect((await kilns.findKiln(read(), code)).firers.map(({ name }) => name)).toEqual(['Wren']);
  });

  it('is the technicians’ to make and change', async () => {
    const { code } = await aKiln(s);
    const opened = await kilns.kilnToEdit(read(), code);
    const command = commandFrom(opened);
    const { seen } = opened;
    await expect(s.as(member, (act) => kilns.createKiln(act, command))).rejects.toThrow(Forbidden);
    await expect(s.as(member, (act) => kilns.editKiln(act, code, command, seen))).rejects.toThrow(Forbidden);
    await expect(kilns.kilnToEdit(read(member), code)).rejects.toThrow(Forbidden);
    await expect(s.as(member, (act) => kilns.retireKiln(act, code, true))).rejects.toThrow(Forbidden);
  });

  it('its code stays its own, a retired one’s too', async () => {
    const { code } = await aKiln(s, { code: 'OLD' });
    await s.as(technician, (act) => kilns.retireKiln(act, code, true));
    await expect(aKiln(s, { code: 'old' })).rejects.toThrow(/has this code/);
    for (const taken of ['new', 'Loads', 'SETTINGS', 'schedules', 'calendar', 'faults'])
      expect(kilns.kilnFields.code.safeParse(taken).success, taken).toBe(false);
  });

  it('retired it leaves the list but not its page, and comes back', async () => {
    const { code, id } = await aKiln(s);
    await s.as(technician, (act) => kilns.retireKiln(act, code, true));
    const codes = async (retired: boolean) =>
      (await kilns.listKilns(read(), { retired })).map((one) => one.code);
    expect(await codes(false)).not.toContain(code);
    expect(await codes(true)).toContain(code);
    expect((await kilns.findKiln(read(), code)).mayFire).toBe(false);
    expect((await kilns.kilnsByIds(read(), [id])).get(id)?.code).toBe(code);
    await s.as(technician, (act) => kilns.retireKiln(act, code, false));
    expect(await codes(false)).toContain(code);
  });

  it('is not retired from under a load', async () => {
    const { code, id } = await aKiln(s);
    await aFiring(id, s.clock.now(), 'firing');
    await expect(s.as(technician, (act) => kilns.retireKiln(act, code, true))).rejects.toThrow(
      /still under way/,
    );
  });

  it('gets three posts a shelf, and three for each half, where nobody said where they stand', async () => {
    expect((await aKiln(s, { halfShelves: 0 })).postPositions).toHaveLength(3);
    expect((await aKiln(s, { halfShelves: 4 })).postPositions).toHaveLength(6);
  });

  it('comes back from its own form as it was', async () => {
    const keepOuts = [
      { shape: 'circle' as const, xMm: 0, yMm: 240, diameterMm: 30, fromMm: 100, toMm: 220 },
      { shape: 'rectangle' as const, xMm: -200, yMm: 0, widthMm: 40, depthMm: 60.5 },
    ];
    const { code } = await aKiln(s, {
      keepOuts,
      volts: 240,
      duty: 0.55,
      stackedPosts: true,
      emergency: 'Off!',
    });
    const opened = await kilns.kilnToEdit(read(), code);
    await s.as(technician, (act) => kilns.editKiln(act, code, commandFrom(opened), opened.seen));
    expect(await kilns.kilnToEdit(read(), code)).toEqual(opened);
  });

  it('cones are written in one way', async () => {
    expect((await aKiln(s, { maxCone: '006' })).maxCone).toBe('06');
  });
});

describe('two technicians at one form', () => {
  it('the later one is told, sees the kiln as it is, and may then save', async () => {
    const { code } = await aKiln(s);
    const opened = await kilns.kilnToEdit(read(), code);
    const commandOf = (usableHeightMm: number) => ({ ...commandFrom(opened), usableHeightMm });
    await s.as(manager, (act) => kilns.editKiln(act, code, commandOf(700), opened.seen));
    const late = s.as(technician, (act) => kilns.editKiln(act, code, commandOf(690), opened.seen));
    await expect(late).rejects.toThrow(/Maro changed this kiln/);
    await expect(late).rejects.toThrow(Conflict);
    expect((await kilns.findKiln(read(), code)).usableHeightMm).toBe(700);
    const again = await kilns.kilnToEdit(read(), code);
    await s.as(technician, (act) => kilns.editKiln(act, code, commandOf(690), again.seen));
    expect((await kilns.findKiln(read(), code)).usableHeightMm).toBe(690);
  });

  it('only one of two at the same time gets through', async () => {
    const { code } = await aKiln(s);
    const opened = await kilns.kilnToEdit(read(), code);
    const edit = (who: Person, fullShelves: number) =>
      s.as(who, (act) => kilns.editKiln(act, code, { ...commandFrom(opened), fullShelves }, opened.seen));
    const both = await Promise.allSettled([edit(technician, 3), edit(manager, 4)]);
    expect(both.map(({ status }) => status).sort()).toEqual(['fulfilled', 'rejected']);
  });
});

describe('care', () => {
  it('counts firings since a part was changed, by the load’s start, cooling ones too', async () => {
    const { code, id } = await aKiln(s);
    const now = s.clock.now();
    await aFiring(id, now - 10 * DAY, 'unloaded');
    await aFiring(id, now - 5 * DAY, 'unloaded');
    await aFiring(id, now - 2 * DAY, 'cooling');
    await aFiring(id, now - 1 * DAY, 'firing');
    await aFiring(id, now - 1 * DAY, 'cancelled');
    expect((await kilns.findKiln(read(), code)).firingsSince).toEqual({
      elements: null,
      relays: null,
      thermocouple: null,
    });
    await note(code, { kind: 'elements', happenedAt: now - 7 * DAY });
    await note(code, { kind: 'relays', happenedAt: now - 20 * DAY });
    const wrong = await note(code, { kind: 'elements', happenedAt: now - HOUR });
    expect((await kilns.findKiln(read(), code)).firingsSince).toEqual({
      elements: 0,
      relays: 3,
      thermocouple: null,
    });
    await s.as(technician, (act) => kilns.voidCare(act, code, wrong, 'It was the other kiln.'));
    expect((await kilns.findKiln(read(), code)).firingsSince.elements).toBe(2);
    expect((await kilns.newestLoads(read(member), id)).length).toBe(5);
  });

  it('takes a kiln out of service with its cause and back, whatever order it is noted in', async () => {
    const { code } = await aKiln(s);
    const state = async () => {
      const { service, serviceCause } = await kilns.findKiln(read(), code);
      return [service, serviceCause];
    };
    const now = s.clock.now();
    const out = await note(code, { kind: 'out-of-service', note: 'A relay hums.' });
    expect(await state()).toEqual(['out-of-service', 'A relay hums.']);
    await note(code, { kind: 'in-service', happenedAt: now - DAY });
    expect(await state()).toEqual(['out-of-service', 'A relay hums.']);
    await s.as(technician, (act) => kilns.voidCare(act, code, out, 'It was the fan.'));
    expect(await state()).toEqual(['in-service', '']);
  });

  it('cracked shelves leave the list, and come back when the entry is struck out', async () => {
    const { code } = await aKiln(s, { fullShelves: 5 });
    const shelves = async () => (await kilns.findKiln(read(), code)).fullShelves;
    const entry = await note(code, { kind: 'shelf-cracked', which: 'full', count: 2, takeAway: true });
    expect(await shelves()).toBe(3);
    await note(code, { kind: 'shelf-cracked', which: 'full', count: 1, takeAway: false });
    expect(await shelves()).toBe(3);
    await expect(
      note(code, { kind: 'shelf-cracked', which: 'full', count: 4, takeAway: true }),
    ).rejects.toThrow(Invalid);
    await s.as(technician, (act) => kilns.voidCare(act, code, entry, 'Only chipped.'));
    expect(await shelves()).toBe(5);
  });

  it('is struck out once, with a reason, and the striking out stays', async () => {
    const { code } = await aKiln(s);
    const entry = await note(code, { kind: 'vacuumed' });
    const strike = await s.as(technician, (act) => kilns.voidCare(act, code, entry, 'Another day.'));
    const strikeOut = (number: number) =>
      s.as(technician, (act) => kilns.voidCare(act, code, number, 'Again.'));
    await expect(strikeOut(entry)).rejects.toThrow(Conflict);
    await expect(strikeOut(strike)).rejects.toThrow(Conflict);
    await expect(strikeOut(99)).rejects.toThrow(NotFound);
    const { entries } = await kilns.listCare(read(member), code);
    expect(entries.map(({ number, voids, voidedBy, note: why }) => [number, voids, voidedBy, why])).toEqual([
      [2, 1, null, 'Another day.'],
      [1, null, 2, null],
    ]);
  });

  it('is not noted for tomorrow, nor by members', async () => {
    const { code } = await aKiln(s);
    await expect(note(code, { kind: 'vacuumed', happenedAt: s.clock.now() + 10 * MINUTE })).rejects.toThrow(
      /future/,
    );
    await expect(s.as(member, (act) => kilns.noteCare(act, code, { kind: 'vacuumed' }))).rejects.toThrow(
      Forbidden,
    );
  });

  it('numbers have no gaps when two note at once, and the log is read in parts', async () => {
    const { code } = await aKiln(s);
    await Promise.all(Array.from({ length: 6 }, () => note(code, { kind: 'vacuumed' })));
    const first = await kilns.listCare(read(), code, { limit: 4 });
    expect(first.entries.map(({ number }) => number)).toEqual([6, 5, 4, 3]);
    expect(first.next).toBe(3);
    const rest = await kilns.listCare(read(), code, { limit: 4, before: 3 });
    expect(rest.entries.map(({ number }) => number)).toEqual([2, 1]);
    expect(rest.next).toBeNull();
  });
});

describe('schedules', () => {
  const write = (name: string, more: Partial<kilns.ScheduleCommand> = {}) =>
    s.as(technician, (act) =>
      kilns.writeSchedule(
        act,
        kilns.scheduleBody.parse({
          name,
          kind: 'glaze',
          cone: '9',
          segments: [
            { rateCPerH: 100, toC: 1000 },
            { rateCPerH: 60, toC: 1260, holdMin: 15 },
          ],
          ...more,
        }),
      ),
    );

  it('begin with the usual ones, once', async () => {
    const fresh = await aStudio();
    const tech = fresh.people.technician;
    const ask: Read = { tx: fresh.database.db, actor: tech.caller, now: fresh.clock.now() };
    expect(await kilns.listSchedules(ask)).toEqual([]);
    await fresh.as(tech, (act) => kilns.writeUsualSchedules(act));
    const list = await kilns.listSchedules(ask);
    expect(list.map(({ kind, cone, forThick }) => [kind, cone, forThick])).toEqual([
      ['bisque', '06', false],
      ['bisque', '06', true],
      ['glaze', '6', false],
    ]);
    await expect(fresh.as(tech, (act) => kilns.writeUsualSchedules(act))).rejects.toThrow(Conflict);
    // Common practice, no source: 60 °C an hour to 90 °C and 2 h there, 60 to 220, 110 to 600, 150, then 60.
    expect(list[0]?.segments.map(({ rateCPerH, holdMin }) => [rateCPerH, holdMin])).toEqual([
      [60, 120],
      [60, 0],
      [110, 0],
      [150, 0],
      [60, 0],
    ]);
  });

  it('the newest one of exactly this kind and cone is taken; thick greenware only takes its own', async () => {
    const [thin, thick] = [false, true].map((forThick) => ({
      kind: 'bisque' as const,
      cone: '04',
      forThick,
    }));
    const first = await write('A', thin);
    const second = await write('B', thin);
    const slow = await write('C', thick);
    const found = async (kind: 'bisque' | 'glaze', cone: string, isThick = false) =>
      (await kilns.scheduleFor(read(member), { kind, cone }, { thick: isThick }))?.number ?? null;
    expect(await found('bisque', '04')).toBe(second);
    expect(await found('bisque', '04', true)).toBe(slow);
    expect(await found('bisque', '03')).toBeNull();
    expect(await found('glaze', '04')).toBeNull();
    await s.as(technician, (act) => kilns.retireSchedule(act, second));
    expect(await found('bisque', '04')).toBe(first);
    await s.as(technician, (act) => kilns.retireSchedule(act, slow));
    expect(await found('bisque', '04', true)).toBeNull();
    const glaze = await write('D', { kind: 'glaze', cone: '7' });
    expect(await found('glaze', '7', true)).toBe(glaze);
  });

  it('a better one is a new number, and the old one is kept as it was', async () => {
    const old = await write('Slow glaze');
    const before = await kilns.findSchedule(read(), old);
    const command = kilns.scheduleBody.parse({
      name: 'Slower glaze',
      kind: 'glaze',
      cone: '9',
      segments: [{ rateCPerH: 50, toC: 1250 }],
    });
    const made = await s.as(technician, (act) => kilns.replaceSchedule(act, old, command));
    expect(made).not.toBe(old);
    const kept = await kilns.findSchedule(read(), old);
    expect({ ...kept, retiredAt: null }).toEqual(before);
    expect(kept.retiredAt).toBe(s.clock.now());
    await expect(s.as(manager, (act) => kilns.replaceSchedule(act, old, command))).rejects.toThrow(Conflict);
  });

  it('what cannot be fired is refused beside the step', async () => {
    const nothing = write('Still', {
      segments: [
        { rateCPerH: 100, toC: 600, holdMin: 0 },
        { rateCPerH: 100, toC: 600, holdMin: 0 },
      ],
    });
    await expect(nothing).rejects.toThrow(/does nothing/);
    await expect(nothing).rejects.toMatchObject({ errors: [{ path: 'segments.1.toC' }] });
    await expect(kilns.findSchedule(read(), 2 ** 40)).rejects.toThrow(NotFound);
  });
});

describe('settings', () => {
  it('are common practice until somebody changes them, and keep what others changed', async () => {
    expect(await kilns.kilnSettings(read(member))).toEqual(KILN_DEFAULTS);
    const seen = kilns.settingsFingerprint(KILN_DEFAULTS);
    const changed = { ...KILN_DEFAULTS, openBelowC: 80, staffed: [null, ...KILN_DEFAULTS.staffed.slice(1)] };
    await s.as(technician, (act) => kilns.changeKilnSettings(act, changed, seen));
    expect(await kilns.kilnSettings(read())).toEqual(changed);
    await expect(s.as(manager, (act) => kilns.changeKilnSettings(act, KILN_DEFAULTS, seen))).rejects.toThrow(
      Conflict,
    );
    await expect(s.as(member, (act) => kilns.changeKilnSettings(act, KILN_DEFAULTS))).rejects.toThrow(
      Forbidden,
    );
  });

  it.each([
    ['hands go in before it is open', { handsBelowC: 100, openBelowC: 90 }, 'handsBelowC'],
    ['open above where the lid stays shut', { openBelowC: 130, lidShutAboveC: 120 }, 'openBelowC'],
    ['less air for what nobody measured', { gapMm: 4, gapMeasuredMm: 6 }, 'gapMm'],
    [
      'a day that ends before it begins',
      { staffed: [{ from: 600, to: 540 }, ...Array(6).fill(null)] },
      'staffed.0.to',
    ],
  ])('refuse %s', async (_what, change, path) => {
    const command = { ...KILN_DEFAULTS, ...change };
    await expect(s.as(technician, (act) => kilns.changeKilnSettings(act, command))).rejects.toMatchObject({
      errors: [{ path }],
    });
  });
});

describe('over the API', () => {
  const body = {
    code: 'API1',
    name: 'Side kiln',
    opens: 'top',
    shelf: { shape: 'polygon', sides: 10, acrossFlatsMm: 560 },
    fullShelves: 4,
    shelfThicknessMm: 16,
    usableHeightMm: 680,
    posts: [{ heightMm: 100, count: 9 }],
    maxCone: '8',
    atmospheres: ['oxidation'],
    power: 'electric',
    kilowatts: 9.6,
    firers: [technician.email],
  };

  it('a technician makes a kiln and notes care; everybody reads it', async () => {
    const made = await s.api(technician, 'POST', '/kilns', body);
    expect(made.statusCode, made.body).toBe(201);
    expect(made.json()).toMatchObject({ code: 'API1', firers: ['Wren'], mayFire: true, floorPostMm: 20 });
    const noted = await s.api(technician, 'POST', '/kilns/api1/care', { kind: 'ohms', ohms: [12.4, 12.6] });
    expect(noted.statusCode, noted.body).toBe(201);
    expect(noted.json()).toEqual({ number: 1 });
    const one = await s.api(member, 'GET', '/kilns/API1');
    expect(one.json().mayFire).toBe(false);
    expect(one.body).not.toContain(technician.email);
    const list = await s.api(member, 'GET', '/kilns');
    expect(list.json().kilns.map((kiln: { code: string }) => kiln.code)).toContain('API1');
    const answers: [string, unknown][] = [
      ['/kilns/:code', one.json()],
      ['/kilns', list.json()],
      ['/schedules', (await s.api(member, 'GET', '/schedules')).json()],
    ];
    for (const [path, answer] of answers)
      kilnsEndpoints.find((e) => e.method === 'GET' && e.path === path)?.answer.parse(answer);
  });

  it.each([
    ['nothing', {}, 'name'],
    ['a shelf of no shape', { shelf: { shape: 'star' } }, 'shelf.shape'],
    ['a shelf of nothing', { shelf: { shape: 'round', diameterMm: 0 } }, 'shelf.diameterMm'],
    ['no kW', { kilowatts: undefined }, 'kilowatts'],
    ['gas and not a word on what to shut', { power: 'gas' }, 'emergency'],
    ['a stranger as firer', { firers: ['nobody@millrace.example'] }, 'firers'],
    ['a cone that is none', { maxCone: '15' }, 'maxCone'],
    [
      'a post twice',
      {
        posts: [
          { heightMm: 60, count: 3 },
          { heightMm: 60, count: 3 },
        ],
      },
      'posts.1.heightMm',
    ],
    ['more than anybody asked', { colour: 'red' }, 'colour'],
    ['a code of ours', { code: 'loads' }, 'code'],
  ])('refuses %s beside its field', async (what, change, path) => {
    const sent = what === 'nothing' ? {} : { ...body, code: 'BAD', ...change };
    const answer = await s.api(technician, 'POST', '/kilns', sent);
    expect(answer.statusCode, answer.body).toBe(422);
    expect(answer.json().errors.map((error: { path: string }) => error.path)).toContain(path);
  });

  it('a retry makes one kiln, and members make none', async () => {
    const headers = { 'idempotency-key': 'kiln-once' };
    const twice = { ...body, code: 'ONCE' };
    const first = await s.api(technician, 'POST', '/kilns', twice, headers);
    const again = await s.api(technician, 'POST', '/kilns', twice, headers);
    expect([first.statusCode, again.statusCode]).toEqual([201, 201]);
    expect(again.json()).toEqual(first.json());
    expect((await s.api(member, 'POST', '/kilns', { ...body, code: 'NO' })).statusCode).toBe(403);
    expect((await s.api(member, 'POST', '/kilns/ONCE/care', { kind: 'vacuumed' })).statusCode).toBe(403);
    expect((await s.api(technician, 'GET', '/kilns/none')).statusCode).toBe(404);
    expect((await s.api(technician, 'GET', '/kilns/%00')).statusCode).toBe(404);
  });
});
