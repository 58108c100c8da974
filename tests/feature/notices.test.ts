import { eq, sql } from 'drizzle-orm';
import { beforeAll, describe, expect, it } from 'vitest';
import { bucketEvents, buckets } from '../../server/buckets/schema.ts';
import {
  countersign,
  createBucketWithRecipe,
  planNewBatch,
  recordAct,
  weighLine,
} from '../../server/buckets/service/index.ts';
import { DAY } from '../../server/core/clock.ts';
import { messages } from '../../server/core/schema.ts';
import { UNKNOWN } from '../../server/materials/facts.ts';
import { saveMaterial } from '../../server/materials/service/index.ts';
import { noticeReads, noticeVersions } from '../../server/safety/schema.ts';
import {
  noticeBody,
  noticesDue,
  postNotice,
  readNotice,
  reviseNotice,
  unreadFor,
  withdrawNotice,
  wordsBody,
} from '../../server/safety/service/notices.ts';
import { saveSafetySettings } from '../../server/safety/service/settings.ts';
import { USUAL_SAFETY } from '../../server/safety/settings.ts';
import { aKiln } from '../helpers/kilns.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';
import { aTablet, atTablet, givePin, handleOf } from '../helpers/tablet.ts';

let s: Studio;
beforeAll(async () => {
  s = await aStudio();
});

let serial = 0;
const key = () => `key-of-notice-${++serial}`;

/** A notice by the technician, on a bucket unless it says otherwise; gives its number. */
const aNotice = (command: object): Promise<number> =>
  s.as(s.people.technician, (act) =>
    postNotice(act, noticeBody.parse({ scope: 'bucket', title: `Notice ${++serial}`, ...command })),
  );

const dippingsOf = async (code: string) => {
  const rows = await s.database.db
    .select({ kind: bucketEvents.kind })
    .from(bucketEvents)
    .innerJoin(buckets, eq(buckets.id, bucketEvents.bucketId))
    .where(eq(buckets.code, code));
  return rows.filter(({ kind }) => kind === 'dipping').length;
};

type Class = [hazardClass: string, hCode: string];

const knowMaterial = (
  id: number | null,
  name: string,
  classes: Class[],
  limits: { limitPercent?: number } = {},
) =>
  s.as(s.people.technician, (act) =>
    saveMaterial(act, id, {
      name,
      density: 3,
      facts: {
        ...UNKNOWN,
        classification: classes.length > 0 ? 'classified' : 'none',
        hazards: classes.map(([hazardClass, hCode]) => ({ hazardClass, hCode, ...limits })),
        source: 'A sheet made up for this test',
      },
    }),
  );

/** A bucket of which a tenth is one material with these classes, and the rest chalk. */
async function aBucketOf(classes: Class[]): Promise<{ code: string; material: number; name: string }> {
  const name = `Colourant ${++serial}`;
  const { id } = await knowMaterial(null, name, classes);
  const chalk = `Chalk ${serial}`;
  await knowMaterial(null, chalk, []);
  const code = `N${serial}`;
  await s.as(s.people.technician, async (act) => {
    await createBucketWithRecipe(act, {
      code,
      name: `Glaze ${code}`,
      colour: '#4a6b5d',
      capacityLitres: 25,
      target: { low: 1.44, aim: 1.46, high: 1.48 },
      stirIntervalMinutes: 5,
      readingTrustedHours: 168,
      sieveMesh: 80,
      mixMoreFraction: 1 / 3,
      recipe: [
        { material: name, parts: 10, density: 3 },
        { material: chalk, parts: 90, density: 2.7 },
      ],
      hasSolubles: false,
    });
    await recordAct(act, code, 'setup', { litres: 18, specificGravity: 1.46 });
  });
  return { code, material: id, name };
}

const dip = async (person: Person, code: string) =>
  (await s.api(person, 'POST', `/buckets/${code}/dippings`, { pieces: 1 })).statusCode;

const RE2: Class = ['STOT RE 2', 'H373'];
const RE1: Class = ['STOT RE 1', 'H372'];
const SENS: Class = ['Skin Sens. 1', 'H317'];

describe('a notice at a bucket', () => {
  it('stands above the verdict until it is read, and stops a dipping everywhere', async () => {
    const code = await s.aBucket({ sg: 1.46, stirredMinutesAgo: 1 });
    const number = await aNotice({ bucket: code, title: 'Gloves, please', dipping: 'Gloves for dipping.' });
    const ida = await s.aPerson();

    const page = (await s.visit(ida, `/buckets/${code}`)).body;
    expect(page.indexOf('Gloves for dipping.')).toBeGreaterThan(0);
    expect(page.indexOf('Gloves for dipping.')).toBeLessThan(page.indexOf('class="verdict'));
    expect(page).toContain('I have read this');
    expect(page).not.toContain('Stirred, dipping');
    expect((await s.visit(ida, '/wall')).body).toContain('A notice to read');

    const tapped = await s.submit(ida, `/buckets/${code}/dippings`, { key: key(), stirred: 'yes' });
    expect(tapped.statusCode).toBe(409);
    expect(tapped.body).toContain(`Read notice ${number} first: “Gloves, please”`);
    expect(tapped.body).toContain(`href="/notices/${number}"`);
    const typed = await s.submit(ida, `/buckets/${code}/dip`, { key: key(), cups: '3' });
    expect(typed.statusCode).toBe(409);
    expect(typed.body).toContain('I have read this');
    expect(typed.body).toContain('value="3"');
    const sent = await s.api(ida, 'POST', `/buckets/${code}/dippings`, { pieces: 2 });
    expect(sent.statusCode).toBe(409);
    expect(sent.json()).toMatchObject({ detail: expect.stringContaining(`Read notice ${number} first`) });
    expect(await dippingsOf(code)).toBe(0);

    const read = await s.submit(ida, `/notices/${number}/read`, {
      key: key(),
      read: 'yes',
      version: '1',
      next: `/buckets/${code}`,
    });
    expect(read.statusCode).toBe(303);
    expect(read.headers.location).toBe(`/buckets/${code}`);
    const after = (await s.visit(ida, `/buckets/${code}`)).body;
    expect(after).toContain('Stirred, dipping');
    expect(after).not.toContain('I have read this');
    expect((await s.visit(ida, '/wall')).body).not.toContain('A notice to read');
    expect(after).toContain(`<a href="/notices/${number}">Gloves, please</a>`);
    expect(
      (await s.submit(ida, `/buckets/${code}/dippings`, { key: key(), stirred: 'yes' })).statusCode,
    ).toBe(303);
    expect(await dippingsOf(code)).toBe(1);
  });

  it('is not asked about for a stir, a reading or water, nor of another bucket', async () => {
    const code = await s.aBucket({ sg: 1.46, stirredMinutesAgo: 1 });
    const other = await s.aBucket();
    await aNotice({ bucket: code });
    const ida = await s.aPerson();
    for (const [at, path, body] of [
      [code, 'stirs', {}],
      [code, 'top-ups', { kind: 'water', litres: 1 }],
      [code, 'readings', { method: 'weighed', grams: 1460, millilitres: 1000, stirred: true }],
      [other, 'dippings', { pieces: 1 }],
    ] as const)
      expect((await s.api(ida, 'POST', `/buckets/${at}/${path}`, body)).statusCode, path).toBe(201);
  });

  it('must be read before dry glaze goes in', async () => {
    const code = await s.aBucket({ sg: 1.46, stirredMinutesAgo: 1 });
    const number = await aNotice({ bucket: code, title: 'Dust' });
    const other = await s.aPerson('technician');
    const form = await s.submit(other, `/buckets/${code}/add`, { key: key(), kind: 'dry', kilograms: '1' });
    expect(form.statusCode).toBe(409);
    expect(form.body).toContain('I have read this');
    await s.as(other, (act) => readNotice(act, number));
    const again = await s.submit(other, `/buckets/${code}/add`, { key: key(), kind: 'dry', kilograms: '1' });
    expect(again.statusCode).toBe(303);
  });

  it('must be read before a batch is poured in, and the sheet shows it', async () => {
    const { code } = await aBucketOf([]);
    const [one, two] = [await s.aPerson('technician'), await s.aPerson('technician')];
    const batch = await s.as(one, (act) => planNewBatch(act, { bucket: code, litres: 5 }));
    for (const position of [0, 1]) await s.as(one, (act) => weighLine(act, batch, { position }));
    await s.as(two, (act) => countersign(act, batch));
    const number = await aNotice({ bucket: code, title: 'Of the batch' });
    const pour = () =>
      s.submit(two, `/batches/${batch}/use`, { key: key(), how: 'setup', bucket: code, waterLitres: '4' });
    const refused = await pour();
    expect(refused.statusCode).toBe(409);
    expect(refused.body).toContain(`Read notice ${number} first`);
    expect(refused.body).toContain(`name="next" value="/batches/${batch}"`);
    await s.as(two, (act) => readNotice(act, number));
    expect((await pour()).statusCode).toBe(303);
  });

  it('is read by whoever posted it, by nobody else, and once', async () => {
    const code = await s.aBucket();
    const number = await aNotice({ bucket: code });
    const ida = await s.aPerson();
    expect((await s.api(s.people.technician, 'GET', `/notices/${number}`)).json().unread).toBe(false);
    expect((await s.api(ida, 'GET', `/notices/${number}`)).json().unread).toBe(true);
    for (const _ of [1, 2])
      expect((await s.api(ida, 'POST', `/notices/${number}/acknowledge`, {})).statusCode).toBe(200);
    const rows = await s.database.db.select().from(noticeReads).where(eq(noticeReads.personId, ida.id));
    expect(rows).toHaveLength(1);
  });

  it('wants its tick, and the version that was shown', async () => {
    const number = await aNotice({ bucket: await s.aBucket() });
    const ida = await s.aPerson();
    const unticked = await s.submit(ida, `/notices/${number}/read`, { key: key(), version: '1' });
    expect(unticked.statusCode).toBe(422);
    expect(unticked.body).toContain('Tick it once you have read it.');
    await s.as(s.people.technician, (act) =>
      reviseNotice(act, number, wordsBody.parse({ title: 'Changed since' })),
    );
    const old = await s.submit(ida, `/notices/${number}/read`, { key: key(), read: 'yes', version: '1' });
    expect(old.statusCode).toBe(409);
    expect(old.body).toContain('Changed since');
  });

  it('leads nowhere but to a page of ours', async () => {
    const number = await aNotice({ bucket: await s.aBucket() });
    for (const next of ['https://elsewhere.example/', '//elsewhere.example', '/\\elsewhere.example']) {
      const read = await s.submit(s.people.member, `/notices/${number}/read`, {
        key: key(),
        read: 'yes',
        next,
      });
      expect(String(read.headers.location), next).toMatch(/^\/(?![/\\])/);
    }
  });

  it('holds on its days only', async () => {
    const code = await s.aBucket();
    const day = (days: number) => new Date(s.clock.now() + days * DAY).toISOString().slice(0, 10);
    await aNotice({ bucket: code, title: 'Next month', validFrom: day(30) });
    await aNotice({ bucket: code, title: 'Last month', validFrom: day(-30), validTo: day(-2) });
    const ida = await s.aPerson();
    const { body } = await s.visit(ida, `/buckets/${code}`);
    expect(body).not.toContain('Next month');
    expect(body).not.toContain('Last month');
    expect((await s.api(ida, 'POST', `/buckets/${code}/dippings`, { pieces: 1 })).statusCode).toBe(201);
    const backwards = await s.api(s.people.technician, 'POST', '/notices', {
      scope: 'bucket',
      bucket: code,
      title: 'Backwards',
      validFrom: day(2),
      validTo: day(1),
    });
    expect(backwards.statusCode).toBe(422);
    expect(backwards.json().errors).toEqual([{ path: 'validTo', message: 'It ends before it begins.' }]);
  });

  it('gives way to a bucket that is not to be used', async () => {
    const code = await s.aBucket();
    await aNotice({ bucket: code });
    const ida = await s.aPerson();
    await s.api(ida, 'POST', `/buckets/${code}/service`, { state: 'do-not-use', reason: 'Sponge in it' });
    const dipped = await s.api(ida, 'POST', `/buckets/${code}/dippings`, { pieces: 1 });
    expect(dipped.json().detail).toContain('marked "Do not use"');
  });
});

describe('where a notice hangs', () => {
  it('a room counts for the buckets whose place begins with it, everywhere for all', async () => {
    const near = await s.aBucket();
    const far = await s.aBucket();
    await s.database.db.update(buckets).set({ place: 'Back room, shelf 2' }).where(eq(buckets.code, near));
    await aNotice({ scope: 'room', room: 'back room', title: 'Mind the step' });
    const ida = await s.aPerson();
    expect((await s.visit(ida, `/buckets/${near}`)).body).toContain('Mind the step');
    expect((await s.visit(ida, `/buckets/${far}`)).body).not.toContain('Mind the step');
    const number = await aNotice({ scope: 'everywhere', title: 'Sink closed' });
    expect((await s.visit(ida, `/buckets/${far}`)).body).toContain('Sink closed');
    await s.as(s.people.technician, (act) => withdrawNotice(act, number));
    expect((await s.visit(ida, `/buckets/${far}`)).body).not.toContain('Sink closed');
  });

  it('a material counts for the buckets it is in', async () => {
    const { code, material } = await aBucketOf([RE2]);
    const other = await aBucketOf([]);
    await aNotice({ scope: 'material', material, title: 'Of this colourant' });
    const ida = await s.aPerson();
    expect((await s.visit(ida, `/buckets/${code}`)).body).toContain('Of this colourant');
    expect((await s.visit(ida, `/buckets/${other.code}`)).body).not.toContain('Of this colourant');
  });

  it('a kiln shows its own', async () => {
    const made = await aKiln(s);
    await aNotice({
      scope: 'kiln',
      kiln: made.code,
      title: 'Dark glass at the spy hole',
      dipping: 'And gloves.',
    });
    const { body } = await s.visit(s.people.member, `/kilns/${made.code}`);
    expect(body).toContain('Dark glass at the spy hole');
    expect(body).toContain('And gloves.');
    expect(body).toContain('Read it, and say so');
  });

  it('nothing that is not there takes one', async () => {
    for (const body of [
      { scope: 'bucket', bucket: 'NOPE' },
      { scope: 'bucket' },
      { scope: 'material', material: 2_000_000_000 },
      { scope: 'kiln', kiln: 'NOPE' },
      { scope: 'room' },
      { scope: 'shed' },
    ]) {
      const answer = await s.api(s.people.technician, 'POST', '/notices', { title: 'X', ...body });
      expect(answer.statusCode, JSON.stringify(body)).toBe(422);
    }
    for (const path of ['/notices/0', '/notices/999999', '/notices/abc', '/notices/999999/print'])
      expect((await s.visit(s.people.technician, path)).statusCode, path).toBe(404);
    expect((await s.visit(s.people.technician, '/notices/new?bucket=NOPE')).statusCode).toBe(422);
    expect((await s.visit(s.people.technician, '/notices/new?material=x')).statusCode).toBe(422);
  });
});

describe('read once for a class', () => {
  const aPosted = async (classes: Class[]) => {
    const made = await aBucketOf(classes);
    return { ...made, number: await aNotice({ bucket: made.code }) };
  };
  it('another bucket of the same class does not ask again, a worse one does', async () => {
    const ida = await s.aPerson();
    const [one, same, worse, more] = [
      await aPosted([RE2]),
      await aPosted([RE2]),
      await aPosted([RE1]),
      await aPosted([RE2, SENS]),
    ];
    expect(await dip(ida, one.code)).toBe(409);
    await s.as(ida, (act) => readNotice(act, one.number));
    expect(await dip(ida, one.code)).toBe(201);
    expect(await dip(ida, same.code)).toBe(201);
    expect(await dip(ida, worse.code)).toBe(409);
    expect(await dip(ida, more.code)).toBe(409);
  });

  it('a new version asks again only when the class gets worse', async () => {
    const ida = await s.aPerson();
    const { code, number, material, name } = await aPosted([RE2]);
    await s.as(ida, (act) => readNotice(act, number));
    await s.as(s.people.technician, (act) =>
      reviseNotice(act, number, wordsBody.parse({ title: 'Better words' })),
    );
    expect(await dip(ida, code)).toBe(201);

    await knowMaterial(material, name, [RE2, SENS]);
    expect(await dip(ida, code)).toBe(201);
    const page = (await s.visit(s.people.technician, `/notices/${number}`)).body;
    expect(page).toContain('To be reviewed');
    expect(page).toContain('now Skin Sens. 1 H317');
    const due = await s.as(s.people.technician, noticesDue);
    expect(due).toContainEqual({
      title: `Glaze ${code} ${code}`,
      what: `Notice ${number} is to be reviewed: now Skin Sens. 1 H317.`,
      act: { label: 'Look it over', href: `/notices/${number}/edit` },
    });
    await s.as(s.people.technician, (act) =>
      reviseNotice(act, number, wordsBody.parse({ title: 'With gloves' })),
    );
    expect(await dip(ida, code)).toBe(409);
    expect((await s.visit(s.people.technician, `/notices/${number}`)).body).not.toContain('To be reviewed');
  });

  it('is drafted, previewed and posted from the classes; a class that changed meanwhile is seen first', async () => {
    const { code, material, name } = await aBucketOf([RE1, SENS]);
    const due = await s.as(s.people.technician, noticesDue);
    const bare = due.find(({ act }) => act.href.startsWith('/notices/new?bucket='));
    expect(`${bare?.title} ${bare?.what}`).toContain(`Glaze ${code} ${code}`);
    const wren = s.people.technician;
    const drafted = (await s.visit(wren, `/notices/new?bucket=${code}`)).body;
    expect(drafted).toContain('Never mix or spray without respirator and local exhaust.');
    expect(drafted).toContain('No class shown does not mean harmless.');
    const from = /name="drafted" value="([^"]*)"/.exec(drafted)?.[1] as string;
    expect(from).toMatch(/;Skin Sens\. 1 H317/);

    const fields = { scope: 'bucket', bucket: code, title: 'Take care', dipping: 'Gloves.', drafted: from };
    const preview = await s.submit(wren, '/notices/new', { ...fields, key: key(), preview: 'yes' });
    expect(preview.statusCode).toBe(200);
    expect(preview.body).toContain('A preview: not posted yet.');
    expect(preview.body).toContain('value="Take care"');
    const posted = await s.submit(wren, '/notices/new', { ...fields, key: key() });
    expect(posted.statusCode).toBe(303);
    const number = Number(/\/notices\/(\d+)/.exec(String(posted.headers.location))?.[1]);
    const one = (await s.api(wren, 'GET', `/notices/${number}`)).json();
    expect(one).toMatchObject({ title: 'Take care', dipping: 'Gloves.', mixing: '', changed: null });
    expect(one.hStatements).toContain('H317');
    expect(one.pictograms).toContain('GHS07');
    expect(one.signalWord).not.toBeNull();

    await knowMaterial(material, name, [RE2]);
    const late = await s.submit(wren, '/notices/new', { ...fields, key: key() });
    expect(late.statusCode).toBe(409);
    expect(late.body).toContain('changed while you wrote');
    expect(late.body).toContain('value="Take care"');
  });

  it('prints in three sizes, without a code that no phone could open', async () => {
    const { number } = await aPosted([RE1, SENS]);
    for (const size of ['a4', 'a5', 'label', 'nonsense']) {
      const { body, statusCode } = await s.visit(s.people.member, `/notices/${number}/print?size=${size}`);
      expect(statusCode).toBe(200);
      expect(body).toContain('H317');
      expect(body).toContain('class="ghs-label');
      expect(body).toContain('Without a QR code for now');
    }
  });
});

it('the hazard label names what may set off an allergy below its limit', async () => {
  const { code, material, name } = await aBucketOf([SENS]);
  const label = async () => (await s.visit(s.people.technician, `/buckets/${code}/label?size=hazard`)).body;
  expect(await label()).not.toContain('EUH208');
  await knowMaterial(material, name, [SENS], { limitPercent: 50 });
  expect(await label()).toContain(`EUH208: Contains ${name}. May produce an allergic reaction.`);
  const number = await aNotice({ bucket: code, title: 'An allergen' });
  const printed = (await s.visit(s.people.member, `/notices/${number}/print`)).body;
  expect(printed).toContain(`EUH208: Contains ${name}. May produce an allergic reaction.`);
});

it('the hazard label and the printed notice say of how much the acute toxicity is not known', async () => {
  const { code, material, name } = await aBucketOf([SENS]);
  const number = await aNotice({ bucket: code, title: 'Who knows' });
  const looks = () =>
    Promise.all(
      [`/buckets/${code}/label?size=hazard`, `/notices/${number}/print?size=a5`].map(
        async (path) => (await s.visit(s.people.technician, path)).body,
      ),
    );
  const words = '10 % of the mixture consists of ingredients of unknown acute toxicity.';
  for (const body of await looks()) expect(body).not.toContain('unknown acute toxicity');
  await s.as(s.people.technician, (act) =>
    saveMaterial(act, material, { name, density: 3, facts: { ...UNKNOWN, classification: 'unknown' } }),
  );
  for (const body of await looks()) expect(body).toContain(words);
  const room = await aNotice({ scope: 'room', room: 'Attic' });
  expect((await s.visit(s.people.member, `/notices/${room}/print`)).statusCode).toBe(200);
});

it('nobody is asked to read what hangs on a retired bucket', async () => {
  const code = await s.aBucket({ sg: 1.46 });
  const number = await aNotice({ bucket: code });
  const unread = async () =>
    (await s.as(s.people.member, (act) => unreadFor(act))).map((notice) => notice.number);
  expect(await unread()).toContain(number);
  await s.as(s.people.technician, (act) =>
    recordAct(act, code, 'service', { state: 'retired', reason: 'Empty' }),
  );
  expect(await unread()).not.toContain(number);
  const asked = async (path: string) => (await s.visit(s.people.member, path)).body;
  expect(await asked(`/notices/${number}`)).not.toMatch(/I have read it|You have read it/);
  const remind = await s.submit(s.people.technician, `/notices/${number}/readers`, { key: key() });
  expect(remind.statusCode).toBe(409);
});

it('of two refusals the missing induction comes before the unread notice', async () => {
  const code = await s.aBucket({ sg: 1.46, stirredMinutesAgo: 1 });
  await aNotice({ bucket: code });
  const gate = (gated: 'dip'[]) =>
    s.as(s.people.manager, (act) => saveSafetySettings(act, { ...USUAL_SAFETY, gated }));
  await gate(['dip']);
  expect(await dip(s.people.member, code)).toBe(403);
  await gate([]);
  expect(await dip(s.people.member, code)).toBe(409);
});

describe('its history', () => {
  it('keeps every version, and the database refuses to change one', async () => {
    const number = await aNotice({ bucket: await s.aBucket(), title: 'First words' });
    const wren = s.people.technician;
    await s.submit(wren, `/notices/${number}/edit`, { key: key(), title: 'Second words' });
    await s.submit(wren, `/notices/${number}/withdraw`, { key: key() });
    expect((await s.submit(wren, `/notices/${number}/withdraw`, { key: key() })).statusCode).toBe(409);
    expect((await s.api(s.people.member, 'POST', `/notices/${number}/acknowledge`, {})).statusCode).toBe(409);
    const { body } = await s.visit(s.people.member, `/notices/${number}`);
    for (const words of ['First words', 'Second words', 'Taken down', 'History: 3 versions'])
      expect(body).toContain(words);
    expect(
      (await s.submit(wren, `/notices/${number}/edit`, { key: key(), title: 'Up again' })).statusCode,
    ).toBe(303);
    expect((await s.api(s.people.member, 'GET', `/notices/${number}`)).json()).toMatchObject({
      version: 4,
      standing: 'in-force',
    });
    await expect(s.database.db.update(noticeVersions).set({ title: 'Never said' })).rejects.toThrow();
    await expect(s.database.db.delete(noticeReads)).rejects.toThrow();
    await expect(s.database.db.execute(sql`truncate notice_reads`)).rejects.toThrow();
  });

  it('numbers two that are posted at once one after the other', async () => {
    const code = await s.aBucket();
    const numbers = await Promise.all([1, 2, 3, 4].map(() => aNotice({ bucket: code })));
    expect(new Set(numbers).size).toBe(4);
    expect(Math.max(...numbers) - Math.min(...numbers)).toBe(3);
    const [number] = numbers as [number];
    const words = (n: number) => wordsBody.parse({ title: `At once ${n}` });
    const versions = await Promise.all(
      [1, 2, 3].map((n) => s.as(s.people.technician, (act) => reviseNotice(act, number, words(n)))),
    );
    expect(versions.sort()).toEqual([2, 3, 4]);
  });
});

describe('who has read it', () => {
  it('is listed for technicians, who remind those who have not', async () => {
    const number = await aNotice({ bucket: await s.aBucket(), title: 'For all of you' });
    const [early, late] = [await s.aPerson('member', 'Early Bird'), await s.aPerson('member', 'Late Riser')];
    await s.as(early, (act) => readNotice(act, number));
    const { body } = await s.visit(s.people.technician, `/notices/${number}/readers`);
    expect(body.indexOf('Late Riser')).toBeLessThan(body.indexOf('Early Bird'));
    const reminded = await s.submit(s.people.technician, `/notices/${number}/readers`, { key: key() });
    expect(reminded.headers.location).toMatch(/readers\?reminded=\d+$/);
    const told = await s.database.db
      .select()
      .from(messages)
      .where(eq(messages.href, `/notices/${number}`));
    expect(told.map(({ personId }) => personId)).toContain(late.id);
    expect(told.map(({ personId }) => personId)).not.toContain(early.id);
    expect(told.map(({ personId }) => personId)).not.toContain(s.people.technician.id);
  });

  it('is none of a member’s business, and posting is not either', async () => {
    const number = await aNotice({ bucket: await s.aBucket() });
    const { member } = s.people;
    for (const path of [`/notices/${number}/readers`, `/notices/${number}/edit`, '/notices/new'])
      expect((await s.visit(member, path)).statusCode, path).toBe(403);
    for (const path of [`/notices/${number}/withdraw`, `/notices/${number}/readers`, '/notices/new'])
      expect((await s.submit(member, path, { key: key(), title: 'X' })).statusCode, path).toBe(403);
    const sent = await s.api(member, 'POST', '/notices', { scope: 'everywhere', title: 'X' });
    expect(sent.statusCode).toBe(403);
    expect((await s.visit(member, '/notices')).statusCode).toBe(200);
  });
});

describe('at the wall tablet', () => {
  it('a tapped name reads for nobody: the dipping is refused, and it says where to read', async () => {
    const code = await s.aBucket({ sg: 1.46, stirredMinutesAgo: 1 });
    const number = await aNotice({ bucket: code, title: 'Wet hands', dipping: 'Gloves on.' });
    const ida = await s.aPerson('member', 'Tapped Name');
    const tablet = await aTablet(s);
    const at = atTablet(s, tablet);
    const shown = (await at.visit(`/tablet/buckets/${code}`)).body;
    expect(shown).toContain('Gloves on.');
    expect(shown).toContain(`href="/tablet/buckets/${code}/notices/${number}"`);
    const as = await handleOf(s, tablet, code, ida.name);
    const refused = await at.submit(`/tablet/buckets/${code}/dip`, { key: key(), as });
    expect(refused.statusCode).toBe(409);
    expect(refused.body).toContain(`Read notice ${number} first`);
    expect(await dippingsOf(code)).toBe(0);

    const path = `/tablet/buckets/${code}/notices/${number}`;
    expect(refused.body).toContain(`href="${path}?as=${as}"`);
    expect((await at.visit(`${path}?as=${as}`)).body).toContain('has no PIN yet');
    await givePin(s, ida, '4071');
    expect((await at.visit(`${path}?as=${as}`)).body).toContain('PIN of Tapped Name');
    expect((await at.submit(path, { key: key(), as, version: '1' })).statusCode).toBe(422);
    expect((await at.submit(path, { key: key(), as, pin: '9999', version: '1' })).statusCode).toBe(422);
    expect((await at.submit(`/tablet/buckets/${code}/dip`, { key: key(), as })).statusCode).toBe(409);
    const read = await at.submit(path, { key: key(), as, pin: '4071', version: '1' });
    expect(read.headers.location).toBe(`/tablet/buckets/${code}?as=${as}`);
    expect((await at.submit(`/tablet/buckets/${code}/dip`, { key: key(), as })).statusCode).toBe(303);
    expect((await at.visit(`/tablet/buckets/${code}/notices/999999?as=${as}`)).statusCode).toBe(404);
  });
});

describe('hostile words', () => {
  it('are text on every page', async () => {
    const code = await s.aBucket();
    const evil = '<img src=x onerror=alert(1)>"\'</textarea><script>alert(2)</script>';
    const number = await aNotice({ bucket: code, title: evil, dipping: evil, cleaning: evil });
    await s.database.db.update(buckets).set({ name: evil }).where(eq(buckets.code, code));
    for (const path of [
      '/notices',
      `/notices/${number}`,
      `/notices/${number}/edit`,
      `/notices/${number}/print`,
      `/notices/${number}/readers`,
      `/buckets/${code}`,
      `/buckets/${code}/dip`,
      '/notices/new',
      `/notices/new?bucket=${code}`,
      `/notices/new?room=${encodeURIComponent(evil)}`,
    ]) {
      const { body, statusCode } = await s.visit(s.people.technician, path);
      expect(statusCode, path).toBeLessThan(500);
      expect(body, path).not.toMatch(/<img src=x|<script>alert/);
    }
    const too = { scope: 'everywhere', title: 'x'.repeat(121), key: key() };
    expect((await s.submit(s.people.technician, '/notices/new', too)).statusCode).toBe(422);
  });
});
