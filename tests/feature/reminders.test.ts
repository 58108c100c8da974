import { eq } from 'drizzle-orm';
import { expect, test } from 'vitest';
import { recordAct } from '../../server/buckets/service/index.ts';
import { DAY, HOUR, MINUTE } from '../../server/core/clock.ts';
import { mails, messages, people } from '../../server/core/schema.ts';
import { noteReading, shutOff } from '../../server/kilns/service/index.ts';
import { postNotice, readNotice } from '../../server/safety/service/notices.ts';
import { remindEverybody } from '../../server/today/service/reminders.ts';
import { aLoadedKiln, emptied, started } from '../helpers/firing.ts';
import { anApp, aStudio, type Person } from '../helpers/studio.ts';

const MORNING = Date.parse('2026-12-01T07:31:00Z');

const setting = async () => {
  const s = await aStudio();
  const { db } = s.database;
  s.clock.forward(MORNING - DAY - s.clock.now());
  const remind = () => remindEverybody(s.services);
  const toldTo = async (person: Person, kind?: string) =>
    (await db.select().from(messages).where(eq(messages.personId, person.id)).orderBy(messages.id))
      .filter((one) => kind === undefined || one.kind === kind)
      .map(({ words }) => words);
  /** A bucket in use that nobody has stirred since then. */
  const aBucketInUse = async (name: string) => {
    const code = await s.aBucket({ name, sg: 1.46, stirredMinutesAgo: 1 });
    await s.as(s.people.member, (act) =>
      recordAct(act, code, 'dippings', { pieces: 3, happenedAt: s.clock.now() } as never),
    );
    return code;
  };
  return { ...s, db, remind, toldTo, aBucketInUse };
};

test('technicians hear of buckets in use that stand, once, in one message, in the morning', async () => {
  const { clock, remind, toldTo, aBucketInUse, people: staff } = await setting();
  const codes = [await aBucketInUse('Harbour Grey'), await aBucketInUse('Celadon')];
  clock.forward(4 * DAY - 2 * MINUTE);
  await remind();
  expect(await toldTo(staff.technician, 'stir')).toEqual([]);
  clock.forward(2 * MINUTE);
  await remind();
  for (let i = 0; i < 3; i++) {
    clock.forward(15 * MINUTE);
    await remind();
  }
  const words = `Celadon ${codes[1]} and Harbour Grey ${codes[0]} are in use and were not stirred for days. Stir to the bottom before it sets hard.`;
  expect(await toldTo(staff.technician, 'stir')).toEqual([words]);
  expect(await toldTo(staff.manager, 'stir')).toEqual([words]);
  expect(await toldTo(staff.member)).toEqual([]);
});

test('the day has one list for each of the staff, by mail as they usually get it, and none where nothing is due', async () => {
  const { clock, db, remind, toldTo, aBucketInUse, people: staff } = await setting();
  clock.forward(DAY);
  await remind();
  expect(await toldTo(staff.technician, 'day')).toEqual([]);
  clock.forward(HOUR);
  // What comes up later in the day is on the next day's list.
  const code = await aBucketInUse('Harbour Grey');
  await remind();
  expect(await toldTo(staff.technician, 'day')).toEqual([]);
  clock.forward(9 * DAY - HOUR);
  await db.update(people).set({ active: false }).where(eq(people.id, staff.manager.id));
  await Promise.all([remind(), remind(), remind()]);
  await remind();
  expect(await toldTo(staff.technician, 'day')).toEqual([
    expect.stringMatching(/needs? somebody today: .*glaze wall 1/),
  ]);
  const letters = await db.select().from(mails).where(eq(mails.kind, 'day'));
  expect(letters.map(({ personId }) => personId)).toEqual([staff.technician.id]);
  expect(letters[0]?.body).toContain(`- Needs a reading, Harbour Grey ${code}: `);
  expect(letters[0]?.subject).toMatch(/needs? somebody today$/);
  expect(await toldTo(staff.manager, 'day')).toEqual([]);
});

test('several processes at once tell everything once', async () => {
  const { clock, remind, toldTo, aBucketInUse, people: staff } = await setting();
  await aBucketInUse('Harbour Grey');
  clock.forward(9 * DAY);
  await Promise.all(Array.from({ length: 4 }, remind));
  expect(await toldTo(staff.technician, 'stir')).toHaveLength(1);
  expect(await toldTo(staff.technician, 'day')).toHaveLength(1);
});

test('a notice is told of after a day to whoever has not read it, and again after a week', async () => {
  const { as, clock, remind, toldTo, people: staff } = await setting();
  const number = await as(staff.technician, (act) =>
    postNotice(act, {
      scope: 'everywhere',
      title: 'Wet cleaning only',
      cleaning: 'Wipe, never sweep.',
      validFrom: '2026-11-01',
      notForChildren: false,
    } as never),
  );
  await as(staff.manager, (act) => readNotice(act, number));
  for (const days of [1, 1, 5, 1, 4]) {
    clock.forward(days * DAY);
    await remind();
  }
  expect(await toldTo(staff.member)).toEqual([
    'A notice waits to be read: Wet cleaning only.',
    'A notice waits to be read: Wet cleaning only.',
  ]);
  expect(await toldTo(staff.manager, 'notice')).toEqual([]);
});

test('owners hear of ware that waits to be fetched, after a week and before it is put away', async () => {
  const s = await setting();
  const load = await aLoadedKiln(s);
  await emptied(s, load.number);
  const pickUp = () => s.toldTo(s.people.member, 'pick-up');
  for (const days of [6, 1, 1, 1, 12, 1]) {
    s.clock.forward(days * DAY);
    await s.remind();
  }
  expect(await pickUp()).toEqual([
    expect.stringMatching(/^Pieces .* wait to be fetched, the first for [78] days\.$/),
    expect.stringMatching(/^Pieces .* wait to be fetched, the first for 2[12] days\.$/),
  ]);
  expect(await s.toldTo(s.people.manager, 'pick-up')).toEqual([]);
});

test('whoever fires a kiln hears that its load may be opened, at any hour and once', async () => {
  const s = await setting();
  const { number, kiln } = await aLoadedKiln(s);
  await started(s, number);
  s.clock.forward(9 * HOUR);
  await s.as(s.people.technician, (act) => shutOff(act, number, {}));
  await s.as(s.people.technician, (act) => noteReading(act, number, { celsius: 900 }));
  await s.remind();
  expect(await s.toldTo(s.people.technician, 'open')).toEqual([]);
  // Whatever the forecast is by then.
  s.clock.forward(9 * DAY + 8 * HOUR);
  await s.remind();
  s.clock.forward(DAY);
  await s.remind();
  expect(await s.toldTo(s.people.technician, 'open')).toEqual([
    `Load ${number} in ${kiln.name} may be cold enough to open. That is an estimate: read the pyrometer first.`,
  ]);
  expect(await s.toldTo(s.people.member, 'open')).toEqual([]);
});

test('before a studio is set up nobody is reminded', async () => {
  const { services } = await anApp();
  expect(await remindEverybody(services)).toBe(0);
});
