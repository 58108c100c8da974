import { eq } from 'drizzle-orm';
import { expect, test } from 'vitest';
import { people, studio, toldChoices } from '../../server/core/schema.ts';
import { aStudio } from '../helpers/studio.ts';

test('everybody chooses what reaches them, of what concerns them', async () => {
  const { visit, submit, people: staff, database } = await aStudio();
  const { member, technician } = staff;
  const own = (await visit(member, '/me/told')).body;
  expect(own).toContain('Your ware came out of a kiln');
  expect(own).toContain('No mail goes out from here yet');
  expect(own).not.toContain('name="stir"');
  expect((await visit(technician, '/me/told')).body).toContain('name="stir"');
  expect((await visit(member, '/me')).body).toContain('href="/me/told"');

  const saved = await submit(member, '/me/told', {
    'pick-up': 'none',
    // Not theirs to choose: left alone.
    stir: 'mail',
    quietFrom: '22:00',
    quietUntil: '07:15',
  });
  expect(saved.headers.location).toBe('/me/told?done=saved');
  expect(await database.db.select().from(toldChoices)).toEqual([
    { personId: member.id, kind: 'pick-up', way: 'none' },
  ]);
  const again = (await visit(member, '/me/told?done=saved')).body;
  expect(again).toContain('Saved.');
  expect(again).toContain('value="22:00"');
  expect(again).toContain('value="07:15"');
  await submit(member, '/me/told', { 'pick-up': 'mail' });
  expect(await database.db.select().from(people).where(eq(people.id, member.id))).toMatchObject([
    { quietFrom: null, quietUntil: null },
  ]);
  expect(await database.db.select().from(toldChoices)).toMatchObject([{ way: 'mail' }]);
});

test('what cannot be chosen is refused beside its field, and the rest comes back as typed', async () => {
  const { submit, people: staff, database } = await aStudio();
  for (const [fields, why] of [
    [{ fees: 'none' }, 'One of inbox, mail.'],
    [{ 'sign-in': 'inbox' }, 'One of mail.'],
    [{ 'pick-up': 'pigeon' }, 'One of inbox, mail, none.'],
    [{ quietFrom: '22:00' }, 'Give both times, or none.'],
    [{ quietFrom: '22:00', quietUntil: '22:00' }, 'Another time than the first'],
    [{ quietFrom: '25:00', quietUntil: '07:00' }, 'A time such as 22:00.'],
    [{ quietFrom: '9:00', quietUntil: '07:00' }, 'A time such as 22:00.'],
  ] as const) {
    const answer = await submit(staff.member, '/me/told', fields);
    expect(answer.statusCode, JSON.stringify(fields)).toBe(422);
    expect(answer.body).toContain(why);
  }
  // What is no field of the form is not read.
  expect((await submit(staff.member, '/me/told', { pigeons: 'mail' })).statusCode).toBe(303);
  expect(await database.db.select().from(toldChoices)).toEqual([]);
});

test('a manager says when the day begins', async () => {
  const { visit, submit, people: staff, database } = await aStudio();
  expect((await visit(staff.manager, '/mail')).body).toContain('value="07:30"');
  expect((await visit(staff.technician, '/mail')).body).not.toContain('name="digestAt"');
  expect((await submit(staff.technician, '/mail/day', { digestAt: '06:00' })).statusCode).toBe(403);
  expect((await submit(staff.manager, '/mail/day', { digestAt: 'six' })).statusCode).toBe(422);
  expect((await submit(staff.manager, '/mail/day', { digestAt: '06:05' })).statusCode).toBe(303);
  expect(await database.db.select({ at: studio.digestAt }).from(studio)).toEqual([{ at: 365 }]);
});
