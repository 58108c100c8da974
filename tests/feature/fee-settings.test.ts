import { eq } from 'drizzle-orm';
import { beforeAll, describe, expect, it } from 'vitest';
import { lastRecord } from '../../server/core/audit.ts';
import { feeAccounts } from '../../server/fees/schema.ts';
import { payersFor } from '../../server/fees/service/ledger.ts';
import { changeFeeSettings, feeSettings } from '../../server/fees/service/settings.ts';
import { beginTariff, changeTariff, putInForce } from '../../server/fees/service/tariffs.ts';
import { USUAL_FEES } from '../../server/fees/settings.ts';
import { readAs } from '../helpers/loads.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
let maro: Person;
let ida: Person;
beforeAll(async () => {
  s = await aStudio();
  ({ manager: maro, member: ida } = s.people);
});

const FORM = {
  classes: 'member\nstudent\nguest',
  creditLimitMinor: '20.00',
  dueDays: '14',
  delimiter: ',',
  decimalMark: '.',
};
const save = (more: Record<string, string> = {}, person = maro) =>
  s.submit(person, '/fees/settings', { ...FORM, ...more });

describe('fee settings', () => {
  it('are the usual ones until a manager chooses; members and technicians may not', async () => {
    expect(await feeSettings(readAs(s, ida))).toEqual(USUAL_FEES);
    for (const person of [ida, s.people.technician]) {
      expect((await s.visit(person, '/fees/settings')).statusCode).toBe(403);
      expect((await save({}, person)).statusCode).toBe(403);
    }
    expect((await s.visit(maro, '/fees/settings')).statusCode).toBe(200);
  });

  it('are read as they are typed', async () => {
    const answer = await save({
      classes: 'member, student\n guest \n\nteacher',
      creditLimitMinor: '35,50',
      dueDays: '30',
      payWords: 'To the tin by the door.',
      delimiter: 'tab',
      decimalMark: ',',
      'code-income-firing': '4711',
    });
    expect(answer.headers.location).toBe('/fees/settings?done=saved');
    const settings = await feeSettings(readAs(s, ida));
    expect(settings).toMatchObject({
      classes: ['member', 'student', 'guest', 'teacher'],
      creditLimitMinor: 3550,
      dueDays: 30,
      payWords: 'To the tin by the door.',
      delimiter: '\t',
      decimalMark: ',',
    });
    expect(settings.codes['income:firing']).toBe('4711');
    // What was left empty is the usual one.
    expect(settings.codes['tax:tax']).toBe(USUAL_FEES.codes['tax:tax']);
  });

  it('are not written over what somebody else changed since; what was typed stays', async () => {
    const shown = async () =>
      /name="seen" value="([^"]+)"/.exec((await s.visit(maro, '/fees/settings')).body)?.[1] ?? '';
    const seen = await shown();
    const mine = { classes: 'member\nstudent\nguest\nteacher', dueDays: '21', seen };
    expect((await save({ ...mine, dueDays: '20' })).statusCode).toBe(303);
    const late = await save(mine);
    expect(late.statusCode).toBe(409);
    expect(late.body).toContain('Somebody changed these settings');
    expect(late.body).toContain('value="21"');
    expect((await feeSettings(readAs(s, ida))).dueDays).toBe(20);
    const again = /name="seen" value="([^"]+)"/.exec(late.body)?.[1] ?? '';
    expect((await save({ ...mine, seen: again })).statusCode).toBe(303);
    expect((await feeSettings(readAs(s, ida))).dueDays).toBe(21);
  });

  it('note in the audit what changed and nothing else', async () => {
    await save({ dueDays: '22' });
    await save({ dueDays: '23' });
    const last = await lastRecord(s.database.db, 'fees.settings', 'fees');
    expect(last?.details).toEqual({ dueDays: '22 → 23' });
  });

  it('the first class stays the first as long as somebody was put in none', async () => {
    await s.as(maro, (act) => payersFor(act, [{ kind: 'person', id: maro.id }]));
    for (const classes of ['student\nmember\nguest', 'student\nguest']) {
      const refused = await save({ classes });
      expect(refused.statusCode).toBe(422);
      expect(refused.body).toContain('it stays the first');
    }
  });

  it('a class in use stays, and is named', async () => {
    const [payer] = await s.as(maro, (act) => payersFor(act, [{ kind: 'person', id: ida.id }]));
    await s.database.db
      .update(feeAccounts)
      .set({ memberClass: 'guest' })
      .where(eq(feeAccounts.id, payer?.id ?? 0));
    const refused = await save({ classes: 'member\nstudent' });
    expect(refused.statusCode).toBe(422);
    expect(refused.body).toContain('in the class guest');
    await s.as(maro, async (act) => {
      await changeFeeSettings(act, { ...(await feeSettings(act)), classes: ['member', 'student', 'guest'] });
      const number = await beginTariff(act, 'Prices', 'volume');
      await changeTariff(act, number, ({ value }) => ({
        value: { ...value, monthly: [{ memberClass: 'student', litres: '5' }] },
      }));
      await putInForce(act, number);
    });
    const named = await save({ classes: 'member\nguest' });
    expect(named.statusCode).toBe(422);
    expect(named.body).toContain('names the class student');
    // Once another list counts in its place, nobody needs the class.
    await s.as(maro, async (act) => putInForce(act, await beginTariff(act, 'Prices anew', 'volume')));
    expect((await save({ classes: 'member\nguest' })).statusCode).toBe(303);
    expect((await save({ classes: 'member\nstudent\nguest' })).statusCode).toBe(303);
  });

  it.each<[string, Record<string, string>]>([
    ['no class', { classes: ' \n ' }],
    ['a class twice', { classes: 'member\nMember\nstudent\nguest' }],
    ['thirteen classes', { classes: 'student\nguest\nmember\na\nb\nc\nd\ne\nf\ng\nh\ni\nj' }],
    ['a class with a NUL', { classes: 'member\nstudent\nguest\nx\0' }],
    ['a limit below nothing', { creditLimitMinor: '-5' }],
    ['half a penny', { creditLimitMinor: '0.005' }],
    ['an absurd limit', { creditLimitMinor: '9'.repeat(30) }],
    ['days that are none', { dueDays: 'soon' }],
    ['a delimiter of its own', { delimiter: '|' }],
    ['a code beyond measure', { 'code-income-firing': 'x'.repeat(30) }],
  ])('refuses %s', async (_, more) => {
    const answer = await save(more);
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain('class="error"');
  });
});
