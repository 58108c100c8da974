import { expect, test } from 'vitest';
import { MINUTE } from '../../server/core/clock.ts';
import { tell } from '../../server/core/messages.ts';
import { aStudio } from '../helpers/studio.ts';

const setting = async () => {
  const s = await aStudio();
  const { member, technician } = s.people;
  const say = (words: string, to = member) =>
    s.as(technician, (act) => tell(act, { personIds: [to.id], kind: 'load', words, href: '/ware' }));
  const unread = async (path = '/wall', person = member) =>
    /(\d+) unread messages?/.exec((await s.visit(person, path)).body)?.[1] ?? null;
  return { ...s, member, say, unread };
};

const upToOf = (html: string) => /name="upTo" value="(\d+)"/.exec(html)?.[1] ?? '';

test('messages are counted beside the own section of whoever they are for, until they are read', async () => {
  const { say, unread, visit, submit, member, people } = await setting();
  expect(await unread()).toBeNull();
  expect((await visit(member, '/messages')).body).toContain('No messages yet');
  await say('Piece 3 is bisqued: glaze next.');
  await say('<b>Piece 4</b> is fired.');
  expect(await unread()).toBe('2');
  expect(await unread('/kilns')).toBe('2');
  expect(await unread('/wall', people.manager)).toBeNull();
  expect((await visit(member, '/me')).body).toContain('2 unread messages');

  const page = (await visit(member, '/messages')).body;
  expect(page.indexOf('Piece 4')).toBeLessThan(page.indexOf('Piece 3'));
  expect(page).not.toContain('<b>Piece 4');
  const read = await submit(member, '/messages', { upTo: upToOf(page) });
  expect(read.headers.location).toBe('/messages?done=read');
  expect(await unread()).toBeNull();
  const after = (await visit(member, '/messages?done=read')).body;
  expect(after).toContain('Marked as read.');
  expect(after).toContain('Piece 3');
  expect(after).not.toContain('>New<');
});

test('what came after the page was opened stays unread', async () => {
  const { say, unread, visit, submit, member, clock } = await setting();
  await say('Seen.');
  const page = (await visit(member, '/messages')).body;
  clock.forward(MINUTE);
  await say('Not seen.');
  await submit(member, '/messages', { upTo: upToOf(page) });
  expect(await unread()).toBe('1');
});

test("nobody reads or ends another one's, and nonsense is refused", async () => {
  const { say, unread, visit, submit, people } = await setting();
  await say('For Ida.');
  expect((await visit(people.manager, '/messages')).body).not.toContain('For Ida.');
  await submit(people.manager, '/messages', { upTo: String(Number.MAX_SAFE_INTEGER) });
  expect(await unread()).toBe('1');
  for (const upTo of ['', 'x', '-1', '1e400'])
    expect((await submit(people.member, '/messages', { upTo })).statusCode, upTo).toBe(422);
  expect(
    (await submit(people.member, '/messages', { upTo: String(Number.MAX_SAFE_INTEGER) })).statusCode,
  ).toBe(303);
  expect((await visit(null, '/messages')).headers.location).toBe('/sign-in?next=%2Fmessages');
});
