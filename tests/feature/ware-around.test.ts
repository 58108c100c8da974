import { beforeAll, describe, expect, it } from 'vitest';
import { lastRecord } from '../../server/core/audit.ts';
import { ownMessages } from '../../server/core/messages.ts';
import { wareSettings as savedSettings } from '../../server/ware/schema.ts';
import { addClay, changeClay, findClay, listClays, retireClay } from '../../server/ware/service/clays.ts';
import { findGroup, groupReaders, listGroups } from '../../server/ware/service/groups.ts';
import { listOwnMarks } from '../../server/ware/service/marks.ts';
import { wareSettings } from '../../server/ware/service/settings.ts';
import {
  ensureOrdinaryConflicts,
  knownTags,
  listConflicts,
  listTraits,
} from '../../server/ware/service/traits.ts';
import { WARE_DEFAULTS } from '../../server/ware/settings.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';
import { aPhoto, upload } from '../helpers/upload.ts';

let s: Studio;
let member: Person;
let technician: Person;
beforeAll(async () => {
  s = await aStudio();
  ({ member, technician } = s.people);
});

const read = (person: Person) => ({ tx: s.database.db, actor: person.caller, now: s.clock.now() });
const BUFF = {
  name: 'Buff stoneware',
  maxCone: '6',
  bisqueCone: '06',
  dryShrinkPercent: '6',
  firedShrinkPercent: '12,5',
};
let serial = 0;
const aClay = (more: object = {}) =>
  s.as(technician, (act) =>
    addClay(act, {
      name: `Clay ${++serial}`,
      maxCone: '6',
      bisqueCone: '06',
      dryShrinkPercent: 6,
      firedShrinkPercent: 12,
      ...more,
    }),
  );
const location = (answer: { headers: Record<string, unknown> }) => String(answer.headers.location);

describe('clays', () => {
  it('are added by a technician and seen by everybody', async () => {
    const made = await s.submit(technician, '/clays/new', BUFF);
    expect(made.statusCode).toBe(303);
    const { body } = await s.visit(member, '/clays');
    expect(body).toContain('Buff stoneware');
    expect(body).toContain('12.5 %');
    expect(body).not.toContain('/clays/new');
    expect((await s.visit(technician, location(made))).body).toContain('Buff stoneware is saved.');
  });

  it('are not for members to edit, whichever door they try', async () => {
    const id = await aClay();
    for (const path of ['/clays/new', `/clays/${id}`, `/clays/${id}/retire`, `/clays/${id}/revive`]) {
      expect((await s.submit(member, path, BUFF)).statusCode, path).toBe(403);
      expect((await s.visit(member, path)).statusCode, path).toBe(403);
    }
    await expect(s.as(member, (act) => retireClay(act, id))).rejects.toThrow('This needs a technician.');
    await expect(
      s.as(member, (act) =>
        changeClay(act, id, {
          name: 'x',
          maxCone: '10',
          bisqueCone: '06',
          dryShrinkPercent: 1,
          firedShrinkPercent: 1,
        }),
      ),
    ).rejects.toThrow('This needs a technician.');
  });

  it.each([
    [
      'a name that is taken, whatever its case',
      { name: 'BUFF STONEWARE' },
      409,
      'Another clay has this name',
    ],
    ['no cone', { maxCone: '15' }, 422, 'A pyrometric cone'],
    ['a bisque hotter than it stands', { maxCone: '06', bisqueCone: '04' }, 422, 'Hotter than cone 06'],
    ['less shrinkage fired than dry', { firedShrinkPercent: '5' }, 422, 'Fired ware has shrunk more'],
    ['shrinkage that cannot be', { dryShrinkPercent: '-1' }, 422, 'Between 0 and 20.'],
    ['shrinkage in words', { dryShrinkPercent: 'six' }, 422, 'Type a number.'],
    ['infinite shrinkage', { dryShrinkPercent: 'Infinity' }, 422, 'Type a number.'],
    ['no name', { name: '   ' }, 422, 'Write something here.'],
    ['a NUL in its name', { name: 'a\0b' }, 422, 'cannot be stored'],
    ['a very long name', { name: 'n'.repeat(61) }, 422, 'At most 60 characters.'],
  ])('are refused with %s, the form filled in', async (_, wrong, status, words) => {
    const answer = await s.submit(technician, '/clays/new', { ...BUFF, name: `Clay ${++serial}`, ...wrong });
    expect(answer.statusCode).toBe(status);
    expect(answer.body).toContain(words);
    expect(answer.body).toContain(
      'value="12,5"'.replace('12,5', 'firedShrinkPercent' in wrong ? '5' : '12,5'),
    );
  });

  it('write a cone one way only, so that two writings are not two firings', async () => {
    await s.submit(technician, '/clays/new', { ...BUFF, name: 'Red', maxCone: '02', bisqueCone: '004' });
    const red = (await listClays(read(member))).find(({ name }) => name === 'Red');
    expect(red?.bisqueCone).toBe('04');
  });

  it('change with a trace of what was before', async () => {
    const id = await aClay({ name: 'Speckled' });
    const changed = await s.submit(technician, `/clays/${id}`, { ...BUFF, name: 'Speckled', maxCone: '5' });
    expect(changed.statusCode).toBe(303);
    expect((await findClay(read(member), id)).maxCone).toBe('5');
    expect((await lastRecord(s.database.db, 'clay.change', `clay:${id}`))?.details.maxCone).toBe('6 → 5');
  });

  it('are retired and brought back; retired ones are not offered but still found', async () => {
    const id = await aClay({ name: 'Old grog' });
    await s.submit(technician, `/clays/${id}/retire`, {});
    expect((await listClays(read(member))).map(({ name }) => name)).not.toContain('Old grog');
    expect((await listClays(read(member), { withRetired: true })).map(({ name }) => name)).toContain(
      'Old grog',
    );
    expect((await s.visit(member, '/clays')).body).not.toContain('Old grog');
    expect((await findClay(read(member), id)).isRetired).toBe(true);
    await s.submit(technician, `/clays/${id}/revive`, {});
    expect((await findClay(read(member), id)).isRetired).toBe(false);
  });

  it.each(['0', '-1', 'abc', '1.5', '99999999999999999999', "1'--", '%00'])(
    'has no page at %s',
    async (id) => {
      const answer = await s.visit(technician, `/clays/${id}`);
      expect([400, 404]).toContain(answer.statusCode);
      expect([400, 404]).toContain((await s.submit(technician, `/clays/${id}/retire`, {})).statusCode);
    },
  );
});

describe('settings', () => {
  const VALID = {
    thickAboveMm: '15',
    thickWaitDays: '10',
    heldBackMm: '6',
    heldBackRunnyMm: '12',
    uncollectedDays: '28',
    bisqueCone: '04',
    usualCoatLowMm: '0,35',
    usualCoatHighMm: '0.55',
    mostCoatMm: '1.2',
    dryCoatDensity: '1.5',
    dryBackHours: '18',
    waterGonePercent: '85',
  };

  it('are common practice until the studio chooses, then what it chose', async () => {
    expect(await wareSettings(read(member))).toEqual(WARE_DEFAULTS);
    expect((await s.submit(technician, '/ware/settings', VALID)).statusCode).toBe(303);
    expect(await wareSettings(read(member))).toEqual({
      thickAboveMm: 15,
      thickWaitDays: 10,
      heldBackMm: 6,
      heldBackRunnyMm: 12,
      uncollectedDays: 28,
      bisqueCone: '04',
      usualCoatLowMm: 0.35,
      usualCoatHighMm: 0.55,
      mostCoatMm: 1.2,
      dryCoatDensity: 1.5,
      dryBackHours: 18,
      waterGonePercent: 85,
    });
    expect((await lastRecord(s.database.db, 'ware.settings', 'ware'))?.details).toEqual({
      thickAboveMm: '12 → 15',
      thickWaitDays: '7 → 10',
      uncollectedDays: '21 → 28',
      bisqueCone: '06 → 04',
      usualCoatLowMm: '0.4 → 0.35',
      usualCoatHighMm: '0.6 → 0.55',
      mostCoatMm: '1.5 → 1.2',
      dryCoatDensity: '1.4 → 1.5',
      dryBackHours: '12 → 18',
      waterGonePercent: '90 → 85',
    });
  });

  it('that were saved before there was a bench still hold, with the defaults for the bench', async () => {
    const { db } = s.database;
    const [saved] = await db.select().from(savedSettings);
    const old = {
      thickAboveMm: 15,
      thickWaitDays: 10,
      heldBackMm: 6,
      heldBackRunnyMm: 12,
      uncollectedDays: 28,
      bisqueCone: '04',
    };
    await db.update(savedSettings).set({ value: old });
    expect(await wareSettings(read(member))).toEqual({ ...WARE_DEFAULTS, ...old });
    expect((await s.visit(technician, '/ware/settings')).body).toContain('value="0.4"');
    // Neither is what no longer can be taken.
    await db.update(savedSettings).set({ value: { ...old, mostCoatMm: 'thick', dryBackHours: -1 } });
    expect(await wareSettings(read(member))).toEqual({ ...WARE_DEFAULTS, ...old });
    await db.update(savedSettings).set({ value: saved?.value });
  });

  it.each([
    ['zero millimetres', { thickAboveMm: '0' }],
    ['half a day', { thickWaitDays: '1.5' }],
    ['no days to fetch', { uncollectedDays: '0' }],
    ['a runny glaze nearer the foot', { heldBackRunnyMm: '3' }],
    ['no cone', { bisqueCone: 'hot' }],
    ['nothing', { bisqueCone: '' }],
    ['a usual coat that ends where it begins', { usualCoatLowMm: '0.5', usualCoatHighMm: '0.5' }],
    ['a usual coat that ends before it begins', { usualCoatLowMm: '0.6', usualCoatHighMm: '0.4' }],
    ['less in all than one usual coat', { mostCoatMm: '0.5' }],
    ['no thickness', { usualCoatLowMm: '0' }],
    ['a coat of lead', { dryCoatDensity: '11' }],
    ['a night without hours', { dryBackHours: '0' }],
    ['all the water gone', { waterGonePercent: '100' }],
    ['no figure', { waterGonePercent: '' }],
  ])('are refused with %s', async (_, wrong) => {
    expect((await s.submit(technician, '/ware/settings', { ...VALID, ...wrong })).statusCode).toBe(422);
  });

  it('say every contradiction beside its field, filled in as it was typed', async () => {
    const wrong = { usualCoatLowMm: '0,8', mostCoatMm: '0.5', heldBackRunnyMm: '3' };
    const { body, statusCode } = await s.submit(technician, '/ware/settings', { ...VALID, ...wrong });
    expect(statusCode).toBe(422);
    for (const field of ['usualCoatHighMm', 'mostCoatMm', 'heldBackRunnyMm'])
      expect(body).toMatch(new RegExp(`<p class="error" id="f-${field}-error">`));
    expect(body).toContain('value="0,8"');
    expect((await wareSettings(read(member))).usualCoatLowMm).toBe(0.35);
  });

  it('are for technicians', async () => {
    expect((await s.visit(member, '/ware/settings')).statusCode).toBe(403);
    expect((await s.submit(member, '/ware/settings', VALID)).statusCode).toBe(403);
  });
});

describe('glazes in the kiln', () => {
  it('know how thick they want to be and what their dry coat weighs, where somebody said it', async () => {
    const code = await s.aBucket({ name: 'Thick Cream' });
    const bare = await s.aBucket({ name: 'Unsaid' });
    await s.submit(technician, `/ware/glazes/${bare}`, { tags: 'unsaid' });
    const typed = { wantedCoatMm: '0,75', dryCoatDensity: '1.32' };
    expect((await s.submit(technician, `/ware/glazes/${code}`, typed)).statusCode).toBe(303);
    expect(await listTraits(read(member))).toEqual(
      expect.arrayContaining([
        expect.objectContaining({ wantedCoatMm: 0.75, dryCoatDensity: 1.32 }),
        expect.objectContaining({ tags: ['unsaid'], wantedCoatMm: null, dryCoatDensity: null }),
      ]),
    );
    const { body } = await s.visit(member, '/ware/glazes');
    expect(body).toContain('0.75 mm, dry 1.32 g/cm³');
    expect(body).toContain('as usual, 0.35 to 0.55 mm');
    const form = (await s.visit(technician, `/ware/glazes/${code}`)).body;
    expect(form).toMatch(/name="wantedCoatMm"[^>]*value="0.75"/);
    expect(form).toMatch(/name="dryCoatDensity"[^>]*value="1.32"/);
    expect((await lastRecord(s.database.db, 'glaze.trait', `bucket:${code}`))?.details).toMatchObject({
      wantedCoatMm: 0.75,
      dryCoatDensity: 1.32,
    });
    await s.submit(technician, `/ware/glazes/${code}`, {});
    expect((await listTraits(read(member))).some(({ wantedCoatMm }) => wantedCoatMm === 0.75)).toBe(false);
  });

  it('shows every bucket, and what is known of it', async () => {
    const code = await s.aBucket({ name: 'River Green' });
    const saved = await s.submit(technician, `/ware/glazes/${code}`, {
      isRunny: 'yes',
      tags: ' Chromium,  Copper ,chromium,',
    });
    expect(saved.statusCode).toBe(303);
    const { body } = await s.visit(member, '/ware/glazes');
    expect(body).toContain('River Green');
    expect(body).toContain('runny, tray 20 mm all round');
    expect(body).toContain('chromium, copper');
    expect(await knownTags(read(member))).toEqual(expect.arrayContaining(['chromium', 'copper']));
  });

  it('says it anew in place of what was said before', async () => {
    const code = await s.aBucket();
    await s.submit(technician, `/ware/glazes/${code}`, { isRunny: 'yes', trayMm: '35', tags: 'zinc' });
    await s.submit(technician, `/ware/glazes/${code}`, {});
    const traits = await listTraits(read(member));
    expect(traits.filter(({ tags }) => tags.includes('zinc'))).toEqual([]);
    expect(traits.at(-1)).toMatchObject({ isRunny: false, trayMm: 0, tags: [] });
  });

  it.each([
    ['a runny glaze on no tray', { isRunny: 'yes', trayMm: '0' }],
    ['a huge tray', { trayMm: '1e9' }],
    ['a negative tray', { trayMm: '-5' }],
    ['no coat at all', { wantedCoatMm: '0' }],
    ['a coat like a wall', { wantedCoatMm: '6' }],
    ['a coat that is no number', { wantedCoatMm: 'thick' }],
    ['a dry coat lighter than any', { dryCoatDensity: '0.1' }],
    ['a dry coat denser than its stone', { dryCoatDensity: '3.5' }],
    ['a word that is too long', { tags: 'x'.repeat(31) }],
    ['too many words', { tags: Array.from({ length: 13 }, (_, i) => `w${i}`).join(',') }],
    ['a NUL', { tags: 'a\0' }],
  ])('refuses %s', async (_, wrong) => {
    const code = await s.aBucket();
    expect((await s.submit(technician, `/ware/glazes/${code}`, wrong)).statusCode).toBe(422);
  });

  it('has no page for a bucket nobody has, and none for members', async () => {
    expect((await s.visit(technician, '/ware/glazes/NONE')).statusCode).toBe(404);
    expect((await s.submit(technician, '/ware/glazes/NONE', {})).statusCode).toBe(404);
    const code = await s.aBucket();
    expect((await s.visit(member, `/ware/glazes/${code}`)).statusCode).toBe(403);
    expect((await s.submit(member, `/ware/glazes/${code}`, {})).statusCode).toBe(403);
  });

  it('offers the ordinary rule until it is taken on, once', async () => {
    expect((await s.visit(technician, '/ware/glazes')).body).toContain('Take this rule on');
    expect((await s.visit(member, '/ware/glazes')).body).not.toContain('Take this rule on');
    await s.as(technician, ensureOrdinaryConflicts);
    await s.as(technician, ensureOrdinaryConflicts);
    expect(await listConflicts(read(member))).toEqual([
      { tagA: 'chromium', tagB: 'tin white', why: expect.stringContaining('pink') },
    ]);
    expect((await s.visit(technician, '/ware/glazes')).body).not.toContain('Take this rule on');
  });

  it('keeps one rule a pair, whichever way round it is typed', async () => {
    const rule = { tagA: 'Zinc', tagB: 'copper red', why: 'Zinc dulls the red.' };
    expect((await s.submit(technician, '/ware/glazes/rule', rule)).statusCode).toBe(303);
    const again = { ...rule, tagA: 'COPPER  red', tagB: 'zinc' };
    expect((await s.submit(technician, '/ware/glazes/rule', again)).statusCode).toBe(409);
    const same = { ...rule, tagB: 'ZINC' };
    expect((await s.submit(technician, '/ware/glazes/rule', same)).statusCode).toBe(422);
    expect((await listConflicts(read(member))).filter(({ tagB }) => tagB === 'zinc')).toEqual([
      { tagA: 'copper red', tagB: 'zinc', why: 'Zinc dulls the red.' },
    ]);
    const gone = await s.submit(technician, '/ware/glazes/rule/remove', { tagA: 'zinc', tagB: 'copper red' });
    expect(gone.statusCode).toBe(303);
    const twice = await s.submit(technician, '/ware/glazes/rule/remove', {
      tagA: 'zinc',
      tagB: 'copper red',
    });
    expect(twice.statusCode).toBe(404);
    expect((await s.submit(member, '/ware/glazes/rule', rule)).statusCode).toBe(403);
    expect((await s.submit(member, '/ware/glazes/rule/remove', rule)).statusCode).toBe(403);
  });
});

describe('households and classes', () => {
  const makeHousehold = async (person: Person, name = `House ${++serial}`) => {
    const made = await s.submit(person, '/ware/groups/household', { name });
    expect(made.statusCode).toBe(303);
    return Number(location(made).split('/').at(-1));
  };

  it('a member makes a household and adds people by name or e-mail address; they are told', async () => {
    const id = await makeHousehold(member, 'Quay Street');
    const byName = await s.aPerson('member', 'Linnea Quay');
    const byMail = await s.aPerson('member', 'Otis Quay');
    expect((await s.submit(member, `/ware/groups/${id}/people`, { who: 'linnea quay' })).statusCode).toBe(
      303,
    );
    const upper = byMail.email.toUpperCase();
    const added = await s.submit(member, `/ware/groups/${id}/people`, { who: upper });
    expect((await s.visit(member, location(added))).body).toContain('Otis Quay is in it, and was told.');
    const group = await findGroup(read(byName), id);
    expect(group).toMatchObject({ isMine: true, mayChange: false, mayRegister: true });
    expect(group.people.map(({ name }) => name)).toEqual(['Linnea Quay', 'Otis Quay']);
    expect(await groupReaders(read(technician), id)).toEqual([member.id, byName.id, byMail.id]);
    const [message] = await ownMessages(read(byName));
    expect(message).toMatchObject({ words: 'Ida added you to Quay Street.', href: `/ware/groups/${id}` });
  });

  it('is nothing to a stranger', async () => {
    const id = await makeHousehold(member);
    const stranger = await s.aPerson();
    expect((await s.visit(stranger, `/ware/groups/${id}`)).statusCode).toBe(404);
    for (const act of ['people', 'remove', 'edit', 'end'])
      expect(
        (
          await s.submit(stranger, `/ware/groups/${id}/${act}`, {
            who: stranger.name,
            name: 'Mine now',
            person: String(member.id),
          })
        ).statusCode,
        act,
      ).toBe(404);
    expect((await listGroups(read(stranger))).map((group) => group.id)).not.toContain(id);
    expect((await listGroups(read(technician))).map((group) => group.id)).toContain(id);
  });

  it('is changed by whoever answers for it, not by the others in it, who may leave', async () => {
    const id = await makeHousehold(member);
    const other = await s.aPerson();
    await s.submit(member, `/ware/groups/${id}/people`, { who: other.email });
    for (const act of ['people', 'edit', 'end'])
      expect(
        (await s.submit(other, `/ware/groups/${id}/${act}`, { who: technician.name, name: 'x' })).statusCode,
        act,
      ).toBe(403);
    const contact = { person: String(member.id) };
    expect((await s.submit(other, `/ware/groups/${id}/remove`, contact)).statusCode).toBe(403);
    const left = await s.submit(other, `/ware/groups/${id}/remove`, { person: String(other.id) });
    expect(location(left)).toBe('/ware/groups?done=left');
    expect((await s.visit(other, `/ware/groups/${id}`)).statusCode).toBe(404);
  });

  it('asks for the e-mail address where a name is not enough, and knows nobody who has left', async () => {
    const id = await makeHousehold(member);
    await s.aPerson('member', 'Two Alike');
    await s.aPerson('member', 'Two Alike');
    const add = async (who: string) => (await s.submit(member, `/ware/groups/${id}/people`, { who })).body;
    expect(await add('Two Alike')).toContain('More than one person here is called Two Alike');
    expect(await add('Nobody Atall')).toContain('Nobody here has this name');
    expect(await add('%')).toContain('Nobody here has this name');
    expect(await add('')).toContain('Write something here.');
    expect(await add(member.name)).toContain('is in it already');
  });

  it('has one name a group, and a limit a person', async () => {
    const keen = await s.aPerson();
    await makeHousehold(keen, 'Only One');
    expect((await s.submit(keen, '/ware/groups/household', { name: 'only one' })).statusCode).toBe(409);
    for (let i = 0; i < 4; i++) await makeHousehold(keen);
    const sixth = await s.submit(keen, '/ware/groups/household', { name: 'One too many' });
    expect(sixth.statusCode).toBe(409);
    expect(sixth.body).toContain('end one first');
  });

  it('a class has a teacher, who may register for it; those in it may not', async () => {
    const teacher = await s.aPerson('member', 'Tess Teacher');
    const pupil = await s.aPerson();
    const made = await s.submit(technician, '/ware/groups/class', {
      name: 'Tuesday evening',
      contact: 'Tess Teacher',
    });
    const id = Number(location(made).split('/').at(-1));
    await s.submit(teacher, `/ware/groups/${id}/people`, { who: pupil.email });
    expect(await findGroup(read(teacher), id)).toMatchObject({ mayRegister: true, mayChange: true });
    expect(await findGroup(read(pupil), id)).toMatchObject({ mayRegister: false, mayChange: false });
    expect(await groupReaders(read(technician), id)).toEqual([teacher.id]);
    expect((await ownMessages(read(teacher)))[0]?.words).toContain('Tuesday evening');
    const byMember = { name: 'Mine', contact: member.name };
    expect((await s.submit(member, '/ware/groups/class', byMember)).statusCode).toBe(403);
  });

  it('only a technician hands it to somebody else', async () => {
    const id = await makeHousehold(member);
    const next = await s.aPerson();
    const edit = { name: `House ${++serial}`, contact: next.email };
    expect((await s.submit(member, `/ware/groups/${id}/edit`, edit)).statusCode).toBe(403);
    expect((await s.submit(technician, `/ware/groups/${id}/edit`, edit)).statusCode).toBe(303);
    expect((await findGroup(read(next), id)).contact.id).toBe(next.id);
  });

  it('once ended is offered nowhere and changed by nobody', async () => {
    const id = await makeHousehold(member);
    await s.submit(member, `/ware/groups/${id}/end`, {});
    expect((await listGroups(read(member))).map((group) => group.id)).not.toContain(id);
    expect((await findGroup(read(member), id)).mayRegister).toBe(false);
    const more = await s.submit(member, `/ware/groups/${id}/people`, { who: technician.name });
    expect(more.statusCode).toBe(409);
  });

  it.each<Record<string, string>>([{ person: '1e99' }, { person: 'x' }, { person: '-1' }, {}])(
    'takes nobody out by %o',
    async (fields) => {
      const id = await makeHousehold(await s.aPerson());
      expect((await s.submit(technician, `/ware/groups/${id}/remove`, fields)).statusCode).toBe(422);
    },
  );
});

describe('marks', () => {
  let width = 40;
  /** Never the same twice: a picture is kept once, by whoever sent it first. */
  const photo = async () => ({ bytes: await aPhoto(++width) });

  it('are added with a photo, shown to their owner, and by name to technicians only', async () => {
    const potter = await s.aPerson('member', 'Mark Maker');
    const made = await upload(s, potter, '/ware/marks', { text: 'a heron on one leg' }, await photo());
    expect(made.statusCode).toBe(303);
    expect((await s.visit(potter, '/ware/marks')).body).toContain('a heron on one leg');
    expect((await s.visit(member, '/ware/marks')).body).not.toContain('a heron on one leg');
    expect((await s.visit(member, '/ware/marks/all')).statusCode).toBe(403);
    const { body } = await s.visit(technician, '/ware/marks/all');
    expect(body).toContain('Mark Maker');
    expect(body).toContain('a heron on one leg');
  });

  it('keep a photo whose words were forgotten', async () => {
    const potter = await s.aPerson();
    const refused = await upload(s, potter, '/ware/marks', { text: '' }, await photo());
    expect(refused.statusCode).toBe(422);
    const kept = /name="kept" value="([0-9a-f]{64})"/.exec(refused.body)?.[1] as string;
    const made = await upload(s, potter, '/ware/marks', { text: 'a comb', kept }, null);
    expect(made.statusCode).toBe(303);
    expect((await listOwnMarks(read(potter)))[0]?.photo).toBe(kept);
    const thief = await s.aPerson();
    expect((await upload(s, thief, '/ware/marks', { text: 'a comb', kept }, null)).statusCode).toBe(422);
  });

  it('are refused without a photo, and with what is none', async () => {
    expect((await upload(s, member, '/ware/marks', { text: 'a dot' }, null)).statusCode).toBe(422);
    const words = { bytes: Buffer.from('not a photo at all') };
    expect((await upload(s, member, '/ware/marks', { text: 'a dot' }, words)).statusCode).toBe(422);
  });

  it('are taken off by their owner alone', async () => {
    const potter = await s.aPerson();
    await upload(s, potter, '/ware/marks', { text: 'a loop' }, await photo());
    const [mark] = await listOwnMarks(read(potter));
    const off = `/ware/marks/${mark?.id}/off`;
    expect((await s.submit(member, off, {})).statusCode).toBe(404);
    expect((await s.submit(technician, off, {})).statusCode).toBe(404);
    expect((await s.submit(potter, off, {})).statusCode).toBe(303);
    expect(await listOwnMarks(read(potter))).toEqual([]);
  });
});

describe('sheets in true size', () => {
  it.each([
    ['/ware/sheets/grid', 198, 278],
    ['/ware/sheets/height', 198, 278],
  ])('%s: one unit of the drawing is one millimetre, and it fits on A4', async (path, width, height) => {
    const { body } = await s.visit(member, path);
    expect(body).toContain(`width="${width}mm" height="${height}mm" viewBox="0 0 ${width} ${height}"`);
    expect(width).toBeLessThanOrEqual(210 - 2 * 5);
    expect(height).toBeLessThanOrEqual(297 - 2 * 9);
    expect(body).toMatch(/h100M/);
    expect(body).not.toMatch(/\sstyle="/);
  });

  it('the height stick has a mark every millimetre, to 500 mm', async () => {
    const { body } = await s.visit(member, '/ware/sheets/height');
    const marks = [...body.matchAll(/class="fine" d="([^"]+)"/g)].map(([, d = '']) =>
      [...d.matchAll(/M\d+ (\d+)h/g)].map(([, y]) => Number(y)),
    );
    expect(marks).toHaveLength(2);
    for (const ys of marks) {
      expect(ys).toHaveLength(251);
      expect(ys.every((y, i) => i === 0 || (ys[i - 1] as number) - y === 1)).toBe(true);
    }
    expect(body).toContain('>500<');
  });

  it('say what lasts through the fire', async () => {
    const { body } = await s.visit(member, '/ware/sheets');
    expect(body).toContain('Wax pencil and paper burn off');
    expect(body).toContain('The tag stays on the rack');
  });
});
