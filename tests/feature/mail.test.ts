import { eq, sql } from 'drizzle-orm';
import { expect, test } from 'vitest';
import { DAY, HOUR, MINUTE } from '../../server/core/clock.ts';
import { createPost } from '../../server/core/mail.ts';
import { tell } from '../../server/core/messages.ts';
import { countMail, sendDueMail } from '../../server/core/outbox.ts';
import { mails, messages, people, toldChoices } from '../../server/core/schema.ts';
import type { Way } from '../../server/core/told.ts';
import { aMailServer, header } from '../helpers/mail-server.ts';
import { aStudio, type Person } from '../helpers/studio.ts';

const setting = async (env: NodeJS.ProcessEnv = {}) => {
  const server = await aMailServer();
  const s = await aStudio({ SMTP_URL: server.url, MAIL_FROM: 'Glaze room <glaze@millrace.example>', ...env });
  const { db } = s.database;
  const { member, technician } = s.people;
  const say = (words: string, { to = [member], kind = 'came-out', href = '/ware/3' } = {}) =>
    s.as(technician, (act) => tell(act, { personIds: to.map(({ id }) => id), kind, words, href }));
  const choose = (person: Person, kind: string, way: Way) =>
    db.insert(toldChoices).values({ personId: person.id, kind, way });
  const send = () => sendDueMail(s.services);
  const rows = () => db.select().from(mails).orderBy(mails.id);
  const subjects = () => server.got.map(({ subject }) => subject.replace(' (Millrace Clay Commons)', ''));
  return { ...s, db, server, member, say, choose, send, rows, subjects };
};

test('what is committed is sent once, to whoever chose mail, with a way back', async () => {
  const {
    say,
    send,
    server,
    member,
    people: staff,
    rows,
    choose,
  } = await setting({
    PUBLIC_URL: 'https://glaze.millrace.example',
  });
  await choose(staff.manager, 'pick-up', 'inbox');
  await say('Piece 3 is fired. Fetch it from the shelf by the door.', { to: [member, staff.manager] });
  expect(await send()).toBe(1);
  expect(await send()).toBe(0);
  expect(server.got).toHaveLength(1);
  const [mail] = server.got;
  expect(mail).toMatchObject({
    to: member.email,
    from: 'glaze@millrace.example',
    subject: 'Piece 3 is fired (Millrace Clay Commons)',
  });
  const raw = mail?.raw ?? '';
  expect(header(raw, 'From')).toBe('Glaze room <glaze@millrace.example>');
  expect(header(raw, 'To')).toBe(`Ida <${member.email}>`);
  expect(header(raw, 'Auto-Submitted')).toBe('auto-generated');
  expect(header(raw, 'List-Unsubscribe')).toBe('<https://glaze.millrace.example/me/told>');
  expect(header(raw, 'Content-Type')).toMatch(/^text\/plain/);
  expect(raw).toContain('See: https://glaze.millrace.example/ware/3');
  expect(raw).toContain('Choose what reaches you: https://glaze.millrace.example/me/told');
  expect(await rows()).toMatchObject([{ sentTo: member.email, tries: 1, lastError: null, givenUpAt: null }]);
});

test('an act that fails tells nobody, and whoever chose none hears nothing', async () => {
  const { as, choose, db, member, say, send, server, people: staff } = await setting();
  await expect(
    as(staff.technician, async (act) => {
      await tell(act, {
        personIds: [member.id],
        kind: 'came-out',
        words: 'Piece 3 is fired.',
        href: '/ware/3',
      });
      throw new Error('The act fails.');
    }),
  ).rejects.toThrow('The act fails.');
  await choose(member, 'pick-up', 'none');
  await say('Piece 4 is fired.');
  // Statements cannot be silenced: a choice from before that rule counts for nothing.
  await choose(member, 'fees', 'none');
  await say('Your statement for October is ready: £12.00 to pay.', { kind: 'statement' });
  await db.update(people).set({ active: false }).where(eq(people.id, staff.manager.id));
  await say('You teach Wheel 2.', { to: [staff.manager], kind: 'group' });
  await send();
  expect(server.got.map(({ subject }) => subject)).toEqual(['Your account (Millrace Clay Commons)']);
  expect((await db.select().from(messages)).map(({ words }) => words)).toEqual([
    'Your statement for October is ready: £12.00 to pay.',
  ]);
});

test('names and words with line breaks and quotes put nothing into the header', async () => {
  const { aPerson, db, say, send, server } = await setting();
  const hostile = await aPerson('member', 'Plain');
  const name = 'Ida "Bo", <x@evil.example>\r\nBcc: all@evil.example';
  await db.update(people).set({ name }).where(eq(people.id, hostile.id));
  await say('Piece 3\r\nBcc: all@evil.example\r\n\r\nis fired.', { to: [hostile], href: '/ware/3' });
  await db.update(mails).set({ subject: sql`${mails.subject} || E'\\r\\nX-Bad: yes'` });
  await send();
  const [mail] = server.got;
  const head = mail?.raw.split('\r\n\r\n')[0] ?? '';
  expect(mail?.to).toBe(hostile.email);
  expect(head).not.toMatch(/^Bcc:/im);
  expect(head).not.toMatch(/^X-Bad:/im);
  expect(head.split('\r\n').filter((line) => /^To:/i.test(line))).toHaveLength(1);
});

test('a mail server that is away for a day: nothing is lost, nothing is sent twice, the order stays', async () => {
  const { clock, say, send, server, people: staff, member, rows, subjects } = await setting();
  const port = Number(new URL(server.url).port);
  await server.close();
  const persons = [member, staff.manager];
  for (let hour = 0; hour < 24; hour++) {
    await say(`Piece ${hour} is fired.`, { to: persons });
    for (let minute = 0; minute < 60; minute += 5) {
      expect(await send()).toBe(0);
      clock.forward(5 * MINUTE);
    }
  }
  const waiting = await rows();
  expect(waiting).toHaveLength(48);
  expect(waiting.every(({ sentAt, givenUpAt }) => sentAt === null && givenUpAt === null)).toBe(true);
  expect(waiting[0]?.lastError).toMatch(/ECONNREFUSED/);
  const back = await aMailServer(port);
  server.got = back.got;
  for (let minute = 0; minute < 70; minute++) {
    await send();
    clock.forward(MINUTE);
  }
  for (const { email } of persons)
    expect(back.got.filter(({ to }) => to === email).map(({ subject }) => subject)).toEqual(
      Array.from({ length: 24 }, (_, hour) => `Piece ${hour} is fired (Millrace Clay Commons)`),
    );
  expect(new Set(back.got.map(({ messageId }) => messageId)).size).toBe(48);
  expect(subjects()).toHaveLength(48);
});

test('what the server will never take is given up and shown, and the rest goes on', async () => {
  const { say, send, server, rows, visit, submit, people: staff, member } = await setting();
  server.answers.rcpt = { code: 550, words: 'No such mailbox here' };
  await say('Piece 1 is fired.');
  await send();
  server.answers.rcpt = { code: 450, words: 'Greylisted, come back later' };
  await say('Piece 2 is fired.');
  await send();
  expect(await rows()).toMatchObject([
    { givenUpAt: expect.any(Number), lastError: expect.stringContaining('No such mailbox here') },
    { givenUpAt: null, sentAt: null, tries: 1, lastError: expect.stringContaining('Greylisted') },
  ]);
  server.answers.rcpt = null;
  const page = (await visit(staff.technician, '/mail')).body;
  expect(page).toContain('Given up');
  expect(page).toContain('No such mailbox here');
  const [first] = await rows();
  const again = await submit(staff.technician, '/mail/again', { mail: String(first?.id) });
  expect(again.statusCode).toBe(303);
  expect(await send()).toBe(1);
  expect(server.got.map(({ to }) => to)).toEqual([member.email]);
  expect((await submit(staff.technician, '/mail/again', { mail: String(first?.id) })).statusCode).toBe(404);
});

test('a server that goes down in the middle is no reason to give a mail up', async () => {
  const { say, send, server, rows } = await setting();
  server.answers.data = { code: 421, words: 'Going down for a moment' };
  await say('Piece 1 is fired.');
  await send();
  expect(await rows()).toMatchObject([{ givenUpAt: null, tries: 1 }]);
});

test('a mail is given up after five days of trying', async () => {
  const { clock, say, send, server, rows } = await setting();
  server.answers.data = { code: 451, words: 'Not now' };
  await say('Piece 1 is fired.');
  let tries = 0;
  for (let hours = 0; hours <= 5 * 24 + 6; hours += 6) {
    await send();
    clock.forward(6 * HOUR);
    tries = (await rows())[0]?.tries ?? 0;
  }
  expect(await rows()).toMatchObject([
    { givenUpAt: expect.any(Number), lastError: expect.stringContaining('Not now') },
  ]);
  expect(tries).toBeGreaterThan(18);
});

test('in their quiet time nothing goes out, even when it was chosen after the mail was made', async () => {
  const { clock, db, member, say, send, server, rows } = await setting();
  clock.forward(Date.parse('2026-12-01T21:55:00Z') - clock.now());
  await say('Piece 1 is fired.');
  await db
    .update(people)
    .set({ quietFrom: 22 * 60, quietUntil: 7 * 60 })
    .where(eq(people.id, member.id));
  clock.forward(10 * MINUTE);
  expect(await send()).toBe(0);
  await say('Piece 2 is fired.');
  for (let hours = 0; hours < 8; hours++) {
    clock.forward(HOUR);
    expect(await send()).toBe(0);
  }
  expect((await rows()).map(({ dueAt, tries }) => [new Date(dueAt).toISOString(), tries])).toEqual([
    ['2026-12-02T07:00:00.000Z', 0],
    ['2026-12-02T07:00:00.000Z', 0],
  ]);
  clock.forward(HOUR);
  expect(await send()).toBe(2);
  expect(server.got).toHaveLength(2);
});

test('many processes at once send each mail once, and each person their mail in order', async () => {
  const { aPerson, say, services, server } = await setting();
  const persons = await Promise.all(Array.from({ length: 5 }, () => aPerson()));
  for (let i = 1; i <= 6; i++) await say(`Piece ${i} is fired.`, { to: persons });
  while ((await countMail(services.database.db)).waiting > 0)
    await Promise.all(Array.from({ length: 4 }, () => sendDueMail(services)));
  expect(server.got).toHaveLength(30);
  for (const { email } of persons)
    expect(server.got.filter(({ to }) => to === email).map(({ subject }) => subject[6])).toEqual([
      ...'123456',
    ]);
});

test('without a mail server mail is kept, who sees its words is limited, and old mail is not sent when one comes', async () => {
  const s = await aStudio();
  const { member, technician, manager } = s.people;
  const say = (words: string) =>
    s.as(technician, (act) =>
      tell(act, { personIds: [member.id], kind: 'statement', words, href: '/fees/accounts/1' }),
    );
  await say('Your statement for October is ready: £12.00 to pay.');
  expect(await sendDueMail(s.services)).toBe(0);
  const seen = (await s.visit(technician, '/mail')).body;
  expect(seen).toContain('Your account');
  expect(seen).toContain(member.email);
  expect(seen).not.toContain('£12.00');
  expect(seen).toContain('SMTP_URL');
  expect((await s.visit(manager, '/mail')).body).toContain('£12.00');
  expect((await s.visit(member, '/mail')).statusCode).toBe(403);
  s.clock.forward(6 * DAY);
  await say('Your statement for November is ready: £14.00 to pay.');
  const server = await aMailServer();
  const post = createPost({ url: server.url, from: { name: '', address: 'glaze@millrace.example' } });
  expect(await sendDueMail(s.services, { post })).toBe(1);
  post.close();
  expect(server.got[0]?.raw).toMatch(/November/);
  expect((await s.visit(manager, '/mail')).body).toContain('made too long ago');
});
