import { beforeAll, describe, expect, it } from 'vitest';
import { DAY } from '../../server/core/clock.ts';
import { Conflict, Forbidden, Invalid } from '../../server/core/errors.ts';
import { toWallTime } from '../../server/core/wall-time.ts';
import { openKiln, shutOff } from '../../server/kilns/service/index.ts';
import { changeActivity } from '../../server/members/service/people.ts';
import { inductions } from '../../server/safety/schema.ts';
import { findBriefing, holdBriefing, listBriefings } from '../../server/safety/service/briefings.ts';
import {
  countStopped,
  giveInductions,
  inductionsDue,
  listInductions,
  mustBeInducted,
  ownInductions,
  strikeOutInduction,
} from '../../server/safety/service/inductions.ts';
import { noticeBody, postNotice } from '../../server/safety/service/notices.ts';
import { safetySettings, saveSafetySettings } from '../../server/safety/service/settings.ts';
import { USUAL_SAFETY, VERBS, type Verb } from '../../server/safety/settings.ts';
import { aLoadedKiln, started } from '../helpers/firing.ts';
import { aKiln } from '../helpers/kilns.ts';
import { readAs } from '../helpers/loads.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
let member: Person;
let technician: Person;
let manager: Person;

beforeAll(async () => {
  s = await aStudio();
  ({ member, technician, manager } = s.people);
});

const day = (daysAgo = 0): string => toWallTime(s.clock.now() - daysAgo * DAY, 'Europe/London').slice(0, 10);

const gate = (...gated: Verb[]) =>
  s.as(manager, (act) => saveSafetySettings(act, { ...USUAL_SAFETY, gated }));

const shown = (who: Person, verbs: Verb[], daysAgo = 0) =>
  s.as(technician, (act) => giveInductions(act, { people: [who.email], verbs, givenOn: day(daysAgo) }));

const tries = (who: Person, verb: Verb) => s.as(who, (act) => mustBeInducted(act, verb));

const newest = async (who: Person): Promise<number> => {
  const { inductions: written } = await listInductions(readAs(s, who));
  return written[0]?.id ?? 0;
};

describe('the gate', () => {
  it('stops nobody while nothing is asked for', async () => {
    expect((await safetySettings(readAs(s, member))).gated).toEqual([]);
    for (const verb of VERBS) for (const who of [member, technician, manager]) await tries(who, verb);
  });

  it.each(VERBS.filter((verb) => verb !== 'common'))('of %s', async (verb) => {
    await gate(verb);
    const other = VERBS.find((one) => one !== verb && one !== 'common') as Verb;
    for (const role of ['member', 'technician', 'manager'] as const) {
      const who = await s.aPerson(role);
      await expect(tries(who, verb)).rejects.toThrow(Forbidden);
      await shown(who, ['common', other]);
      await expect(tries(who, verb)).rejects.toThrow(/have not been shown how to/);
      await shown(who, [verb], 400);
      await expect(tries(who, verb)).rejects.toThrow(Forbidden);
      await shown(who, [verb], 30);
      await tries(who, verb);
      await tries(who, other);
      await s.as(technician, async (act) => {
        const { inductions: written } = await listInductions(
          readAs(s, who.role === 'member' ? who : technician),
        );
        const last = written.find((one) => one.person === who.name && one.verb === verb);
        await strikeOutInduction(act, last?.id ?? 0, { reason: 'Somebody else of that name' });
      });
      await expect(tries(who, verb)).rejects.toThrow(Forbidden);
    }
  });

  it('asks for the common rules beneath, where they are ticked', async () => {
    await gate('common', 'dip');
    const who = await s.aPerson('member');
    await shown(who, ['dip']);
    await expect(tries(who, 'dip')).rejects.toThrow(/not been shown the common rules here/);
    await tries(who, 'spray');
    await shown(who, ['common'], 366);
    await expect(tries(who, 'dip')).rejects.toThrow(Forbidden);
    await shown(who, ['common'], 2);
    await tries(who, 'dip');
  });

  it('holds to the last day, in studio time', async () => {
    await gate('dip');
    const who = await s.aPerson('member');
    const today = day();
    const yearAgo = `${Number(today.slice(0, 4)) - 1}${today.slice(4)}`.replace(/02-29$/, '02-28');
    await s.as(technician, (act) =>
      giveInductions(act, { people: [who.email], verbs: ['dip'], givenOn: yearAgo }),
    );
    await tries(who, 'dip');
    s.clock.forward(DAY);
    await expect(tries(who, 'dip')).rejects.toThrow(Forbidden);
  });

  it('is not opened by a row of somebody else', async () => {
    await gate('dip');
    const [one, other] = [await s.aPerson('member'), await s.aPerson('member')];
    await shown(one, ['dip']);
    await tries(one, 'dip');
    await expect(tries(other, 'dip')).rejects.toThrow(Forbidden);
  });

  it('stands before what is recorded at a bucket, and says where to look instead', async () => {
    await gate();
    const code = await s.aBucket({ sg: 1.5 });
    const acts = [
      [member, 'dippings', { pieces: 2 }, 'dip'],
      [member, 'top-ups', { kind: 'water', litres: 0.5 }, 'add-water'],
      [technician, 'top-ups', { kind: 'dry', kilograms: 0.2 }, 'mix-dry'],
    ] as const;
    for (const [who, path, body, verb] of acts) {
      await gate(verb);
      const send = () => s.api(who, 'POST', `/buckets/${code}/${path}`, body);
      const refused = await send();
      expect(refused.statusCode, verb).toBe(403);
      expect(refused.json().detail).toContain('the tag on the bucket says what to mind');
      await shown(who, [verb]);
      expect((await send()).statusCode, verb).toBe(201);
    }
    await gate('dip');
    const stranger = await s.aPerson('member');
    const before = (await s.api(stranger, 'GET', `/buckets/${code}`)).json();
    const page = await s.submit(stranger, `/buckets/${code}/dip`, { pieces: '1' });
    expect(page.statusCode).toBe(403);
    expect(page.body).toContain('You have not been shown how to dip here');
    expect((await s.api(stranger, 'GET', `/buckets/${code}`)).json()).toEqual(before);
    const reading = { method: 'weighed', grams: 150, millilitres: 100, confirm: true };
    expect((await s.api(stranger, 'POST', `/buckets/${code}/readings`, reading)).statusCode).toBe(201);
  });

  it('stands before a kiln’s own acts', async () => {
    await gate();
    const electric = await aLoadedKiln(s);
    const gas = await aLoadedKiln(s, {
      kiln: await aKiln(s, { power: 'gas', emergency: 'The yellow valve', halfShelves: 0 }),
      cone: '5',
    });
    await gate('load', 'fire-electric', 'fire-gas', 'open-kiln');
    await expect(started(s, electric.number)).rejects.toThrow(/how to fire an electric kiln/);
    await expect(started(s, gas.number)).rejects.toThrow(/how to fire a gas kiln/);
    await shown(technician, ['fire-electric']);
    await started(s, electric.number);
    await expect(started(s, gas.number)).rejects.toThrow(/how to fire a gas kiln/);
    await s.as(technician, (act) => shutOff(act, electric.number, {}));
    const open = () =>
      s.as(technician, (act) => openKiln(act, electric.number, { celsius: 40, how: 'opened' }));
    await expect(open()).rejects.toThrow(/how to open a kiln/);
    await shown(technician, ['open-kiln']);
    await open();
    await expect(aLoadedKiln(s, { cone: '4' })).rejects.toThrow(/how to load a kiln/);
    await shown(technician, ['load']);
    await aLoadedKiln(s, { cone: '3' });
    await gate();
  });
});

describe('what was written down', () => {
  it('is given by technicians and managers, who need none of their own', async () => {
    await gate('dip');
    const wren = await s.aPerson('technician');
    const ida = await s.aPerson('member');
    const command = { people: [ida.email], verbs: ['dip' as const], givenOn: day() };
    await expect(s.as(ida, (act) => giveInductions(act, command))).rejects.toThrow(Forbidden);
    await s.as(wren, (act) => giveInductions(act, command));
    await tries(ida, 'dip');
  });

  it('is refused for a day to come, somebody unknown and somebody who has left', async () => {
    const gone = await s.aPerson('member');
    await s.as(manager, (act) => changeActivity(act, { email: gone.email, active: false }));
    const give = (command: Partial<Parameters<typeof giveInductions>[1]>) =>
      s.as(technician, (act) =>
        giveInductions(act, { people: [member.email], verbs: ['dip'], givenOn: day(), ...command }),
      );
    await expect(give({ givenOn: day(-2) })).rejects.toThrow(/still to come/);
    await expect(give({ people: ['nobody@millrace.example'] })).rejects.toThrow(Invalid);
    await expect(give({ people: [gone.email] })).rejects.toThrow(Invalid);
  });

  it('is struck out once, with a reason that stays, by technicians', async () => {
    await shown(member, ['spray']);
    const id = await newest(technician);
    const strike = (who: Person) =>
      s.as(who, (act) => strikeOutInduction(act, id, { reason: 'Wrong <b>person</b>' }));
    await expect(strike(member)).rejects.toThrow(Forbidden);
    await strike(technician);
    await expect(strike(manager)).rejects.toThrow(Conflict);
    const page = await s.visit(technician, '/safety/inductions');
    expect(page.body).toContain('Struck out by Wren: Wrong &lt;b>person&lt;/b>');
    expect(page.body).not.toContain('<b>person');
    expect((await s.visit(technician, '/safety/inductions/999999/void')).statusCode).toBe(404);
  });

  it('the database itself keeps the rows', async () => {
    await shown(member, ['dip']);
    await expect(s.database.db.delete(inductions)).rejects.toThrow();
    await expect(s.database.db.update(inductions).set({ givenOn: day() })).rejects.toThrow();
  });

  it('is one’s own to see, and everybody’s for technicians', async () => {
    const other = await s.aPerson('member', 'Unseen');
    await shown(other, ['dip']);
    const mine = await s.api(member, 'GET', '/inductions');
    expect(mine.statusCode).toBe(200);
    expect(mine.json().inductions.map((one: { person: string }) => one.person)).not.toContain('Unseen');
    const all = await s.api(technician, 'GET', '/inductions');
    expect(all.json().inductions[0]).toMatchObject({ person: 'Unseen', verb: 'dip', by: 'Wren' });
    expect((await s.visit(member, '/safety/inductions')).statusCode).toBe(403);
    const own = await ownInductions(readAs(s, other));
    expect(own.verbs.find(({ verb }) => verb === 'dip')).toMatchObject({ standing: 'held', by: 'Wren' });
  });

  it('is due when it has run out or soon will, for who does it and is here', async () => {
    const t = await aStudio();
    const give = (daysAgo: number, verbs: Verb[], who = t.people.member) =>
      t.as(t.people.technician, (act) =>
        giveInductions(act, {
          people: [who.email],
          verbs,
          givenOn: toWallTime(t.clock.now() - daysAgo * DAY, 'Europe/London').slice(0, 10),
        }),
      );
    const due = () => inductionsDue(readAs(t, t.people.technician));
    expect((await due()).map(({ title }) => title)).toEqual(['Nothing here asks for an induction yet']);
    await t.as(t.people.manager, (act) => saveSafetySettings(act, { ...USUAL_SAFETY, gated: ['dip'] }));
    expect(await due()).toEqual([]);
    await give(350, ['dip']);
    await give(400, ['spray']);
    await give(400, ['load']); // members load nothing
    expect((await due()).map(({ title, what }) => [title, what])).toEqual([
      ['Inductions have run out', '1 person: Ida (spray).'],
      ['Inductions run out within 30 days', '1 person: Ida (dip).'],
    ]);
    await give(1, ['spray', 'dip']);
    expect(await due()).toEqual([]);
    await give(400, ['dip'], t.people.manager);
    expect(await due()).toHaveLength(1);
    await t.as(t.people.manager, async (act) => {
      const other = await t.aPerson('manager');
      await changeActivity({ ...act, actor: other.caller }, { email: t.people.manager.email, active: false });
    });
    expect(await due()).toEqual([]);
  });
});

describe('on the pages', () => {
  it('several people are shown several things at once, and a double tap does it once', async () => {
    const [one, other] = [await s.aPerson('member', 'Asa'), await s.aPerson('member', 'Birk')];
    const fields = {
      key: 'twice-tapped-key',
      people: [one.email, other.email],
      verbs: ['common', 'dip'],
      givenOn: day(3),
    };
    const before = await newest(technician);
    for (const _ of [1, 2]) {
      const answer = await s.submit(technician, '/safety/inductions/new', fields);
      expect([answer.statusCode, answer.headers.location]).toEqual([303, '/safety/inductions?done=noted']);
    }
    const { inductions: written } = await listInductions(readAs(s, technician));
    expect(written.filter(({ id }) => id > before)).toHaveLength(4);
    const page = await s.visit(technician, '/safety/inductions?done=noted');
    expect(page.body).toContain('Asa');
    expect(page.body).toContain('Noted. It counts from now on.');
  });

  it('a form without ticks comes back with what was typed', async () => {
    const answer = await s.submit(technician, '/safety/inductions/new', {
      givenOn: '2026-02-30',
      verbs: 'dip',
    });
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain('Tick at least one person.');
    expect(answer.body).toMatch(/value="dip"[^>]*checked/);
    const wrong = await s.submit(technician, '/safety/inductions/new', {
      people: member.email,
      verbs: 'juggle',
      givenOn: day(),
    });
    expect(wrong.statusCode).toBe(422);
  });

  it('the settings say whom each would stop, and nobody is stopped at first', async () => {
    await gate();
    const page = await s.visit(manager, '/safety/settings');
    expect(page.body).toContain('Nobody is stopped yet');
    expect(page.body).toMatch(/Would stop \d+ of \d+ today/);
    expect(page.body).toMatch(/Spray<small>[^<]*Nobody is stopped/);
    const counts = await countStopped(readAs(s, manager));
    const fresh = await s.aPerson('member');
    const dip = (list: typeof counts) => list.find(({ verb }) => verb === 'dip')?.stopped ?? 0;
    expect(dip(await countStopped(readAs(s, manager)))).toBe(dip(counts) + 1);
    await shown(fresh, ['dip']);
    expect(dip(await countStopped(readAs(s, manager)))).toBe(dip(counts));
    const fields = {
      rules: 'un',
      leachRules: 'us-fda',
      gated: ['spray', 'dip', 'dip'],
      inductionMonths: '6',
      childAge: '14',
      sheetYears: '5',
    };
    expect((await s.submit(technician, '/safety/settings', fields)).statusCode).toBe(403);
    expect((await s.submit(manager, '/safety/settings', fields)).statusCode).toBe(303);
    expect(await safetySettings(readAs(s, member))).toEqual({
      rules: 'un',
      leachRules: 'us-fda',
      gated: ['dip', 'spray'],
      inductionMonths: 6,
      childAge: 14,
      sheetYears: 5,
    });
    const alone = await s.submit(manager, '/safety/settings', { ...fields, gated: 'common' });
    expect(alone.statusCode).toBe(422);
    expect(
      (await s.submit(manager, '/safety/settings', { ...fields, inductionMonths: '0' })).statusCode,
    ).toBe(422);
    const { gated: _, ...none } = fields;
    expect((await s.submit(manager, '/safety/settings', none)).statusCode).toBe(303);
    expect((await safetySettings(readAs(s, member))).gated).toEqual([]);
  });

  it('everybody reads the common rules, their own inductions and what decides', async () => {
    for (const path of [
      '/safety/rules',
      '/safety/inductions/own',
      '/safety/briefings',
      '/safety/briefings/new',
    ]) {
      const page = await s.visit(member, path);
      expect(page.statusCode, path).toBe(200);
      expect(page.body, path).toContain('local codes');
      expect(page.body, path).not.toContain('style=');
    }
    expect((await s.visit(member, '/safety/rules')).body).toContain('37 kg');
    for (const path of ['/safety/inductions?verb=dip&before=1', '/safety/inductions/new?person=x&verb=dip'])
      expect((await s.visit(technician, path)).statusCode, path).toBe(200);
  });
});

describe('a class', () => {
  const fields = () => ({
    className: 'Tuesday beginners',
    heads: '12',
    heldOn: day(),
    roster: 'Cleo\r\n Doro \n\nEmil',
  });

  it('is one record, whose names only its teacher and the technicians see', async () => {
    const code = await s.aBucket();
    const teacher = await s.aPerson('member', 'Teacher');
    const answer = await s.submit(teacher, '/safety/briefings/new', { ...fields(), buckets: [code] });
    expect(answer.statusCode).toBe(303);
    const place = String(answer.headers.location).split('?')[0] as string;
    for (const who of [teacher, technician, manager]) {
      const page = await s.visit(who, place);
      expect(page.body).toContain('Doro');
      expect(page.body).toContain('3 names for 12 heads');
      expect(page.body).toContain(`/buckets/${code}`);
    }
    const stranger = await s.visit(member, place);
    expect(stranger.statusCode).toBe(200);
    expect(stranger.body).not.toContain('Doro');
    expect(stranger.body).toContain('Tuesday beginners');
    expect((await s.visit(member, '/safety/briefings')).body).not.toContain('Doro');
    expect((await s.visit(member, '/safety/briefings/99999')).statusCode).toBe(404);
  });

  it.each([
    [{ heads: '2' }, '3 names for 2 heads.'],
    [{ heads: '0' }, 'A whole number from 1 to 100.'],
    [{ heads: '1.5' }, 'A whole number from 1 to 100.'],
    [{ heldOn: '2090-01-01' }, 'still to come'],
    [{ heldOn: 'yesterday' }, 'A date such as'],
    [{ buckets: 'NOPE' }, 'Not on the wall: NOPE.'],
    [{ roster: ' \n ' }, 'Write something here.'],
    [{ roster: 'x'.repeat(81) }, 'at most 80 characters each'],
    [{ className: '' }, 'Write something here.'],
  ])('with %o comes back', async (wrong, words) => {
    const answer = await s.submit(member, '/safety/briefings/new', { ...fields(), ...wrong });
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain(words);
  });

  it('with children is warned of a bucket that is not for them, and refused by nobody', async () => {
    const [kept, other] = [await s.aBucket({ name: 'Kept glaze' }), await s.aBucket()];
    await s.as(technician, (act) =>
      postNotice(
        act,
        noticeBody.parse({
          scope: 'bucket',
          bucket: kept,
          title: 'Gloves here',
          dipping: 'Gloves for dipping.',
          notForChildren: true,
        }),
      ),
    );
    const form = await s.visit(member, '/safety/briefings/new');
    expect(form.body).toContain(`Kept glaze (${kept}): nobody under`);
    const children = { ...fields(), hasChildren: 'yes', buckets: [kept, other] };
    const answer = await s.submit(member, '/safety/briefings/new', children);
    expect(answer.statusCode).toBe(303);
    const page = await s.visit(member, String(answer.headers.location));
    expect(page.body).toContain(`a notice keeps children from ${kept}.`);
    const grown = await s.submit(member, '/safety/briefings/new', { ...fields(), buckets: kept });
    expect((await s.visit(member, String(grown.headers.location))).body).not.toContain('keeps children');
    const body = { className: 'Youth', heads: 3, heldOn: day(), roster: ['Gero'], buckets: [kept, other] };
    const over = await s.api(member, 'POST', '/briefings', { ...body, hasChildren: true });
    expect(over.json()).toMatchObject({ notForChildren: [kept] });
  });

  it('is numbered without a gap, whoever briefs at the same time', async () => {
    const hold = () =>
      s.as(member, (act) =>
        holdBriefing(act, {
          className: 'Evening',
          heads: 1,
          hasChildren: false,
          heldOn: day(),
          buckets: [],
          roster: ['Falk'],
        }),
      );
    const { briefings } = await listBriefings(readAs(s, member));
    const last = briefings[0]?.number ?? 0;
    const numbers = (await Promise.all([hold(), hold(), hold()])).map(({ number }) => number);
    expect(numbers.sort((a, b) => a - b)).toEqual([last + 1, last + 2, last + 3]);
    expect((await findBriefing(readAs(s, technician), last + 1)).roster).toEqual(['Falk']);
  });

  const held = async (who: Person): Promise<number> => {
    const body = { className: 'Slip <b>class</b>', heads: 1, heldOn: day(), roster: ['Hanno'] };
    return (await s.api(who, 'POST', '/briefings', body)).json().number;
  };

  it('is struck out once by whoever held it within a day, and stays with who and why', async () => {
    const code = await s.aBucket();
    const teacher = await s.aPerson('member', 'Juno');
    const held = await s.submit(teacher, '/safety/briefings/new', { ...fields(), buckets: code });
    const place = String(held.headers.location).split('?')[0] as string;
    expect((await s.visit(teacher, place)).body).toContain(`${place}/strike-out`);
    expect((await s.visit(member, place)).body).not.toContain('strike-out');
    expect((await s.visit(member, `${place}/strike-out`)).statusCode).toBe(403);
    const strike = (who: Person, reason: string) => s.submit(who, `${place}/strike-out`, { reason });
    expect((await strike(member, 'Not mine')).statusCode).toBe(403);
    expect((await strike(teacher, ' ')).statusCode).toBe(422);
    expect((await s.visit(teacher, place)).body).toContain('What to do now');
    expect((await strike(teacher, 'Wrong <b>day</b>')).headers.location).toBe(`${place}?done=struck-out`);
    for (const who of [teacher, technician]) expect((await strike(who, 'Again')).statusCode).toBe(409);
    const page = (await s.visit(member, place)).body;
    expect(page).toContain('Wrong &lt;b>day&lt;/b>');
    expect(page).not.toContain('What to do now');
    expect(page).not.toContain(`/buckets/${code}`);
    const list = (await s.visit(member, '/safety/briefings')).body;
    expect(list).toContain('Struck out by Juno: Wrong &lt;b>day');
    expect(list).toMatch(/<tr class="struck"/);
    expect((await s.visit(technician, '/safety/briefings/99999/strike-out')).statusCode).toBe(404);
  });

  it('is struck out by technicians at any time, by its teacher for a day, over the API too', async () => {
    const number = await held(member);
    const strike = (who: Person, body: object = { reason: 'Nobody came' }) =>
      s.api(who, 'POST', `/briefings/${number}/strike-out`, body);
    s.clock.forward(DAY + 1);
    expect((await strike(member)).statusCode).toBe(403);
    expect((await strike(technician, {})).statusCode).toBe(422);
    const answers = await Promise.all([strike(technician), strike(manager), strike(technician)]);
    expect(answers.map(({ statusCode }) => statusCode).sort()).toEqual([200, 409, 409]);
    const { struckBy, reason } = await findBriefing(readAs(s, member), number);
    expect([struckBy === 'Wren' || struckBy === 'Maro', reason]).toEqual([true, 'Nobody came']);
    expect((await s.api(technician, 'POST', '/briefings/99999/strike-out', { reason: 'x' })).statusCode).toBe(
      404,
    );
    const last = await held(member);
    s.clock.forward(DAY);
    expect((await s.api(member, 'POST', `/briefings/${last}/strike-out`, { reason: 'x' })).statusCode).toBe(
      200,
    );
  });

  it('over the API answers its number, and refuses what is no list of names', async () => {
    const body = { className: 'Youth', heads: 3, hasChildren: true, heldOn: day(), roster: ['Gero'] };
    const answer = await s.api(member, 'POST', '/briefings', body);
    expect(answer.statusCode).toBe(201);
    expect(answer.json()).toMatchObject({ notForChildren: [] });
    for (const wrong of [{ roster: [] }, { roster: 'Gero' }, { roster: [''] }, { heads: -1 }, { extra: 1 }])
      expect((await s.api(member, 'POST', '/briefings', { ...body, ...wrong })).statusCode).toBe(422);
    const given = { people: [member.email], verbs: ['dip'], givenOn: day() };
    expect((await s.api(member, 'POST', '/inductions', given)).statusCode).toBe(403);
    expect((await s.api(technician, 'POST', '/inductions', given)).statusCode).toBe(201);
    expect((await s.api(technician, 'POST', '/inductions', { ...given, verbs: [] })).statusCode).toBe(422);
  });
});
