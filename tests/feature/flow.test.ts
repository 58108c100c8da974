import { beforeAll, describe, expect, it } from 'vitest';
import { addInstrument, findBucket, findRow, refold } from '../../server/buckets/service/index.ts';
import { DAY, HOUR, MINUTE } from '../../server/core/clock.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
let member: Person;
let technician: Person;

beforeAll(async () => {
  s = await aStudio();
  ({ member, technician } = s.people);
});

let serial = 0;
/** A bucket of 18 L at 1.46, just read, whose flow is watched. */
async function watched(flow: object | undefined = { low: 18, high: 30 }): Promise<string> {
  const code = `F${++serial}`;
  const body = { code, name: `Foam ${code}`, capacityLitres: 25, target: { aim: 1.46 }, solidsDensity: 2.6 };
  expect((await s.api(technician, 'POST', '/buckets', { ...body, flow })).statusCode).toBe(201);
  await s.api(technician, 'POST', `/buckets/${code}/setup`, { litres: 18, specificGravity: 1.46 });
  const read = { method: 'weighed', grams: 1460, millilitres: 1000, stirred: true };
  expect((await s.api(technician, 'POST', `/buckets/${code}/readings`, read)).statusCode).toBe(201);
  return code;
}
const now = (code: string) => s.as(technician, (act) => findBucket(act, code));

describe('over the API', () => {
  it('a bucket has a band, the last flow and what follows', async () => {
    const code = await watched();
    const before = (await s.api(member, 'GET', `/buckets/${code}`)).json();
    expect(before).toMatchObject({
      state: 'ready',
      flow: { low: 18, high: 30 },
      lastFlow: null,
      isReclaim: false,
    });
    const { statusCode, body } = await s.api(member, 'POST', `/buckets/${code}/flows`, { seconds: 41 });
    expect(statusCode, body).toBe(201);
    const answer = JSON.parse(body);
    expect(answer.event).toMatchObject({ kind: 'flow', seconds: 41, word: null });
    expect(answer.bucket).toMatchObject({ state: 'ask-technician', lastFlow: { seconds: 41, word: null } });
    expect(answer.bucket.why).toContain('do not add water');
    expect(answer.bucket.advice).toBeNull();
  });

  it.each([
    [{ low: 30, high: 18 }, 'flowHigh'],
    [{ low: 18, high: 18 }, 'flowHigh'],
    [{ low: 18 }, 'flow.high'],
    [{ low: 0, high: 30 }, 'flow.low'],
    [{ low: 18, high: 30, word: 'cream' }, 'flow.word'],
  ])('refuses the band %j', async (flow, path) => {
    const body = {
      code: `X${++serial}`,
      name: 'Foam',
      capacityLitres: 25,
      target: { aim: 1.46 },
      solidsDensity: 2.6,
    };
    const answer = await s.api(technician, 'POST', '/buckets', { ...body, flow });
    expect(answer.statusCode).toBe(422);
    expect(answer.json().errors.map((e: { path: string }) => e.path)).toContain(path);
  });

  it.each([
    [{}, 'seconds'],
    [{ seconds: 20, word: 'cream' }, 'seconds'],
    [{ seconds: 0 }, 'seconds'],
    [{ seconds: -3 }, 'seconds'],
    [{ seconds: 601 }, 'seconds'],
    [{ seconds: '20' }, 'seconds'],
    [{ word: 'porridge' }, 'word'],
    [{ seconds: 20, cup: 'NONE' }, 'cup'],
  ])('refuses %j as a flow', async (flow, path) => {
    const code = await watched();
    const answer = await s.api(member, 'POST', `/buckets/${code}/flows`, flow);
    expect(answer.statusCode).toBe(422);
    expect(answer.json().errors[0].path).toBe(path);
    expect((await now(code)).facts.flowAt).toBeNull();
  });

  it('names a flow cup of the studio, and nothing else that has a code', async () => {
    const code = await watched();
    await s.as(technician, async (act) => {
      await addInstrument(act, { kind: 'flow-cup', code: 'FC', name: 'Drilled mug' });
      await addInstrument(act, { kind: 'scale', code: 'SC', name: 'Bench scale', resolutionG: 1 });
    });
    const send = (cup: string) => s.api(member, 'POST', `/buckets/${code}/flows`, { seconds: 20, cup });
    expect((await send('SC')).statusCode).toBe(422);
    expect((await send('fc')).statusCode).toBe(201);
    const page = await s.visit(member, `/buckets/${code}`);
    expect(page.body).toContain('Flow 20 s, cup fc');
    const form = await s.visit(member, `/buckets/${code}/flow`);
    expect(form.body).toMatch(/<input type="hidden" name="cup" value="FC"/);
  });

  it('drops are a technician’s, and few', async () => {
    const code = await watched();
    const drop = { what: 'deflocculant', millilitres: 1.5 };
    expect((await s.api(member, 'POST', `/buckets/${code}/additives`, drop)).statusCode).toBe(403);
    // 2 % of 18 L is 360 mL.
    const much = await s.api(technician, 'POST', `/buckets/${code}/additives`, { ...drop, millilitres: 361 });
    expect(much.statusCode).toBe(422);
    expect(much.json().errors[0]).toMatchObject({ path: 'millilitres' });
    await s.api(member, 'POST', `/buckets/${code}/flows`, { word: 'gelled' });
    expect((await now(code)).verdict.state).toBe('ask-technician');
    const done = await s.api(technician, 'POST', `/buckets/${code}/additives`, { ...drop, millilitres: 360 });
    expect(done.statusCode).toBe(201);
    expect(done.json().bucket).toMatchObject({ state: 'ready', lastFlow: null });
    expect(done.json().bucket.specificGravity.value).toBeCloseTo(1.46, 9);
  });
});

describe('a stiff bucket', () => {
  it('is told to the technician by a member, and loosened by a technician', async () => {
    const code = await watched();
    const at = `/buckets/${code}`;
    const sent = await s.submit(member, `${at}/flow`, { seconds: '41,5', key: 'a-flow-of-the-member' });
    expect(sent.statusCode).toBe(303);
    const page = (await s.visit(member, sent.headers.location as string)).body;
    expect(page).toContain('Recorded: flow 41.5 s.');
    expect(page).toContain('Ask the technician');
    expect(page).toContain('Right amount of water but stiff: do not add water.');
    expect(page).toContain('Tell the technician, use another bucket');
    expect(page).not.toContain('Loosen');
    expect((await s.visit(member, `${at}/add`)).body).toContain('Do not add water');

    const theirs = (await s.visit(technician, at)).body;
    expect(theirs).toContain('Loosen it: a drop of deflocculant');
    const guide = (await s.visit(technician, `${at}/additive`)).body;
    expect(guide).toContain('Common practice, no source');
    expect(guide).toMatch(/value="deflocculant"[^>]* checked/);
    const drop = { what: 'deflocculant', millilitres: '1,5', key: 'drops-of-the-technician' };
    const done = await s.submit(technician, `${at}/additive`, drop);
    expect((await s.visit(technician, done.headers.location as string)).body).toContain(
      'Recorded: added 1.5 mL of deflocculant.',
    );
    expect((await now(code)).verdict.state).toBe('ready');
  });

  it('stands on the technician’s list with its act', async () => {
    const code = await watched();
    await s.api(member, 'POST', `/buckets/${code}/flows`, { word: 'custard' });
    const { body } = await s.visit(technician, '/today');
    const card = body.split('<article').find((part) => part.includes(`>${code}<`)) as string;
    expect(card).toContain('Ask the technician');
    expect(card).toContain('it flows like custard');
    expect(card).toContain(`href="/buckets/${code}/additive"`);
    const wall = (await s.visit(member, '/wall?state=ask-technician')).body;
    expect(wall).toContain('tell the technician: no water');
  });

  it('is stiff again once the drops are struck out', async () => {
    const code = await watched();
    await s.api(member, 'POST', `/buckets/${code}/flows`, { seconds: 41 });
    const drop = { what: 'deflocculant', millilitres: 1 };
    const { event } = (await s.api(technician, 'POST', `/buckets/${code}/additives`, drop)).json();
    expect((await now(code)).verdict.state).toBe('ready');
    await s.api(technician, 'POST', `/buckets/${code}/events/${event.number}/void`, {
      reason: 'Another bucket',
    });
    expect((await now(code)).verdict.state).toBe('ask-technician');
    const row = await s.as(technician, (act) => findRow(act, code));
    const { bucketId: _, ...stored } = row.state;
    expect(await s.as(technician, (act) => refold(act.tx, row))).toEqual(stored);
  });

  it('is believed as long as a reading is', async () => {
    const code = await watched();
    await s.api(member, 'POST', `/buckets/${code}/flows`, { seconds: 41 });
    const read = async () => {
      const again = { method: 'weighed', grams: 1460, millilitres: 1000, stirred: true };
      await s.api(technician, 'POST', `/buckets/${code}/readings`, again);
      return (await now(code)).verdict.state;
    };
    s.clock.forward(7 * DAY - MINUTE);
    expect(await read()).toBe('ask-technician');
    s.clock.forward(HOUR);
    expect(await read()).toBe('ready');
  });
});

describe('a fast one', () => {
  it('is said to the technician alone, and is no state', async () => {
    const code = await watched();
    await s.api(member, 'POST', `/buckets/${code}/flows`, { seconds: 12 });
    const fast = 'it runs fast: flow 12 s, wanted 18 to 30 s';
    const theirs = (await s.visit(technician, `/buckets/${code}`)).body;
    expect(theirs).toContain(fast);
    expect(theirs).toContain('Ready to dip');
    expect((await s.visit(member, `/buckets/${code}`)).body).not.toContain(fast);
    expect((await s.visit(technician, `/buckets/${code}/additive`)).body).toMatch(
      /value="epsom"[^>]* checked/,
    );
  });
});

describe('its form', () => {
  it('comes back filled in with what is wrong beside the field', async () => {
    const code = await watched();
    const sent = await s.submit(member, `/buckets/${code}/flow`, {
      seconds: '24',
      word: 'cream',
      note: 'odd & ends',
      key: 'both-of-the-two-ways',
    });
    expect(sent.statusCode).toBe(422);
    expect(sent.body).toContain('Type the seconds, or choose a word, one of the two.');
    expect(sent.body).toMatch(/name="seconds"[^>]*value="24"|value="24"[^>]*name="seconds"/);
    expect(sent.body).toMatch(/value="cream"[^>]* checked/);
    expect(sent.body).toContain('odd &amp; ends</textarea>');
  });

  it('of a bucket keeps the band, takes it away, and refuses half of one', async () => {
    const code = await watched();
    const form = (await s.visit(technician, `/buckets/${code}/edit`)).body;
    expect(form).toMatch(/value="18"/);
    const fields = { code, name: 'Foam', capacityLitres: '25', aim: '1.46', stirIntervalMinutes: '5' };
    const save = (more: Record<string, string>) =>
      s.submit(technician, `/buckets/${code}/edit`, { ...fields, ...more, key: `band-${++serial}-of-flow` });
    const half = await save({ flowLow: '20' });
    expect(half.statusCode).toBe(422);
    expect(half.body).toContain('Give both limits of the flow, or neither.');
    const turned = await save({ flowLow: '30', flowHigh: '20' });
    expect(turned.body).toContain('The slow limit must be more seconds than the fast one.');
    expect((await save({ flowLow: '20', flowHigh: '33,5' })).statusCode).toBe(303);
    expect((await now(code)).flow).toEqual({ low: 20, high: 33.5 });
    expect((await save({})).statusCode).toBe(303);
    expect((await now(code)).flow).toBeNull();
  });
});
