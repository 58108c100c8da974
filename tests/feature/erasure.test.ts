import { mkdtemp, readFile, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import postgres from 'postgres';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { DEMO_PEOPLE } from '../../seed/people.ts';
import { recordAct } from '../../server/buckets/service/index.ts';
import { erase, REMOVED } from '../../server/cli/erasure.ts';
import { examine } from '../../server/cli/examine.ts';
import type { Actor } from '../../server/core/actor.ts';
import { sumTables } from '../../server/core/dump.ts';
import { Conflict, NotFound } from '../../server/core/errors.ts';
import { pictureIn } from '../../server/core/files.ts';
import { openAccount } from '../../server/fees/service/accounts.ts';
import { chargeByHand, recordPayment } from '../../server/fees/service/by-hand.ts';
import { makeFeed } from '../../server/kilns/service/feed.ts';
import { invite, makeResetLink } from '../../server/members/service/links.ts';
import { addPhoto, close, followUp, logEntry } from '../../server/safety/service/log.ts';
import { changeForm, registerForm } from '../../server/ware/service/describing.ts';
import { addToGroup, makeClass, makeHousehold, retireGroup } from '../../server/ware/service/groups.ts';
import { movePieces } from '../../server/ware/service/index.ts';
import { changePieces, registerPieces } from '../../server/ware/service/pieces.ts';
import { whenFileIsDone } from '../helpers/closing.ts';
import { runCommand } from '../helpers/command.ts';
import { aLoadedKiln } from '../helpers/firing.ts';
import { aKeptDemo } from '../helpers/kept-demo.ts';
import { aClay } from '../helpers/loads.ts';
import { aPriceList } from '../helpers/price-lists.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';
import { giveCard, givePin } from '../helpers/tablet.ts';
import { upload } from '../helpers/upload.ts';

/** Tables that refuse a change. */
const guarded = async (sql: postgres.Sql): Promise<string[]> =>
  (
    await sql<{ name: string }[]>`
      select distinct tgrelid::regclass::text as name from pg_trigger where tgname like '%append_only' order by 1`
  ).map(({ name }) => name);

const sameLedgers = async (sql: postgres.Sql, url: string) => {
  const names = (await guarded(sql)).filter((name) => name !== 'audit');
  const all = await sumTables(url);
  return Object.fromEntries(names.map((name) => [name, all[name]]));
};

const disabledTriggers = (sql: postgres.Sql) =>
  sql`select tgname from pg_trigger where not tgisinternal and tgenabled <> 'O'`;

const balances = (sql: postgres.Sql) =>
  sql`select account_id, sum(amount_minor)::text as minor from fee_postings group by 1 order by 1`;

describe('in the demo, one after the other', () => {
  it('everybody goes, and every ledger, balance and closed month is as it was', async () => {
    const { sql, ownerUrl, database, clock } = await aKeptDemo();
    const [maro] = await sql`select id, name, email, role from people where role = 'manager'`;
    const actor = { ...maro, id: Number(maro?.id), units: 'metric', tokenId: null, deviceId: null } as Actor;
    // What others wait for is handed over or closed first: ware in kilns, classes, trouble in the safety log.
    await sql`update groups set retired_at = now()`;
    await sql`update pieces set owner_id = ${actor.id} where stage = 'in-load'`;
    for (const { number } of await sql`select number from safety_entries where about is null order by 1`)
      await database
        .transaction((tx) => close({ tx, actor, now: clock.now() }, Number(number), { what: 'Seen to' }))
        .catch((error) => expect(error).toBeInstanceOf(Conflict));

    const before = await sameLedgers(sql, ownerUrl);
    expect(Object.keys(before).length).toBeGreaterThan(20);
    expect(before).toHaveProperty('fee_closings');
    const owed = await balances(sql);
    expect(owed.length).toBeGreaterThan(5);
    const said: string[] = [];
    for (const { email, name } of DEMO_PEOPLE) {
      const wish = { email, now: clock.now(), withBalance: true, rehearse: false };
      if (name === 'Maro') await expect(erase(ownerUrl, wish)).rejects.toThrow('This is the last manager.');
      else said.push((await erase(ownerUrl, wish))?.name ?? '');
    }
    expect(said).toEqual(said.map((_, i) => `Former member ${i + 1}`));
    expect(said).toHaveLength(DEMO_PEOPLE.length - 1);
    expect(await sql`select name from people where active`).toEqual([{ name: 'Maro' }]);

    expect(await sameLedgers(sql, ownerUrl)).toEqual(before);
    expect(await balances(sql)).toEqual(owed);
    expect((await examine(database)).faults).toEqual([]);
    expect(await disabledTriggers(sql)).toEqual([]);
  }, 60_000);
});

const NAME = 'Ottilie Brandewyn';
/** In everything that she writes. */
const WORD = 'zinnober';

describe('somebody who left a trace everywhere', () => {
  let s: Studio;
  let sql: postgres.Sql;
  let ottilie: Person;
  let bucket: string;
  let pieces: number[];
  let before: Awaited<ReturnType<typeof sameLedgers>>;
  const photo = (background: string) =>
    sharp({ create: { width: 60, height: 40, channels: 3, background } })
      .jpeg()
      .toBuffer();

  /** Every row of every table as text, files without their bytes. */
  const everything = async (): Promise<string> => {
    const tables = await sql<{ name: string }[]>`
      select relname as name from pg_class where relnamespace = 'public'::regnamespace and relkind = 'r'`;
    const rows = await Promise.all(
      tables.map(
        ({ name }) => sql`select ${name} || ' ' || (to_jsonb(t) - 'bytes')::text as row from ${sql(name)} t`,
      ),
    );
    return rows
      .flat()
      .map(({ row }) => row)
      .join('\n');
  };
  const go = (more: Partial<Parameters<typeof erase>[1]> = {}) =>
    erase(s.ownerUrl, {
      email: ottilie.email,
      now: s.clock.now(),
      withBalance: false,
      rehearse: false,
      ...more,
    });

  beforeAll(async () => {
    s = await aStudio();
    const client = postgres(s.ownerUrl, { max: 1, onnotice: () => {} });
    whenFileIsDone(() => client.end());
    sql = client;
    const { technician, manager } = s.people;
    ottilie = await s.aPerson('technician', NAME);
    bucket = await s.aBucket({ sg: 1.46 });
    const as = <T>(work: Parameters<typeof s.as<T>>[1], person = ottilie) => s.as(person, work);

    await as((act) => recordAct(act, bucket, 'notes', { note: `${WORD} by ${NAME}` } as never));
    await givePin(s, ottilie, '4071');
    await giveCard(s, ottilie);
    await as((act) => makeFeed(act));
    await as((act) => makeResetLink(act, { email: ottilie.email }), manager);
    await as((act) => invite(act, { email: 'next@millrace.example', role: 'member' }));
    await upload(s, ottilie, '/ware/marks', { text: WORD }, { bytes: await photo('#aa3300') });

    const clay = await aClay(s);
    const described = { form: 'bowl', clay, cone: '6', note: `${WORD} first`, mark: WORD };
    const registered = await as((act) =>
      registerPieces(act, registerForm.parse({ ...described, howMany: 2 })),
    );
    pieces = registered.numbers;
    const [one, two] = pieces as [number, number];
    // The note before leads nowhere from now on.
    await as((act) =>
      changePieces(act, one, changeForm.parse({ ...described, also: [two], note: `${WORD} second` })),
    );

    // Its picture stands in the ledger of the piece too; the one after it is the studio's.
    const picture = async (colour: string) =>
      pictureIn({ bytes: await photo(colour), isTooLarge: false }, 'photo');
    const own = await picture('#0033aa');
    const { numbers } = await as((act) => registerPieces(act, registerForm.parse(described), own));
    await as((act) => movePieces(act, 'ask-dry', numbers, {}));
    const back = { reason: 'not-dry', note: `${NAME}, the foot is cold` } as const;
    const cold = await picture('#3300aa');
    await as((act) => movePieces(act, 'return', numbers, back, cold), technician);
    const [theirs] = (
      await as(
        (act) => registerPieces(act, registerForm.parse({ form: 'bowl', clay, cone: '6' })),
        s.people.member,
      )
    ).numbers as [number];
    await as((act) => movePieces(act, 'flag', [theirs], { words: `${WORD}: look at the foot` }));
    const evidence = await picture('#00aa33');
    await as((act) => movePieces(act, 'ask-dry', [theirs], {}), s.people.member);
    await as((act) => movePieces(act, 'return', [theirs], { ...back, note: WORD }, evidence));
    const spill = { kind: 'spill', place: 'Glaze room', what: `${WORD} on the floor` } as const;
    await as((act) => logEntry(act, spill));
    const exposure = { kind: 'exposure', place: 'Glaze room', what: 'Powder in the eye' } as const;
    await as((act) => logEntry(act, exposure));
    const [number] = (await sql`select max(number) as n from safety_entries`).map(({ n }) => Number(n)) as [
      number,
    ];
    const splash = await picture('#aaaa33');
    await as((act) => addPhoto(act, number, splash));
    await as(
      (act) =>
        followUp(act, number, { what: `Ask ${NAME} again`, owner: ottilie.email, dueOn: '2099-01-01' }),
      technician,
    );
    const home = await as((act) => makeHousehold(act, { name: `The ${NAME} family` }));
    expect(home).toBeGreaterThan(0);
    // Told in a message and in an answer to a retry.
    const ids = await as((act) => makeHousehold(act, { name: 'Weir Lane' }), technician);
    await as((act) => addToGroup(act, ids, { who: ottilie.email }), technician);
    const guests = await as((act) => makeHousehold(act, { name: 'Guests' }));
    await as((act) => addToGroup(act, guests, { who: technician.email }));
    await as((act) => retireGroup(act, guests));

    await aPriceList(s);
    const account = await as((act) => openAccount(act, ottilie.email), manager);
    await as(
      (act) => chargeByHand(act, account.number, { amountMinor: 1250, reason: `Clay for ${NAME}` } as never),
      manager,
    );
    await sql`insert into idempotency_keys (person_id, key, fingerprint, answer, made_at)
      values (${manager.id}, 'k1', 'f', ${sql.json({ by: NAME, to: ottilie.email })}, now()),
        (${ottilie.id}, 'k2', 'f', ${sql.json({ note: WORD })}, now())`;
    await sql`insert into sign_in_failures (email, address, at) values (${ottilie.email}, '192.0.2.7', now())`;
    before = await sameLedgers(sql, s.ownerUrl);
  }, 60_000);

  it('is refused while others wait for what they reported or took on', async () => {
    await expect(go()).rejects.toThrow(/^In the safety log entries 1, 2 of theirs still wait/);
    for (const number of [1, 2])
      await s.as(s.people.technician, (act) => close(act, number, { what: 'Wiped up, looked at' }));
    before = await sameLedgers(sql, s.ownerUrl);
  });

  it('is refused while an account is not settled, and the refusal changes nothing', async () => {
    const all = await sumTables(s.ownerUrl);
    await expect(go()).rejects.toThrow(
      /^Not settled: account \d+ owes .*12\.50\. Settle it first, or say --with-balance/,
    );
    expect(await sumTables(s.ownerUrl)).toEqual(all);
  });

  it('is rehearsed without a change', async () => {
    const all = await sumTables(s.ownerUrl);
    const told = await go({ withBalance: true, rehearse: true });
    expect(told).toMatchObject({ name: 'Former member 1', address: 'former-member-1' });
    expect(await sumTables(s.ownerUrl)).toEqual(all);
  });

  it('leaves neither name nor address nor a word, and every ledger as it was', async () => {
    const trace = await everything();
    for (const left of [NAME, ottilie.email, WORD]) expect(trace).toContain(left);
    const owed = await balances(sql);
    const told = await go({ withBalance: true });
    const text = await everything();
    expect(text).not.toContain(ottilie.email);
    expect(text).not.toContain(WORD);
    // The law's record names her; nothing else does.
    expect(text.split('\n').filter((row) => row.includes(NAME))).toEqual([
      expect.stringMatching(/^safety_notes .*Powder in the eye\\n\\nWritten by Ottilie Brandewyn\."/),
    ]);
    for (const table of ['messages', 'sessions', 'calendar_feeds', 'idempotency_keys', 'group_people'])
      expect(await sql`select person_id from ${sql(table)} where person_id = ${ottilie.id}`, table).toEqual(
        [],
      );
    expect(told?.still).toEqual({ 'safety_notes.text': 1 });
    expect(await sameLedgers(sql, s.ownerUrl)).toEqual(before);
    expect(await balances(sql)).toEqual(owed);
    expect((await examine(s.database)).faults).toEqual([]);
  });

  it('removes pictures that nobody else needs, and keeps those of the safety log and of pieces of others', async () => {
    const kept = await sql`
      select (select entry from safety_photos p where p.file_id = f.id) as entry,
        (select count(*)::int from piece_events e where e.file_id = f.id) as events
      from files f where type = 'image/jpeg' order by f.id`;
    expect(kept).toEqual([
      { entry: null, events: 1 },
      { entry: 2, events: 0 },
    ]);
    // A ledger of hers still refers to one, which shows nothing.
    const blank = await sql`select length(bytes) as bytes from files where type = 'image/gif'`;
    expect(blank).toEqual([{ bytes: 42 }]);
    const [mark] = await sql`select text, file_id from marks where person_id = ${ottilie.id}`;
    expect(mark).toEqual({ text: '', file_id: null });
    expect(await sql`select id from pieces where owner_id = ${ottilie.id} and file_id is not null`).toEqual(
      [],
    );
  });

  it('takes her words out of what others were told, and leaves the rest of the sentence', async () => {
    const told = await sql`select words from messages where person_id = ${s.people.member.id} order by id`;
    expect(told.map(({ words }) => words)).toEqual([
      expect.stringMatching(/^Piece \d+ is kept back: \(removed\)$/),
      expect.stringMatching(/^Piece \d+ was given back to you: \(removed\)/),
    ]);
    const notes = await sql`select text from piece_notes where text like '%the foot is cold'`;
    expect(notes).toEqual([{ text: 'Former member 1, the foot is cold' }]);
  });

  it('lets her in by no way', async () => {
    const { email, password } = ottilie;
    expect((await s.submit(null, '/sign-in', { email, password })).statusCode).not.toBe(303);
    expect((await s.submit(null, '/sign-in', { email: 'former-member-1', password: '' })).statusCode).toBe(
      422,
    );
    expect((await s.visit(ottilie, '/me')).statusCode).toBe(303);
    expect((await s.api(ottilie, 'GET', '/buckets')).statusCode).toBe(401);
    const [row] =
      await sql`select password_hash, pin_hash, card_hash, active, role from people where id = ${ottilie.id}`;
    expect(row).toEqual({
      password_hash: '',
      pin_hash: null,
      card_hash: null,
      active: false,
      role: 'member',
    });
    const reactivate = { email: 'former-member-1', active: 'true' };
    const answer = await s.submit(s.people.manager, '/people/activity', reactivate);
    expect(answer.statusCode).not.toBe(303);
  });

  it('shows her as a former member where she stood, and offers her nowhere', async () => {
    const { technician, manager } = s.people;
    const ledger = (await s.visit(technician, `/buckets/${bucket}/ledger`)).body;
    expect(ledger).toContain('Former member 1');
    expect(ledger).toContain(REMOVED);
    expect((await s.visit(manager, '/people')).body).toContain('Former member 1');
    const accounts = await s.visit(manager, '/fees/accounts');
    expect(accounts.body).toContain('Former member 1');
    for (const url of [
      `/ware/${pieces[0]}`,
      '/ware/marks/all',
      '/ware/desk',
      '/today',
      '/people',
      '/kilns/new',
      '/safety/inductions/new',
      '/ware/groups/new',
    ]) {
      const { body, statusCode } = await s.visit(manager, url);
      expect([url, statusCode < 500]).toEqual([url, true]);
      expect(body, url).not.toContain(NAME);
      expect(body.match(/<option[^>]*>[^<]*Former member 1/), url).toBeNull();
    }
  });

  it('shows the record that keeps her name to technicians and managers only', async () => {
    expect((await s.visit(s.people.technician, '/safety/log/2')).body).toContain(`Written by ${NAME}.`);
    expect((await s.visit(s.people.member, '/safety/log')).body).not.toContain(NAME);
    expect((await s.visit(s.people.member, '/safety/log/2')).statusCode).toBe(404);
  });

  it('is done once: again it says so', async () => {
    const all = await sumTables(s.ownerUrl);
    expect(await go({ email: 'former-member-1' })).toBeNull();
    await expect(go()).rejects.toThrow(NotFound);
    expect(await sumTables(s.ownerUrl)).toEqual(all);
  });

  it('is noted in the audit without anything personal', async () => {
    const rows = await sql`select by, act, subject, details from audit where act = 'person.erased'`;
    expect(rows).toEqual([
      { by: null, act: 'person.erased', subject: `person:${ottilie.id}`, details: { number: 1 } },
    ]);
  });
});

describe('whom others still need', () => {
  let s: Studio;
  beforeAll(async () => {
    s = await aStudio();
  });
  const go = (person: Person, more: Partial<Parameters<typeof erase>[1]> = {}) =>
    erase(s.ownerUrl, {
      email: person.email,
      now: s.clock.now(),
      withBalance: false,
      rehearse: false,
      ...more,
    });

  it('stays as the last manager, and may go once there is another', async () => {
    const { manager } = s.people;
    await expect(go(manager, { withBalance: true })).rejects.toThrow('This is the last manager.');
    const second = await s.aPerson('manager');
    expect(await go(second)).toMatchObject({ name: 'Former member 1' });
    await expect(go(manager)).rejects.toThrow('This is the last manager.');
  });

  it('stays while their ware is in a load', async () => {
    const owner = await s.aPerson();
    const { pieces } = await aLoadedKiln(s, { owner });
    await expect(go(owner)).rejects.toThrow(`In a load: pieces ${pieces.join(', ')}. Wait until`);
  });

  it('stays while they answer for a class, or for a household that others are in', async () => {
    const teacher = await s.aPerson();
    const id = await s.as(s.people.technician, (act) =>
      makeClass(act, { name: 'Tuesdays', contact: teacher.email }),
    );
    await expect(go(teacher)).rejects.toThrow('They answer for Tuesdays.');
    await s.as(s.people.technician, (act) => retireGroup(act, id));
    const home = await s.as(teacher, (act) => makeHousehold(act, { name: 'Mill Lane' }));
    await s.as(teacher, (act) => addToGroup(act, home, { who: s.people.member.email }));
    await expect(go(teacher)).rejects.toThrow('They answer for Mill Lane.');
  });

  it('stays while the studio owes them, and goes when all is paid', async () => {
    const { manager } = s.people;
    const payer = await s.aPerson();
    await aPriceList(s);
    const { number } = await s.as(manager, (act) => openAccount(act, payer.email));
    await s.as(manager, (act) => recordPayment(act, number, { amountMinor: 500, how: 'cash' } as never));
    await expect(go(payer)).rejects.toThrow(`account ${number} has £5.00 in credit`);
    await s.as(manager, (act) => chargeByHand(act, number, { amountMinor: 500, reason: 'Clay' } as never));
    expect(await go(payer)).not.toBeNull();
  });

  it('takes two at once, each with a number of their own', async () => {
    const two = [await s.aPerson(), await s.aPerson()];
    const names = (await Promise.all(two.map((one) => go(one)))).map((told) => told?.name);
    expect(new Set(names).size).toBe(2);
  });

  it('knows nobody by an address that is not here', async () => {
    await expect(go({ ...s.people.member, email: 'nobody@millrace.example' })).rejects.toThrow(NotFound);
  });
});

describe('the command', () => {
  let demo: Awaited<ReturnType<typeof aKeptDemo>>;
  let folder: string;
  beforeAll(async () => {
    demo = await aKeptDemo();
    folder = await mkdtemp(join(tmpdir(), 'person-'));
  });
  afterAll(() => rm(folder, { recursive: true }));

  const run = (...args: string[]) =>
    runCommand('person', args, { DATABASE_URL: demo.appUrl, DATABASE_OWNER_URL: demo.ownerUrl });
  const email = 'tomas@millrace.example';

  it('exports, rehearses, erases, and says so when it is done already', async () => {
    const file = join(folder, 'tomas.json');
    const exported = await run('export', email.toUpperCase(), file);
    expect(exported).toMatchObject({ code: 0, stderr: '' });
    expect(exported.stdout).toMatch(/^\d+ rows about tomas@millrace\.example are in /);
    expect((await stat(file)).mode & 0o777).toBe(0o600);
    expect(JSON.parse(await readFile(file, 'utf8')).tables.people.rows).toHaveLength(1);
    const again = await run('export', email, file);
    expect(again).toMatchObject({ code: 1, stdout: '' });
    expect(again.stderr).toContain('exists, and is not written over.');

    const flags = ['erase', email, '--with-balance'];
    expect((await run(...flags)).stdout).toContain('Nothing was changed: add --yes to do it.');
    const done = await run(...flags, '--yes');
    expect(done).toMatchObject({ code: 0, stderr: '' });
    expect(done.stdout).toContain('is Former member 1 from now on, and is found as former-member-1.');
    expect(done.stdout).toContain('tax law asks for books');
    expect(done.stdout).toContain('Backups made before still hold everything');
    const known = await run('erase', 'former-member-1', '--yes');
    expect(known).toMatchObject({
      code: 0,
      stdout: 'former-member-1 is erased already. Nothing was changed.\n',
    });
    expect((await run('erase', email, '--yes')).stderr).toContain('never here, or erased already.');
  }, 60_000);

  it.each([[['remove', email]], [['export', email]], [['erase', email, '--no']]])(
    'refuses %j in a line',
    async (args) => {
      const { code, stdout, stderr } = await run(...args);
      expect({ code, stdout }).toEqual({ code: 1, stdout: '' });
      expect(stderr).toContain('npm run person -- export EMAIL FILE.json');
      expect(stderr.trim().split('\n')).toHaveLength(1);
    },
  );
});
