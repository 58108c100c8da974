import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { HOUR, MINUTE } from '../../server/core/clock.ts';
import { Refusal } from '../../server/core/errors.ts';
import { ownMessages } from '../../server/core/messages.ts';
import { newestReading } from '../../server/kilns/firing-record.ts';
import {
  cancel,
  changeKilnSettings,
  checkBeforeFiring,
  checkForm,
  correctOutcome,
  examineLoads,
  findKiln,
  finishLoading,
  gasForm,
  kilnSettings,
  loadLevel,
  noteCare,
  noteGasLine,
  noteReading,
  openKiln,
  outcomesOf,
  readCones,
  reopenLevel,
  showBoard,
  showCalendar,
  showFiring,
  shutOff,
  startFiring,
  strikeOutEvent,
  unloadForm,
  unloadKiln,
} from '../../server/kilns/service/index.ts';
import { append, lockLoad } from '../../server/kilns/service/load-ledger.ts';
import { OUTCOMES } from '../../server/ware/outcome.ts';
import { findPieces } from '../../server/ware/service/index.ts';
import { aLoadedKiln, emptied, opened, started } from '../helpers/firing.ts';
import { aKiln } from '../helpers/kilns.ts';
import { nothingIsWrong, pageOf, readAs } from '../helpers/loads.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
let wren: Person;
let ida: Person;
let maro: Person;
let finn: Person;
beforeAll(async () => {
  s = await aStudio();
  ({ technician: wren, member: ida, manager: maro } = s.people);
  finn = await s.aPerson('member', 'Finn');
  await staffed(ALL_DAY);
});

// Whatever the hour at which these tests run, somebody is in.
const ALL_DAY = { from: 0, to: 24 * 60 };
const staffed = (hours: typeof ALL_DAY | null) =>
  s.as(wren, async (act) =>
    changeKilnSettings(act, { ...(await kilnSettings(act)), staffed: Array(7).fill(hours) }),
  );
const ALL = { posts: true, washed: true, cones: true, lid: true, clear: true, vent: true, schedule: true };
const list = (more: object = {}) => checkForm.parse({ ...ALL, onCall: 'Wren, 0700', ...more });
const shown = (number: number, person = wren) => showFiring(readAs(s, person), number);
const row = async (number: number) => (await pageOf(s, number)).load;
const unload = (number: number, more: object = {}) =>
  s.as(wren, (act) => unloadKiln(act, number, unloadForm.parse({ celsius: 30, ...more })));
const GAS = { power: 'gas', kilowatts: undefined, emergency: 'Shut the red valve, phone Maro' } as const;

describe('before firing', () => {
  it('the list is ticked, and a whole one lets it be started without a word', async () => {
    const { number } = await aLoadedKiln(s);
    expect((await shown(number)).open).toHaveLength(8);
    await s.as(wren, (act) => checkBeforeFiring(act, number, list()));
    const { open, checked, load } = await shown(number);
    expect(open).toEqual([]);
    expect(checked?.by).toBe('Wren');
    expect(load.onCall).toBe('Wren, 0700');
    await s.as(wren, (act) => startFiring(act, number, {}));
    expect(await row(number)).toMatchObject({ state: 'firing', startedAt: s.clock.now() });
    await nothingIsWrong(s);
  });

  it('what is open wants a word at the start, and is no wall', async () => {
    const { number } = await aLoadedKiln(s);
    await s.as(wren, (act) => checkBeforeFiring(act, number, list({ vent: false, onCall: undefined })));
    await expect(s.as(wren, (act) => startFiring(act, number, {}))).rejects.toThrow(
      '2 lines of the list before firing are not ticked. Say why it is started all the same.',
    );
    await s.as(wren, (act) => startFiring(act, number, { note: 'The vent is broken, the door is open' }));
    expect((await shown(number)).startedWithout).toEqual({
      open: ['vent', 'onCall'],
      found: [],
      against: [],
      why: 'The vent is broken, the door is open',
    });
  });

  it('a list that was gone through again counts as it was last', async () => {
    const { number } = await aLoadedKiln(s);
    await s.as(wren, (act) => checkBeforeFiring(act, number, list()));
    await s.as(wren, (act) => checkBeforeFiring(act, number, list({ cones: false })));
    expect((await shown(number)).open).toEqual(['cones']);
  });

  it('a list that was gone through before the kiln was filled again counts no more', async () => {
    const { number, page } = await aLoadedKiln(s);
    await s.as(wren, (act) => checkBeforeFiring(act, number, list()));
    const { part, level } = page.levels.at(-1) as (typeof page.levels)[number];
    await s.as(wren, (act) => reopenLevel(act, number, { part, level }));
    await s.as(wren, (act) => loadLevel(act, number, { part, level, why: 'The phone is flat' }));
    await s.as(wren, (act) => finishLoading(act, number));
    expect(await shown(number)).toMatchObject({ checked: null, open: { length: 8 } });
    await expect(s.as(wren, (act) => startFiring(act, number, { confirm: true }))).rejects.toMatchObject({
      errors: [{ path: 'note' }],
    });
  });

  it('burners want a watch without a gap, a latest shut-off and the alarm tested', async () => {
    const kiln = await aKiln(s, { halfShelves: 0, ...GAS, firers: [finn] });
    const { number } = await aLoadedKiln(s, { kiln });
    const at = (hours: number) => s.clock.now() + hours * HOUR;
    const iso = (hours: number) => new Date(at(hours)).toISOString();
    const turn = (name: string, from: number, to: number) => ({ name, from: iso(from), to: iso(to) });
    const check = (more: object) => s.as(finn, (act) => checkBeforeFiring(act, number, list(more)));
    await check({});
    expect((await shown(number)).open).toEqual(['coAlarm', 'watch', 'latestShutOff']);
    const rest = { coAlarm: true, latestShutOff: iso(12) };
    await check({ ...rest, watch: [turn('Wren', 0, 6), turn('Finn', 7, 12)] });
    expect((await shown(number)).open).toEqual(['watch']);
    await check({ ...rest, watch: [turn('Wren', 0, 6), turn('Finn', 6, 11)] });
    expect((await shown(number)).open).toEqual(['watch']);
    await check({ ...rest, watch: [turn('finn', 6, 12), turn('Wren', 0, 6)] });
    expect((await shown(number)).open).toEqual([]);
    await expect(check({ ...rest, watch: [turn('Ida', 0, 12)] })).rejects.toThrow(
      'Nobody of this name may fire',
    );
    await expect(check({ ...rest, watch: [turn('Wren', 6, 6)] })).rejects.toThrow('ends after it begins');
    await expect(check({ latestShutOff: iso(-1) })).rejects.toThrow('This is past already.');
    const page = await s.visit(finn, `/kilns/loads/${number}/start`);
    expect(page.body).toContain('Software watches nothing. CO has no smell.');
    expect(page.body).toContain('Shut the red valve, phone Maro');
    expect(page.body).toContain('Burners off at the latest');
  });
});

describe('a start that something speaks against', () => {
  it('burners without alarm, watch and latest shut-off are asked about, and want a reason too', async () => {
    const { number } = await aLoadedKiln(s, { like: GAS });
    await s.as(wren, (act) => checkBeforeFiring(act, number, list()));
    const start = (more: object) => s.as(wren, (act) => startFiring(act, number, more));
    await expect(start({ note: 'In a hurry' })).rejects.toThrow(
      'Never unattended with burners lit. The CO alarm was not tested. ' +
        'Nobody is down to watch it from the first burner to the last. ' +
        'It is not agreed when the burners go off at the latest. Is it started all the same? Say why.',
    );
    await expect(start({ confirm: true })).rejects.toMatchObject({ status: 422, errors: [{ path: 'note' }] });
    const at = `/kilns/loads/${number}/start`;
    const asked = await s.submit(wren, at, { note: 'In a hurry' });
    expect(asked.statusCode).toBe(409);
    expect(asked.body).not.toContain(`Start load ${number}<`);
    const confirm = /class="plain" type="submit" name="confirm" value="([^"]+)"/.exec(asked.body)?.[1] ?? '';
    expect((await s.submit(wren, at, { confirm, note: '' })).statusCode).toBe(422);
    const done = await s.submit(wren, at, { confirm, note: 'Wren stands beside it' });
    expect(done.statusCode).toBe(303);
    const page = await s.visit(wren, String(done.headers.location));
    expect(page.body).toContain('It is lit.');
    expect(page.body).toContain('The CO alarm was not tested.');
    expect(page.body).toContain('Wren stands beside it');
  });

  it('burners lit before the first turn of the watch are asked about', async () => {
    const { number } = await aLoadedKiln(s, { like: GAS });
    const iso = (hours: number) => new Date(s.clock.now() + hours * HOUR).toISOString();
    const watch = [{ name: 'Wren', from: iso(2), to: iso(12) }];
    const agreed = list({ coAlarm: true, latestShutOff: iso(12), watch });
    await s.as(wren, (act) => checkBeforeFiring(act, number, agreed));
    expect((await shown(number)).open).toEqual([]);
    await expect(s.as(wren, (act) => startFiring(act, number, {}))).rejects.toThrow(
      'The first turn begins after it is lit. Is it started all the same?',
    );
    await s.as(wren, (act) => startFiring(act, number, { confirm: true }));
    expect((await shown(number)).startedWithout).toMatchObject({
      open: [],
      against: ['The first turn begins after it is lit.'],
    });
  });

  it('an electric kiln is on, and needs no yes for its list', async () => {
    const { number } = await aLoadedKiln(s);
    const at = `/kilns/loads/${number}/start`;
    const refused = await s.submit(wren, at, {});
    expect(refused.statusCode).toBe(422);
    // The eight lines are told once, in the list itself.
    expect(refused.body.split('The vent is on')).toHaveLength(2);
    const done = await s.submit(wren, at, { note: 'Quick' });
    expect((await s.visit(wren, String(done.headers.location))).body).toContain('It is on.');
  });

  it('away from its slot it is asked about; the slot moves with the start, and back when that is struck out', async () => {
    const { number, kiln } = await aLoadedKiln(s);
    const slot = { startsAt: s.clock.now() + 20 * HOUR, freeAt: s.clock.now() + 60 * HOUR };
    await s.as(wren, async (act) => {
      const load = await lockLoad(act, number);
      await append(act, load, { kind: 'planned', payload: slot }, slot);
    });
    expect((await s.visit(wren, `/kilns/loads/${number}/start`)).body).toContain('On the calendar: ');
    const start = (more: object) => s.as(wren, (act) => startFiring(act, number, { note: 'x', ...more }));
    await expect(start({})).rejects.toThrow(/^On the calendar it starts .*\. Is it started all the same\?/);
    await start({ confirm: true });
    expect((await shown(number)).startedWithout?.against).toEqual([
      expect.stringMatching(/^On the calendar it starts /),
    ]);
    const now = await row(number);
    expect(now.startsAt).toBe(s.clock.now());
    expect(now.freeAt).toBeGreaterThan(s.clock.now() + HOUR);
    const { entries } = await showCalendar(readAs(s, wren), {
      from: s.clock.now(),
      to: s.clock.now() + 10 * 24 * HOUR,
    });
    const places = entries.filter((one) => one.kiln.id === kiln.id).map(({ place }) => place.startsAt);
    expect(places).toEqual([s.clock.now()]);
    const { undo } = await shown(number);
    await s.as(wren, (act) => strikeOutEvent(act, number, { event: undo?.event ?? 0, reason: 'x' }));
    expect(await row(number)).toMatchObject({ state: 'loaded', ...slot });
    await nothingIsWrong(s);
  });

  it('within an hour of its slot nothing is asked', async () => {
    const { number } = await aLoadedKiln(s);
    const slot = { startsAt: s.clock.now() + 59 * MINUTE, freeAt: s.clock.now() + 60 * HOUR };
    await s.as(wren, async (act) => {
      const load = await lockLoad(act, number);
      await append(act, load, { kind: 'planned', payload: slot }, slot);
    });
    await s.as(wren, (act) => startFiring(act, number, { note: 'x' }));
    expect(await row(number)).toMatchObject({ state: 'firing', startsAt: s.clock.now() });
  });

  it('when nobody is in, or with more kW than the studio has, it is asked about', async () => {
    const [first, second] = [
      await aLoadedKiln(s, { like: { kilowatts: 9 } }),
      await aLoadedKiln(s, { like: { kilowatts: 9 } }),
    ];
    const start = (number: number) => s.as(wren, (act) => startFiring(act, number, { note: 'x' }));
    await staffed(null);
    await expect(start(first.number)).rejects.toThrow('Nobody is in the studio at that time');
    await staffed(ALL_DAY);
    await start(first.number);
    const siteKilowatts = (most: number | null) =>
      s.as(wren, async (act) =>
        changeKilnSettings(act, { ...(await kilnSettings(act)), siteKilowatts: most }),
      );
    await siteKilowatts(10);
    await expect(start(second.number)).rejects.toThrow('kW; the studio has 10. Is it started all the same?');
    await siteKilowatts(null);
    await start(second.number);
  });
});

describe('who may do what', () => {
  it('only who fires this kiln starts it: not a technician, not the manager, who are told whom to ask', async () => {
    const { number } = await aLoadedKiln(s);
    const start = (who: Person) => s.as(who, (act) => startFiring(act, number, { note: 'x' }));
    for (const who of [ida, finn, maro])
      await expect(start(who)).rejects.toThrow(/You are not named as one who fires .*: ask Wren/);
    expect((await s.submit(ida, `/kilns/loads/${number}/start`, { note: 'x' })).statusCode).toBe(403);
    expect((await s.api(maro, 'POST', `/loads/${number}/start`, { note: 'x' })).statusCode).toBe(403);
    await start(wren);
  });

  it('a member who fires it writes what the pyrometer says; another member does not, a technician does', async () => {
    const { number } = await aLoadedKiln(s, { like: { firers: [finn] } });
    await s.as(finn, (act) => startFiring(act, number, { note: 'Alone tonight' }));
    await s.as(finn, (act) => noteReading(act, number, { celsius: 100 }));
    await s.as(maro, (act) => noteReading(act, number, { celsius: 110 }));
    const strangers: ((act: Parameters<typeof noteReading>[0]) => Promise<void>)[] = [
      (act) => noteReading(act, number, { celsius: 120 }),
      (act) => shutOff(act, number, {}),
      (act) => openKiln(act, number, { celsius: 20, how: 'opened' }),
      (act) => strikeOutEvent(act, number, { event: 1, reason: 'x' }),
    ];
    for (const act of strangers)
      await expect(s.as(ida, act)).rejects.toThrow('This is written by whoever fires');
    expect((await row(number)).measuredC).toBe(110);
  });

  it('emptying, cones, outcomes, logs and faults are for technicians', async () => {
    const { number } = await aLoadedKiln(s, { like: { firers: [finn] } });
    await opened(s, number);
    for (const page of ['unload', 'cones', 'log', 'outcomes']) {
      expect((await s.visit(finn, `/kilns/loads/${number}/${page}`)).statusCode, page).toBe(403);
      if (page !== 'outcomes')
        expect((await s.submit(finn, `/kilns/loads/${number}/${page}`, {})).statusCode, page).toBe(403);
    }
    expect((await s.visit(ida, '/kilns/faults')).statusCode).toBe(403);
    await expect(
      s.as(finn, (act) => unloadKiln(act, number, unloadForm.parse({ celsius: 20 }))),
    ).rejects.toThrow('This needs a technician.');
    await expect(
      s.as(finn, (act) => readCones(act, number, { levels: [{ part: 'full', level: 1, cones: [] }] })),
    ).rejects.toThrow('This needs a technician.');
  });

  it('members see the curve and what it is at, not who wrote it', async () => {
    const { number } = await aLoadedKiln(s);
    await started(s, number);
    await s.as(wren, (act) => noteReading(act, number, { celsius: 315, note: 'Smells of wax' }));
    const { readings, startedWithout } = await shown(number, ida);
    expect(readings[0]).toMatchObject({ c: 315, by: null, note: null });
    expect(startedWithout?.why).toBeNull();
    const page = await s.visit(ida, `/kilns/loads/${number}/readings`);
    expect(page.body).toContain('315\u00a0°C');
    expect(page.body).not.toContain('Smells of wax');
    expect(page.body).not.toContain('Keep this reading');
  });
});

describe('every state refuses what it is not for', () => {
  it('with a sentence, over HTTP with 409', async () => {
    const { number } = await aLoadedKiln(s);
    type Run = (act: Parameters<typeof noteReading>[0]) => Promise<void>;
    const acts: Record<string, Run> = {
      check: (act) => checkBeforeFiring(act, number, list()),
      start: (act) => startFiring(act, number, { note: 'x' }),
      reading: (act) => noteReading(act, number, { celsius: 100 }),
      'shut-off': (act) => shutOff(act, number, {}),
      open: (act) => openKiln(act, number, { celsius: 40, how: 'opened' }),
      unload: (act) => unloadKiln(act, number, unloadForm.parse({ celsius: 30 })),
      cones: (act) =>
        readCones(act, number, {
          levels: [{ part: 'full', level: 1, cones: [{ cone: '6', reading: '3' }] }],
        }),
      outcomes: (act) => correctOutcome(act, number, { piece: 1, outcome: 'good' }),
      cancel: (act) => cancel(act, number, { reason: 'x' }),
    };
    const allowed: [state: string, acts: string[], next: string | null][] = [
      ['loaded', ['check', 'start', 'cancel'], 'start'],
      ['firing', ['reading', 'shut-off'], 'shut-off'],
      ['cooling', ['reading', 'open', 'cones'], 'open'],
      ['cooling', ['reading', 'open', 'cones', 'unload'], 'unload'],
      ['unloaded', ['cones', 'outcomes'], null],
    ];
    for (const [state, open, next] of allowed) {
      expect((await row(number)).state).toBe(state);
      for (const name of Object.keys(acts).filter((one) => !open.includes(one)))
        await expect(s.as(wren, acts[name] as Run), `${name} while ${state}`).rejects.toMatchObject({
          status: 409,
        });
      if (next) await s.as(wren, acts[next] as Run);
    }
    for (const [verb, body] of [
      ['start', { note: 'x' }],
      ['reading', { celsius: 20 }],
      ['shut-off', {}],
      ['open', { celsius: 20, how: 'opened' }],
      ['unload', { celsius: 20 }],
    ] as const) {
      const answer = await s.api(wren, 'POST', `/loads/${number}/${verb}`, body);
      expect(answer.statusCode, verb).toBe(409);
      expect(answer.json().detail).toMatch(new RegExp(`^Load ${number} is unloaded: it cannot be`));
    }
    await nothingIsWrong(s);
  });

  it('a kiln holds one firing at a time, and none while it is out of service', async () => {
    const first = await aLoadedKiln(s);
    await started(s, first.number);
    await expect(aLoadedKiln(s, { kiln: first.kiln })).rejects.toThrow(
      `Load ${first.number} is still in ${first.kiln.name}: it is firing.`,
    );
    const other = await aLoadedKiln(s);
    await s.as(wren, (act) =>
      noteCare(act, other.kiln.code, { kind: 'out-of-service', note: 'The lid is cracked' }),
    );
    await expect(started(s, other.number)).rejects.toThrow('out of service: The lid is cracked');
  });

  it('two who start a load at once: one of them is refused', async () => {
    const { number } = await aLoadedKiln(s);
    const results = await Promise.allSettled([started(s, number), started(s, number)]);
    expect(results.filter(({ status }) => status === 'fulfilled')).toHaveLength(1);
  });

  it('a load that is not there is not found, whatever its number', async () => {
    for (const number of ['999999', '0', '-1', '1e3', '99999999999999999999', 'x'])
      for (const page of [
        'check',
        'start',
        'readings',
        'gas',
        'shut-off',
        'open',
        'unload',
        'log',
        'cones',
        'curve',
      ])
        expect((await s.visit(wren, `/kilns/loads/${number}/${page}`)).statusCode, `${number}/${page}`).toBe(
          404,
        );
  });
});

describe('while it fires', () => {
  it('readings are kept with their time, the newest one is the load’s, a wrong one is struck out', async () => {
    const { number } = await aLoadedKiln(s);
    await started(s, number);
    const lit = s.clock.now();
    s.clock.forward(2 * HOUR);
    await s.as(wren, (act) => noteReading(act, number, { celsius: 200 }));
    await s.as(wren, (act) => noteReading(act, number, { celsius: 100, happenedAt: lit + HOUR }));
    expect(await row(number)).toMatchObject({ measuredC: 200, measuredAt: s.clock.now() });
    const wrong = (await shown(number)).readings[0]?.number as number;
    await s.as(wren, (act) => strikeOutEvent(act, number, { event: wrong, reason: 'Read the set point' }));
    expect(await row(number)).toMatchObject({ measuredC: 100, measuredAt: lit + HOUR });
    const { readings } = await shown(number);
    expect(readings.map(({ c, isStruck }) => [c, isStruck])).toEqual([
      [200, true],
      [100, false],
    ]);
    await expect(
      s.as(wren, (act) => strikeOutEvent(act, number, { event: wrong, reason: 'again' })),
    ).rejects.toThrow('struck out already');
    await nothingIsWrong(s);
  });

  it('times lie neither in the future nor before the fire was lit', async () => {
    const { number } = await aLoadedKiln(s);
    await started(s, number);
    const read = (happenedAt: number) =>
      s.as(wren, (act) => noteReading(act, number, { celsius: 100, happenedAt }));
    await expect(read(s.clock.now() + 6 * MINUTE)).rejects.toThrow('This lies in the future.');
    await expect(read(s.clock.now() - HOUR)).rejects.toThrow('It was not started yet.');
    const page = await s.submit(wren, `/kilns/loads/${number}/readings`, {
      celsius: '100',
      happenedAt: '2099-01-01T00:00',
    });
    expect(page.statusCode).toBe(422);
    expect(page.body).toContain('This lies in the future.');
  });

  it('a reading is a number a kiln may have', async () => {
    const { number } = await aLoadedKiln(s, { howMany: 1 });
    await started(s, number);
    for (const celsius of ['', 'hot', '1501', '-31', 'NaN', 'Infinity', '1e309', '\0', '9'.repeat(400)]) {
      const answer = await s.submit(wren, `/kilns/loads/${number}/readings`, { celsius });
      expect(answer.statusCode, celsius).toBe(422);
    }
    expect((await row(number)).measuredC).toBeNull();
  });

  it('a start or a shut-off tapped by mistake is taken back while nothing was done on it', async () => {
    const { number } = await aLoadedKiln(s);
    await started(s, number);
    const undo = async () => {
      const { undo } = await shown(number);
      await s.as(wren, (act) =>
        strikeOutEvent(act, number, { event: undo?.event ?? 0, reason: 'By mistake.' }),
      );
    };
    await undo();
    expect(await row(number)).toMatchObject({ state: 'loaded', startedAt: null, startedBy: null });
    await started(s, number);
    await s.as(wren, (act) => shutOff(act, number, { celsius: 1220 }));
    await undo();
    expect(await row(number)).toMatchObject({ state: 'firing', shutOffAt: null, measuredC: null });
    await expect(undo()).resolves.toBeUndefined();
    await started(s, number);
    await s.as(wren, (act) => noteReading(act, number, { celsius: 100 }));
    await expect(undo()).rejects.toThrow('It was read since it was started');
    await s.as(wren, (act) => shutOff(act, number, {}));
    await s.as(wren, (act) => openKiln(act, number, { celsius: 80, how: 'opened' }));
    const off = (await pageOf(s, number)).events.findLast(({ kind }) => kind === 'shut-off')
      ?.number as number;
    await expect(
      s.as(wren, (act) => strikeOutEvent(act, number, { event: off, reason: 'x' })),
    ).rejects.toThrow('It was opened since');
    await undo();
    expect((await row(number)).openedAt).toBeNull();
    await nothingIsWrong(s);
  });

  it('a tap on "it was not started" undoes it from the page that says it was', async () => {
    const { number } = await aLoadedKiln(s);
    const answer = await s.submit(wren, `/kilns/loads/${number}/start`, { note: 'Quick' });
    const page = await s.visit(wren, String(answer.headers.location));
    expect(page.body).toContain('It was not started');
    const event = /name="event" value="(\d+)"/.exec(page.body)?.[1] ?? '';
    const back = await s.submit(wren, `/kilns/loads/${number}/strike-out`, {
      event,
      reason: 'By mistake.',
      back: '',
    });
    expect(back.statusCode).toBe(303);
    expect((await row(number)).state).toBe('loaded');
  });

  it('what nobody may strike out stays: another load’s entry, the plan, a tick, what is struck out', async () => {
    const { number } = await aLoadedKiln(s, { like: { firers: [finn] } });
    await started(s, number);
    await s.as(wren, (act) => noteReading(act, number, { celsius: 100 }));
    const { events } = await pageOf(s, number);
    const strike = (who: Person, event: number) =>
      s.as(who, (act) => strikeOutEvent(act, number, { event, reason: 'x' }));
    for (const kind of ['proposed', 'approved', 'level-loaded', 'loaded'])
      await expect(strike(wren, events.find((one) => one.kind === kind)?.number as number)).rejects.toThrow(
        'This cannot be struck out.',
      );
    await expect(strike(wren, 9999)).rejects.toMatchObject({ status: 404 });
    await expect(strike(finn, events.at(-1)?.number as number)).rejects.toThrow('Only whoever wrote it');
  });
});

describe('the hand log of a kiln with burners', () => {
  it('keeps a line every half hour, says when the next is due, and strikes out a wrong one', async () => {
    const { number } = await aLoadedKiln(s, { like: GAS });
    await started(s, number);
    const lit = s.clock.now();
    const line = (fields: object) =>
      s.as(wren, (act) => noteGasLine(act, number, gasForm.parse({ topC: 20, ...fields })));
    expect((await shown(number)).nextLineAt).toBe(lit + 30 * MINUTE);
    s.clock.forward(30 * MINUTE);
    await line({ topC: 150, bottomC: 120, pressure: 20, damper: 60, oxygen: 6 });
    s.clock.forward(30 * MINUTE);
    await line({ topC: 900, bottomC: 910, pressure: 1, pressureUnit: 'psi', reduction: 'begins' });
    s.clock.forward(30 * MINUTE);
    await line({ topC: 1200, reduction: 'ends', down: ['5', '6'] });
    const { lines, nextLineAt, reductions, load } = await shown(number);
    expect(lines.map(({ topC }) => topC)).toEqual([150, 900, 1200]);
    expect(lines[0]?.pressureKPa).toBeCloseTo(2, 9);
    expect(lines[1]?.pressureKPa).toBeCloseTo(6.894757, 6);
    expect(lines[2]).toMatchObject({ down: ['5', '6'], by: 'W' });
    expect(reductions).toEqual([{ from: lit + 60 * MINUTE, to: lit + 90 * MINUTE }]);
    expect(nextLineAt).toBe(lit + 120 * MINUTE);
    expect(load.measuredC).toBe(1200);
    await s.as(wren, (act) =>
      strikeOutEvent(act, number, { event: lines[2]?.number as number, reason: 'Wrong probe' }),
    );
    expect((await row(number)).measuredC).toBe(910);
    const page = await s.visit(wren, `/kilns/loads/${number}/gas`);
    expect(page.body).toContain('class="struck"');
    expect(page.body).toContain('1 psi');
    expect(page.body).toContain('Never unattended with burners lit');
    await nothingIsWrong(s);
  });

  it('is written from its form, cones as words', async () => {
    const { number } = await aLoadedKiln(s, { like: GAS });
    await started(s, number);
    const sent = await s.submit(wren, `/kilns/loads/${number}/gas`, {
      topC: '1000,5',
      bottomC: '',
      pressure: '12',
      pressureUnit: 'mbar',
      damper: '',
      oxygen: '',
      reduction: 'begins',
      down: '05, 04',
    });
    expect(sent.statusCode).toBe(303);
    expect((await shown(number)).lines[0]).toMatchObject({
      topC: 1000.5,
      down: ['05', '04'],
      reduction: 'begins',
    });
    for (const [wrong, words] of [
      [{ topC: '' }, 'Type a number.'],
      [{ oxygen: '26' }, 'Between 0 and 25.'],
      [{ damper: '101' }, 'Between 0 and 100.'],
      [{ down: 'hot' }, 'cone'],
      [{ pressure: '-1' }, 'Between 0 and'],
    ] as const) {
      const answer = await s.submit(wren, `/kilns/loads/${number}/gas`, {
        topC: '1000',
        pressureUnit: 'mbar',
        ...wrong,
      });
      expect(answer.statusCode, JSON.stringify(wrong)).toBe(422);
      expect(answer.body).toContain(words);
    }
  });

  it('is none of an electric kiln', async () => {
    const { number } = await aLoadedKiln(s);
    await started(s, number);
    await expect(s.as(wren, (act) => noteGasLine(act, number, gasForm.parse({ topC: 100 })))).rejects.toThrow(
      'has no burners',
    );
    expect((await s.visit(wren, `/kilns/loads/${number}/gas`)).headers.location).toContain('/readings');
  });
});

describe('opening', () => {
  const opening = async (like: object = {}) => {
    const load = await aLoadedKiln(s, { like: { firers: [finn], ...like } });
    await started(s, load.number);
    await s.as(wren, (act) => shutOff(act, load.number, {}));
    return load.number;
  };

  it('needs a typed reading: without one nothing is recorded, whatever the estimate says', async () => {
    const number = await opening();
    s.clock.forward(100 * HOUR);
    for (const celsius of ['', 'cold', ' '])
      expect(
        (await s.submit(wren, `/kilns/loads/${number}/open`, { celsius, how: 'opened' })).statusCode,
      ).toBe(422);
    expect((await row(number)).openedAt).toBeNull();
  });

  it('too hot asks, by who opens it and how far; with a yes it is recorded as it was: software stops nobody', async () => {
    const number = await opening();
    for (const [celsius, how, who, words] of [
      [130, 'cracked', wren, 'Keep it shut. Too hot above 120 °C.'],
      [120, 'cracked', wren, 'Keep it shut.'],
      [130, 'opened', wren, 'Keep it shut.'],
      [119, 'opened', wren, 'May be cracked by someone who fires this kiln.'],
      [119, 'cracked', maro, 'You are not named: ask'],
      [90, 'opened', finn, 'May be cracked'],
      [119, 'cracked', wren, null],
      [119, 'cracked', finn, null],
      [89, 'opened', finn, null],
      [89, 'opened', maro, null],
      [20, 'cracked', maro, null],
    ] as const) {
      const open = (more: object = {}) =>
        s.as(who, (act) => openKiln(act, number, { celsius, how, ...more }));
      const what = `${celsius} °C, ${how} by ${who.name}`;
      if (words === null) await open();
      else {
        await expect(open(), what).rejects.toThrow(words);
        expect((await row(number)).openedAt, what).toBeNull();
        await open({ confirm: true, note: 'Smoke' });
      }
      const { opened: all, undo } = await shown(number);
      expect(all, what).toMatchObject([{ celsius, how }]);
      expect(await row(number), what).toMatchObject({ state: 'cooling', measuredC: celsius });
      await s.as(wren, (act) => strikeOutEvent(act, number, { event: undo?.event ?? 0, reason: 'Next.' }));
    }
    await nothingIsWrong(s);
  });

  it('asks on the page, and takes a yes for the reading that was asked about alone', async () => {
    const number = await opening();
    const at = `/kilns/loads/${number}/open`;
    const asked = await s.submit(wren, at, { celsius: '160', how: 'opened' });
    expect(asked.statusCode).toBe(409);
    expect(asked.body).toContain('Keep it shut. Too hot above 120 °C.');
    const confirm = /name="confirm" value="([^"]+)"/.exec(asked.body)?.[1] ?? '';
    const other = await s.submit(wren, at, { celsius: '400', how: 'opened', confirm });
    expect(other.statusCode).toBe(409);
    expect(asked.body).toContain('<button class="plain" type="submit" name="confirm"');
    const silent = await s.submit(wren, at, { celsius: '160', how: 'opened', confirm });
    expect(silent.statusCode).toBe(422);
    expect(silent.body).toContain('Say why it was opened at 160 °C.');
    expect(silent.body).toContain('It was done all the same');
    const done = await s.submit(wren, at, { celsius: '160', how: 'opened', confirm, note: 'A lid fell' });
    expect(done.statusCode).toBe(303);
    expect((await shown(number)).opened).toMatchObject([{ celsius: 160, how: 'opened', allowed: 'shut' }]);
    expect((await s.visit(wren, at)).body).toContain('too hot by the studio’s settings');
  });

  it('over the API asks for confirm', async () => {
    const number = await opening();
    const asked = await s.api(wren, 'POST', `/loads/${number}/open`, { celsius: 160, how: 'opened' });
    expect(asked.statusCode).toBe(409);
    expect(asked.json().detail).toContain('"confirm": true');
    const done = await s.api(wren, 'POST', `/loads/${number}/open`, {
      celsius: 160,
      how: 'opened',
      confirm: true,
      note: 'The elements glowed on',
    });
    expect(done.json()).toMatchObject({ state: 'cooling', measuredC: 160 });
  });

  it('a reading from before it was shut off allows nothing: it was cold because nobody had lit it', async () => {
    const { number } = await aLoadedKiln(s);
    await started(s, number);
    await s.as(wren, (act) => noteReading(act, number, { celsius: 20 }));
    s.clock.forward(8 * HOUR);
    await s.as(wren, (act) => shutOff(act, number, {}));
    expect(await shown(number)).toMatchObject({ allows: null, forecasts: { open: null, hands: null } });
    s.clock.forward(MINUTE);
    await s.as(wren, (act) => noteReading(act, number, { celsius: 900 }));
    expect((await shown(number)).allows?.step).toBe('shut');
  });

  it('shows a range from the newest reading, as an estimate that unlocks nothing', async () => {
    const number = await opening();
    await s.as(wren, (act) => noteReading(act, number, { celsius: 300 }));
    const { forecasts, cooling } = await shown(number);
    expect(cooling.logs).toBe(0);
    expect(forecasts?.open?.from).toBeLessThan(forecasts?.open?.to ?? 0);
    expect((forecasts?.open?.from ?? 1) % (30 * MINUTE)).toBe(0);
    const { body } = await s.visit(ida, `/kilns/loads/${number}/open`);
    expect(body).toContain(
      'Estimate. Check the pyrometer. Shelves and pots in the middle are hotter than the probe.',
    );
    expect(body).toContain('It unlocks nothing.');
    expect(body).not.toContain('Write it down');
  });
});

describe('a kiln that was only cracked', () => {
  it('is not open: it keeps its forecast, and nobody is led to unload it', async () => {
    const { number } = await aLoadedKiln(s);
    await started(s, number);
    await s.as(wren, (act) => shutOff(act, number, {}));
    await s.as(wren, (act) => openKiln(act, number, { celsius: 110, how: 'cracked' }));
    expect(await row(number)).toMatchObject({ openedAt: null, letsHandsIn: false });
    const boardOf = async () => {
      const { kilns } = await showBoard(readAs(s, wren));
      return kilns.find(({ load }) => load?.number === number)?.load;
    };
    expect(await boardOf()).toMatchObject({ openedAt: null, opens: { due: false } });
    const firstAct = async () => {
      const { body } = await s.visit(wren, `/kilns/loads/${number}`);
      return /<a class="do" href="([^"]+)"/.exec(body)?.[1]?.split('/').at(-1);
    };
    expect(await firstAct()).toBe('readings');
    const page = await s.visit(wren, `/kilns/loads/${number}/open`);
    expect(page.body).not.toContain('Unload it');
    expect(page.body).not.toContain('Read the witness cones');
    await s.as(wren, (act) => openKiln(act, number, { celsius: 85, how: 'opened' }));
    expect(await row(number)).toMatchObject({ openedAt: s.clock.now(), letsHandsIn: false });
    expect(await firstAct()).toBe('readings');
    await s.as(wren, (act) => noteReading(act, number, { celsius: 49 }));
    expect(await firstAct()).toBe('unload');
    // It rose again, or the first was misread: only the newest counts.
    s.clock.forward(MINUTE);
    await s.as(wren, (act) => noteReading(act, number, { celsius: 60 }));
    expect(await firstAct()).toBe('readings');
    await nothingIsWrong(s);
  });

  it('how it was opened is a choice of whoever types it', async () => {
    const { number } = await aLoadedKiln(s);
    await started(s, number);
    await s.as(wren, (act) => shutOff(act, number, {}));
    const at = `/kilns/loads/${number}/open`;
    const { body } = await s.visit(wren, at);
    expect(body).not.toMatch(/name="how"[^>]* checked/);
    expect((await s.submit(wren, at, { celsius: '40' })).statusCode).toBe(422);
    expect((await row(number)).openedAt).toBeNull();
  });
});

describe('unloading', () => {
  it('takes everything out, good but what is named, and tells the owners', async () => {
    const { number, pieces, page } = await aLoadedKiln(s);
    const [first, second] = pieces as [number, number];
    await opened(s, number);
    await unload(number, {
      exceptions: [
        { piece: first, outcome: 'crawl', note: 'At the rim' },
        { piece: second, outcome: 'good', note: 'Very fine' },
      ],
    });
    const found = await findPieces(readAs(s, wren), pieces);
    expect(found.map(({ stage, load }) => [stage, load])).toEqual(pieces.map(() => ['fired', null]));
    const outcomes = await outcomesOf(readAs(s, wren), number);
    expect(outcomes.map(({ outcome }) => outcome)).toEqual(
      pieces.map((one) => (one === first ? 'crawl' : 'good')),
    );
    for (const one of outcomes)
      expect(page.pieces.find((piece) => piece.number === one.number)).toMatchObject({
        part: one.part,
        level: one.level,
      });
    const words = (await ownMessages(readAs(s, ida), 3)).map((message) => message.words);
    expect(words).toContain(`Piece ${first} came out of the kiln: glaze crawled. Have a look.`);
    expect(await row(number)).toMatchObject({ state: 'unloaded', unloadedAt: s.clock.now(), measuredC: 30 });
    await nothingIsWrong(s);
  });

  it('needs it opened first, and asks above what hands go in at', async () => {
    const { number } = await aLoadedKiln(s);
    await started(s, number);
    await s.as(wren, (act) => shutOff(act, number, {}));
    await expect(unload(number)).rejects.toThrow('It has not been opened yet');
    await s.as(wren, (act) => openKiln(act, number, { celsius: 100, how: 'cracked' }));
    await expect(unload(number)).rejects.toThrow('It has not been opened yet');
    await s.as(wren, (act) => openKiln(act, number, { celsius: 80, how: 'opened' }));
    await expect(unload(number, { celsius: 50 })).rejects.toThrow(
      'Do not reach in. At 50 °C: May be opened. Hands stay out above 50 °C.',
    );
    await expect(unload(number, { celsius: 300 })).rejects.toThrow('Shut it. Do not reach in. At 300 °C:');
    await expect(unload(number, { celsius: 50, confirm: true })).rejects.toThrow(
      'Say why it was emptied at 50 °C.',
    );
    await unload(number, { celsius: 50, confirm: true, note: 'With long gloves' });
    expect((await row(number)).state).toBe('unloaded');
  });

  it('refuses what is not in the load, what is named twice, and takes nothing out then', async () => {
    const { number, pieces } = await aLoadedKiln(s);
    const stranger = (await aLoadedKiln(s)).pieces[0] as number;
    await opened(s, number);
    const crack = (piece: number) => ({ piece, outcome: 'crack' });
    await expect(unload(number, { exceptions: [crack(stranger)] })).rejects.toThrow(`not in load ${number}`);
    await expect(
      unload(number, { exceptions: [crack(pieces[0] as number), crack(pieces[0] as number)] }),
    ).rejects.toThrow('Name each piece once.');
    expect((await row(number)).state).toBe('cooling');
    await nothingIsWrong(s);
  });

  it('two who unload at once: it happens once', async () => {
    const { number, pieces } = await aLoadedKiln(s);
    await opened(s, number);
    const results = await Promise.allSettled([
      unload(number),
      s.as(maro, (act) =>
        unloadKiln(
          act,
          number,
          unloadForm.parse({ celsius: 30, exceptions: [{ piece: pieces[0], outcome: 'crack' }] }),
        ),
      ),
    ]);
    expect(results.filter(({ status }) => status === 'fulfilled')).toHaveLength(1);
    expect(await outcomesOf(readAs(s, wren), number)).toHaveLength(pieces.length);
    await nothingIsWrong(s);
  });

  it('from its page: every piece has its own fields, what is wrong stands beside them', async () => {
    const { number, pieces } = await aLoadedKiln(s);
    const [first, second] = pieces as [number, number];
    await opened(s, number);
    const at = `/kilns/loads/${number}/unload`;
    const page = await s.visit(wren, at);
    for (const piece of pieces) expect(page.body).toContain(`name="outcome-${piece}"`);
    const wrong = await s.submit(wren, at, { celsius: '30', [`outcome-${first}`]: 'melted' });
    expect(wrong.statusCode).toBe(422);
    const hot = await s.submit(wren, at, {
      celsius: '70',
      [`outcome-${first}`]: 'run',
      [`note-${second}`]: 'A drip on the foot',
    });
    expect(hot.statusCode).toBe(409);
    expect(hot.body).toContain('A drip on the foot');
    const confirm = /name="confirm" value="([^"]+)"/.exec(hot.body)?.[1] ?? '';
    const done = await s.submit(wren, at, {
      celsius: '70',
      confirm,
      note: 'The class waits',
      [`outcome-${first}`]: 'run',
      [`note-${second}`]: 'A drip on the foot',
    });
    expect(done.headers.location).toBe(`/kilns/loads/${number}/outcomes?did=unloaded`);
    const shownThen = await s.visit(wren, String(done.headers.location));
    expect(shownThen.body).toContain('Glaze ran');
  });

  it('from its page: numbers that are not good come first, and nothing counts as good before it is said', async () => {
    const { number, pieces } = await aLoadedKiln(s);
    const [first, second] = pieces as [number, number];
    await opened(s, number);
    const at = `/kilns/loads/${number}/unload`;
    const fields = { celsius: '30', faults: `${second} ${first}`, [`note-${pieces[2]}`]: 'A small chip' };
    const shown = await s.submit(wren, at, { ...fields, show: 'yes' });
    expect(shown.statusCode).toBe(200);
    const rest = shown.body.indexOf(`The other ${pieces.length - 2} pieces`);
    expect(rest).toBeGreaterThan(0);
    for (const piece of pieces) {
      expect(shown.body.split(`name="outcome-${piece}"`)).toHaveLength(2);
      const isAbove = shown.body.indexOf(`name="outcome-${piece}"`) < rest;
      expect(isAbove, String(piece)).toBe(piece === first || piece === second);
    }
    for (const kept of ['value="30"', `value="${second} ${first}"`, 'A small chip'])
      expect(shown.body).toContain(kept);
    expect((await row(number)).state).toBe('cooling');
    const early = await s.submit(wren, at, { ...fields, [`outcome-${first}`]: 'run' });
    expect(early.statusCode).toBe(422);
    expect(early.body).toContain(`Say how ${second} came out.`);
    for (const [faults, words] of [
      ['the blue one', 'Type numbers, such as 44 51.'],
      ['999999', `Not in load ${number}: 999999.`],
    ] as const)
      for (const show of ['yes', undefined]) {
        const refused = await s.submit(wren, at, { ...fields, faults, ...(show && { show }) });
        expect(refused.statusCode).toBe(422);
        expect(refused.body).toContain(words);
      }
    const said = { [`outcome-${first}`]: 'run', [`outcome-${second}`]: 'crack' };
    expect((await s.submit(wren, at, { ...fields, ...said })).statusCode).toBe(303);
    const outcomes = new Map(
      (await outcomesOf(readAs(s, wren), number)).map((piece) => [piece.number, piece.outcome]),
    );
    expect([first, second, pieces[2] as number].map((piece) => outcomes.get(piece))).toEqual([
      'run',
      'crack',
      'good',
    ]);
  });

  it('a bisque goes on to be glazed, but what burst or is beyond use', async () => {
    const { number, pieces } = await aLoadedKiln(s, { kind: 'bisque', form: 'bowl', howMany: 4 });
    const [burst, beyond] = pieces as [number, number];
    await opened(s, number);
    await unload(number, {
      exceptions: [
        { piece: burst, outcome: 'burst' },
        { piece: beyond, outcome: 'crack', beyondUse: true },
      ],
    });
    const stages = (await findPieces(readAs(s, wren), pieces)).map(({ stage }) => stage);
    expect(stages).toEqual(pieces.map((one) => (one === burst || one === beyond ? 'fired' : 'bisqued')));
    await nothingIsWrong(s);
  });

  it('counts for the care of its kiln', async () => {
    const { number, kiln } = await aLoadedKiln(s);
    await s.as(wren, (act) =>
      noteCare(act, kiln.code, { kind: 'elements', happenedAt: s.clock.now() - HOUR }),
    );
    await emptied(s, number);
    expect((await findKiln(readAs(s, wren), kiln.code)).firingsSince.elements).toBe(1);
  });

  it('property: after it every piece is in exactly one place, and events say what rows say', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.array(fc.constantFrom(...OUTCOMES), { minLength: 1, maxLength: 7 }),
        fc.boolean(),
        async (wanted, isBisque) => {
          const { number, pieces } = await aLoadedKiln(s, {
            kind: isBisque ? 'bisque' : 'glaze',
            form: 'bowl',
            howMany: wanted.length,
            ...(!isBisque && { cone: '6' }),
          });
          await emptied(
            s,
            number,
            pieces.flatMap((piece, i) => (wanted[i] ? [{ piece, outcome: wanted[i] }] : [])),
          );
          const found = await findPieces(readAs(s, wren), pieces);
          expect(found.map(({ load }) => load)).toEqual(pieces.map(() => null));
          expect((await outcomesOf(readAs(s, wren), number)).map(({ outcome }) => outcome)).toEqual(
            pieces.map((_, i) => wanted[i] ?? 'good'),
          );
          expect(await examineLoads(readAs(s, wren))).toEqual({ loads: [], reservations: [] });
        },
      ),
      { numRuns: 3 },
    );
    await nothingIsWrong(s);
  });
});

describe('whatever is done in whatever order', () => {
  it('property: rows say what events say, and the shown reading is the newest that stands', async () => {
    const anAct = fc.record({
      what: fc.constantFrom('start', 'read', 'read', 'read', 'off', 'open', 'strike', 'unload'),
      celsius: fc.integer({ min: 20, max: 1300 }),
      back: fc.integer({ min: 0, max: 90 }),
      which: fc.nat(30),
    });
    await fc.assert(
      fc.asyncProperty(fc.array(anAct, { minLength: 6, maxLength: 14 }), async (acts) => {
        const { number, pieces } = await aLoadedKiln(s, { howMany: 1 });
        for (const { what, celsius, back, which } of acts) {
          s.clock.forward(HOUR);
          const happenedAt = s.clock.now() - back * MINUTE;
          const events = (await pageOf(s, number)).events;
          await s
            .as(wren, async (act) => {
              if (what === 'start') return startFiring(act, number, { note: 'x', confirm: true, happenedAt });
              if (what === 'read') return noteReading(act, number, { celsius, happenedAt });
              if (what === 'off') return shutOff(act, number, { celsius, happenedAt });
              if (what === 'open')
                return openKiln(act, number, {
                  celsius,
                  how: which % 2 ? 'opened' : 'cracked',
                  confirm: true,
                  note: 'x',
                });
              if (what === 'unload')
                return unloadKiln(act, number, unloadForm.parse({ celsius, confirm: true, note: 'x' }));
              const event = events.at(-1 - (which % 4))?.number ?? 1;
              return strikeOutEvent(act, number, { event, reason: 'x' });
            })
            .catch((error) => {
              // What is refused is refused in words; anything else is a fault of ours.
              if (!(error instanceof Refusal)) throw error;
            });
        }
        const page = await pageOf(s, number);
        const newest = newestReading(page.events);
        expect(page.load.measuredC).toBe(newest?.c ?? null);
        expect(page.load.measuredAt).toBe(newest?.at ?? null);
        const [piece] = await findPieces(readAs(s, wren), pieces);
        expect(piece?.load).toBe(page.load.state === 'unloaded' ? null : number);
        expect(await examineLoads(readAs(s, wren))).toEqual({ loads: [], reservations: [] });
      }),
      { numRuns: 4 },
    );
  });

  it('no form of a firing brings anything down, whatever it is filled with', async () => {
    const { number, pieces } = await aLoadedKiln(s, { howMany: 1, like: GAS });
    const names = [
      'celsius',
      'topC',
      'how',
      'confirm',
      'happenedAt',
      'note',
      'event',
      'reason',
      'back',
      'onCall',
      'latestShutOff',
      'watcher1',
      'from1',
      'to1',
      'turns',
      'down',
      'pressure',
      'reduction',
      'cone-1-1',
      'reading-1-1',
      `outcome-${pieces[0]}`,
      `note-${pieces[0]}`,
      'outcome',
      'file',
      'text',
      'time',
      'skip',
      'startsAt',
      'do',
    ];
    const awkward = ['\0', '\ud800', ' ', '1e309', '9'.repeat(400), '2026-03-29T01:30', '<b>'];
    const pages = [
      'check',
      'start',
      'readings',
      'gas',
      'shut-off',
      'open',
      'strike-out',
      'cones',
      'unload',
      'log',
      'log/import',
      `outcomes/${pieces[0]}`,
    ];
    for (const state of ['loaded', 'firing', 'cooling']) {
      if (state === 'firing') await started(s, number);
      // A blank in every field is a shut-off as good as any.
      if (state === 'cooling' && (await row(number)).state === 'firing')
        await s.as(wren, (act) => shutOff(act, number, {}));
      for (const page of pages)
        for (const value of awkward) {
          const fields = Object.fromEntries(names.map((name) => [name, value]));
          const answer = await s.submit(wren, `/kilns/loads/${number}/${page}`, fields);
          expect(answer.statusCode, `${page} with ${JSON.stringify(value)}`).toBeLessThan(500);
          expect(answer.body, page).not.toContain('"<b>"');
        }
    }
  });
});
