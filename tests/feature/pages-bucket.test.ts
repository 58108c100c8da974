import { eq } from 'drizzle-orm';
import { beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { findBucket, listEvents, recordAct } from '../../server/buckets/service/index.ts';
import { DAY, MINUTE } from '../../server/core/clock.ts';
import { people } from '../../server/core/schema.ts';
import { aStudio, PARTIAL, type Person, type Studio } from '../helpers/studio.ts';

let studio: Studio;
let member: Person;
let technician: Person;

beforeAll(async () => {
  studio = await aStudio();
  ({ member, technician } = studio.people);
});

const facts = (code: string) => studio.as(technician, async (act) => (await findBucket(act, code)).facts);
const newest = (code: string) =>
  studio.as(technician, async (act) => (await listEvents(act, code, { limit: 1, before: null })).events[0]);

/** The fields of the form whose button says so, with its action. */
function formOf(html: string, button: string): { action: string; fields: Record<string, string> } {
  for (const [form] of html.matchAll(/<form[\s\S]*?<\/form>/g)) {
    if (!form.includes(button)) continue;
    const fields = [...form.matchAll(/<input type="hidden" name="([^"]+)" value="([^"]*)"/g)];
    return {
      action: /action="([^"]+)"/.exec(form)?.[1] ?? '',
      fields: Object.fromEntries(fields.map(([, name, value]) => [name, value])),
    };
  }
  throw new Error(`No form has a button ${button}`);
}

async function tap(person: Person, url: string, button: string, headers = {}) {
  const { body } = await studio.visit(person, url);
  const { action, fields } = formOf(body, button);
  return studio.submit(person, action, fields, headers);
}

describe('a bucket that is too thick', () => {
  let code: string;
  beforeEach(async () => {
    code = await studio.aBucket({ sg: 1.52, stirredMinutesAgo: 1 });
  });

  it('says so first, then the first stage of the water, then the rest', async () => {
    const { body } = await studio.visit(member, `/buckets/${code}`);
    const order = [
      'Too thick',
      'Add 1.75 L of water, stir, check again',
      'Stirred, dipping',
      'All glaze: no eating here',
    ];
    const places = order.map((words) => body.indexOf(words));
    expect(places.every((place, i) => place > (places[i - 1] ?? 0))).toBe(true);
    expect(body).toContain('three and a half half-litre jugs; about 2.3 L in all');
  });

  it('records the first stage in one tap, once however often it is sent, and takes it back', async () => {
    const { body } = await studio.visit(member, `/buckets/${code}`);
    const { action, fields } = formOf(body, 'Add 1.75 L');
    const [first, second] = [
      await studio.submit(member, action, fields),
      await studio.submit(member, action, fields),
    ];
    expect(first.statusCode).toBe(303);
    expect(second.headers.location).toBe(first.headers.location);
    expect((await facts(code)).litres).toBeCloseTo(19.75, 9);

    const after = await studio.visit(member, first.headers.location as string);
    expect(after.body).toContain('Recorded: added 1.75 L of water.');
    expect(after.body).toContain('Needs a reading');
    const undo = formOf(after.body, 'Undo');
    const undone = await studio.submit(member, undo.action, undo.fields);
    expect((await facts(code)).litres).toBeCloseTo(18, 9);
    const back = await studio.visit(member, undone.headers.location as string);
    expect(back.body).toContain('Struck out: added 1.75 L of water.');
    expect(back.body).not.toContain('>Undo<');
  });

  it('moves the browser where htmx asked for a part of a page', async () => {
    const answer = await tap(member, `/buckets/${code}`, 'Add 1.75 L', PARTIAL);
    expect(answer.statusCode).toBe(200);
    expect(answer.headers['hx-location']).toMatch(new RegExp(`^/buckets/${code}\\?did=\\d+$`));
  });

  it('is in quarts for who prefers them, and the same litres in the ledger', async () => {
    const abroad = await studio.aPerson('member');
    await studio.database.db.update(people).set({ units: 'us' }).where(eq(people.id, abroad.id));
    await tap(abroad, `/buckets/${code}`, 'Add 1.85 qt of water');
    expect((await facts(code)).litres).toBeCloseTo(19.75, 9);
  });

  it('asks how full it is before it names an amount', async () => {
    studio.clock.forward(8 * DAY);
    await studio.as(technician, (act) =>
      recordAct(act, code, 'readings', {
        method: 'weighed',
        grams: 152,
        millilitres: 100,
        stirred: true,
        confirm: false,
      }),
    );
    const { body } = await studio.visit(member, `/buckets/${code}`);
    expect(body).toContain('How full is it?');
    expect(body).not.toMatch(/Add [\d.]+ L of water/);
    const answer = await tap(member, `/buckets/${code}`, 'Half');
    expect((await facts(code)).litres).toBeCloseTo(12.5, 9);
    const after = await studio.visit(member, answer.headers.location as string);
    expect(after.body).toMatch(/Add 1\.25 L of water/);
  });

  it('takes slurry out first where the water would not fit; that is the technician’s', async () => {
    const full = await studio.aBucket({ sg: 1.52, stirredMinutesAgo: 1, litres: 24.5 });
    expect((await studio.visit(member, `/buckets/${full}`)).body).toContain(
      'Tell the technician, use another bucket',
    );
    const before = (await facts(full)).litres as number;
    await tap(technician, `/buckets/${full}`, 'of slurry out first');
    const event = await newest(full);
    expect(event?.entry).toMatchObject({ kind: 'draw-off', what: 'slurry', to: 'batch' });
    expect((await facts(full)).litres).toBeLessThan(before);
    expect((await studio.visit(technician, `/buckets/${full}`)).body).toMatch(/Add [\d.]+ L of water, stir/);
  });
});

describe('a bucket that is too thin', () => {
  it('sends members to the technician and offers a technician everything, dry glaze last and with its caution', async () => {
    const code = await studio.aBucket({ sg: 1.42, stirredMinutesAgo: 1 });
    const theirs = (await studio.visit(member, `/buckets/${code}`)).body;
    expect(theirs).toContain('Tell the technician, use another bucket');
    expect(theirs).toContain('try a test piece');
    expect(theirs).not.toContain('dry glaze, stir');
    const mine = (await studio.visit(technician, `/buckets/${code}`)).body;
    const places = ['Blend in', 'Let it settle; next morning take', 'Mix in', 'Respirator on'].map((words) =>
      mine.indexOf(words),
    );
    expect(places.every((place, i) => place > (places[i - 1] ?? 0))).toBe(true);
  });

  it('never takes water off what has solubles', async () => {
    const code = await studio.aBucket({ sg: 1.42, stirredMinutesAgo: 1, hasSolubles: true });
    expect((await studio.visit(technician, `/buckets/${code}`)).body).not.toContain('Let it settle');
    expect((await studio.visit(technician, `/buckets/${code}/draw-off`)).body).toContain(
      'This recipe has solubles',
    );
  });
});

describe('the other states', () => {
  it('needs a reading: leads to the check', async () => {
    const code = await studio.aBucket();
    const { body } = await studio.visit(member, `/buckets/${code}`);
    expect(body).toContain(`<a class="do" href="/buckets/${code}/check">`);
  });

  it('stir first: one tap, then ready', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 30 });
    const answer = await tap(member, `/buckets/${code}`, 'Stir to the bottom, then tap here');
    const { body } = await studio.visit(member, answer.headers.location as string);
    expect(body).toContain('Ready to dip');
    expect(body).toContain('Recorded: stirred to the bottom.');
  });

  it('ready: stirred and dipping is one event, which can be counted afterwards', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 1 });
    const answer = await tap(member, `/buckets/${code}`, 'You can say afterwards how many pieces');
    const dipped = await newest(code);
    expect(dipped?.entry).toEqual({ kind: 'dipping', pieces: 1, litres: 0.1, stirred: true });
    const after = await studio.visit(member, answer.headers.location as string);
    expect(after.body).toContain(`/buckets/${code}/dip?instead=${dipped?.number}`);

    const page = await studio.visit(member, `/buckets/${code}/dip?instead=${dipped?.number}`);
    const { action, fields } = formOf(page.body, 'That is how many');
    await studio.submit(member, action, { ...fields, cups: '3', large: '1', stirred: 'yes' });
    expect((await newest(code))?.entry).toMatchObject({ kind: 'dipping', pieces: 4 });
    const now = await facts(code);
    expect(now.piecesSinceLevel).toBe(4);
    expect(now.litres).toBeCloseTo(18 - 3 * 0.05 - 0.25, 9);
  });

  it('do not use: nobody records a dipping, and whoever tries is told on the bucket’s page', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 1 });
    const { body } = await studio.visit(member, `/buckets/${code}`);
    const { action, fields } = formOf(body, 'You can say afterwards how many pieces');
    await studio.as(technician, (act) =>
      recordAct(act, code, 'service', { state: 'do-not-use', reason: 'Mould' }),
    );
    const answer = await studio.submit(member, action, fields);
    expect(answer.statusCode).toBe(409);
    expect(answer.body).toContain('a dipping cannot be recorded on it');
    expect(answer.body).toContain('Do not dip from this bucket: Mould.');
    expect(answer.body).not.toContain('Stirred, dipping');
    expect((await studio.visit(member, action)).headers.location).toBe(`/buckets/${code}`);
  });

  it('on test: members use another, a technician accepts the tile', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 1 });
    await studio.as(technician, (act) => recordAct(act, code, 'service', { state: 'on-test' }));
    expect((await studio.visit(member, `/buckets/${code}`)).body).toContain('Use another bucket');
    expect((await studio.visit(technician, `/buckets/${code}`)).body).toContain('Accept the glaze by it');
  });
});

describe('the page itself', () => {
  it('is found by its code in any case, and missed kindly', async () => {
    const code = await studio.aBucket({ code: 'Mix-1' });
    expect((await studio.visit(member, `/buckets/${code.toLowerCase()}`)).statusCode).toBe(200);
    const missing = await studio.visit(member, '/buckets/NOPE');
    expect(missing.statusCode).toBe(404);
    expect(missing.body).toContain('There is no bucket with this code.');
    expect((await studio.visit(member, '/buckets/%2e%2e%2fetc')).statusCode).toBe(404);
  });

  it('asks for itself again, as what was just done is no news twice', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 1 });
    const did = `/buckets/${code}?did=4`;
    await tap(member, `/buckets/${code}`, 'Only stirred');
    const whole = (await studio.visit(member, did)).body;
    expect(whole).toContain('Recorded: stirred');
    expect(whole).toContain(`hx-sse:connect="/live?watch=bucket.${code}`);
    expect(whole).toMatch(
      new RegExp(
        `id="bucket"[^>]* hx-get="/buckets/${code}" hx-trigger="changed-bucket from:#live, every 60s"`,
      ),
    );
    studio.clock.forward(4.5 * MINUTE);
    const soon = await studio.visit(member, did, PARTIAL);
    expect(soon.body).toContain('changed-bucket from:#live, every 60s, load delay:31s');
    expect(soon.body).not.toContain('Recorded: stirred');
    studio.clock.forward(6 * MINUTE);
    const { body } = await studio.visit(member, `/buckets/${code}`, PARTIAL);
    expect(body).toContain('Stir first');
    expect(body).not.toContain('<html');
  });

  it('tells only the one who did it, and only while it is news', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 1 });
    const answer = await tap(member, `/buckets/${code}`, 'Only stirred');
    const at = answer.headers.location as string;
    expect((await studio.visit(member, at)).body).toContain('Recorded: stirred');
    expect((await studio.visit(technician, at)).body).not.toContain('Recorded: stirred');
    expect((await studio.visit(member, `/buckets/${code}?did=x&did=2`)).statusCode).toBe(200);
    studio.clock.forward(16 * MINUTE);
    expect((await studio.visit(member, at)).body).not.toContain('Recorded: stirred');
  });

  it('shows a technician the tools and a member only how to stop its use', async () => {
    const code = await studio.aBucket();
    const at = `/buckets/${code}`;
    const tools = ['setup', 'edit', 'sieve', 'draw-off'].map((tool) => `href="${at}/${tool}"`);
    const [mine, theirs] = [await studio.visit(technician, at), await studio.visit(member, at)];
    for (const tool of tools) {
      expect(mine.body).toContain(tool);
      expect(theirs.body).not.toContain(tool);
    }
    expect(theirs.body).toContain(`href="${at}/service"`);
  });

  it('shows what cannot have been', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 1 });
    await studio.as(technician, (act) => recordAct(act, code, 'top-ups', { kind: 'water', litres: 7.5 }));
    const { body } = await studio.visit(member, `/buckets/${code}`);
    expect(body).toContain('Some of what was recorded cannot have been');
    expect(body).toContain('more than the bucket holds: taken as full');
  });

  it('shows markup in a note as it was typed', async () => {
    const code = await studio.aBucket();
    await studio.as(member, (act) => recordAct(act, code, 'notes', { note: '<script>alert(1)</script>' }));
    const { body } = await studio.visit(technician, `/buckets/${code}`);
    expect(body).toContain('&lt;script>alert(1)');
    expect(body).not.toContain('<script>alert');
  });
});
