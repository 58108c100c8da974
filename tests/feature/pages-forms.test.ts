import { beforeAll, describe, expect, it } from 'vitest';
import { addCup, findBucket, listEvents, recordAct } from '../../server/buckets/service/index.ts';
import { DAY, HOUR } from '../../server/core/clock.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let studio: Studio;
let member: Person;
let technician: Person;

beforeAll(async () => {
  studio = await aStudio();
  ({ member, technician } = studio.people);
});

const facts = (code: string) => studio.as(technician, async (act) => (await findBucket(act, code)).facts);
const newest = async (code: string) => {
  const all = await studio.as(technician, (act) => listEvents(act, code, { limit: 1, before: null }));
  return all.events[0];
};
const chosen = (html: string) => /<a href="[^"]*\?how=(\w+)" aria-current="true"/.exec(html)?.[1];

describe('checking SG', () => {
  it('takes one number with the studio’s cup, and remembers how this person measured', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 60 });
    const at = `/buckets/${code}/check`;
    expect(chosen((await studio.visit(member, at)).body)).toBe('weighed');
    await studio.as(technician, (act) =>
      addCup(act, { code: 'A', name: 'Blue mug', tareG: 100, waterG: 300, waterC: 20, resolutionG: 1 }),
    );
    const page = await studio.visit(member, `${at}?how=cup`);
    expect(page.body).toContain('Empty it weighs 100 g');
    expect(page.body).toMatch(/<input type="hidden" name="vessel" value="A"/);
    // Net 292.5 g where water at 20 °C weighs 200 g: 0.99821 · 292.5/200 = 1.4599. Three weighings to 1 g, of
    // which each is 0.2887 g: u = 0.2887 · 0.99821/200 · √(1 + 1.4625² + 0.4625²) = 0.0027, doubled at 95 %.
    const answer = await studio.submit(member, at, {
      method: 'weighed',
      vessel: 'A',
      grams: '392,5',
      stirred: 'yes',
    });
    const { body } = await studio.visit(member, answer.headers.location as string);
    expect(body).toContain('SG 1.460 ± 0.005 recorded.');
    expect(body).toContain('weighed in cup A');
    expect(body).toContain('Ready to dip');
    expect(chosen((await studio.visit(member, at)).body)).toBe('cup');
  });

  it('keeps what was typed beside what is wrong with it', async () => {
    const code = await studio.aBucket({ sg: 1.46 });
    const answer = await studio.submit(member, `/buckets/${code}/check`, {
      method: 'weighed',
      grams: 'heavy',
      millilitres: '250',
      replicates: ['365', '366', ''],
      note: 'odd & ends',
    });
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain('Type a number.');
    for (const value of ['heavy', '250', '365', '366']) expect(answer.body).toContain(`value="${value}"`);
    expect(answer.body).toContain('odd &amp; ends</textarea>');
    expect(answer.body).not.toMatch(/name="stirred"[^>]* checked/);
    expect(answer.body).toMatch(/<details class="more" open/);
  });

  it('asks once about a number that is odd', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 1 });
    const at = `/buckets/${code}/check`;
    const typed = { method: 'weighed', grams: '156', millilitres: '100', stirred: 'yes' };
    const asked = await studio.submit(member, at, typed);
    expect(asked.statusCode).toBe(409);
    expect(asked.body).toContain('Is this right? It makes 1.56, where 1.46 was expected.');
    expect(asked.body).toMatch(/<input type="hidden" name="confirm" value="156"/);
    expect((await facts(code)).gravity).toBeCloseTo(1.46, 9);
    expect((await studio.submit(member, at, { ...typed, confirm: '156' })).statusCode).toBe(303);
    expect((await facts(code)).gravity).toBeCloseTo(1.56, 9);
  });

  it('is not asked about a number that is impossible, which never gets a "yes, it is right"', async () => {
    const code = await studio.aBucket({ sg: 1.46 });
    const answer = await studio.submit(member, `/buckets/${code}/check`, {
      method: 'weighed',
      grams: '90',
      millilitres: '100',
    });
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain('lighter than water');
    expect(answer.body).not.toContain('name="confirm"');
  });

  it('keeps an unstirred reading and marks it as not used', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 60 });
    await studio.submit(member, `/buckets/${code}/check`, {
      method: 'hydrometer',
      scale: 'twaddell',
      value: '84',
    });
    expect((await facts(code)).gravity).toBeCloseTo(1.46, 9);
    const { body } = await studio.visit(member, `/buckets/${code}`);
    expect(body).toContain('SG 1.42 ± 0.02, hydrometer, 84 °Tw');
    expect(body).toContain('unstirred: not used');
  });

  it('takes the time from the studio’s wall, and no time in the future', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 60 });
    const typed = { method: 'weighed', grams: '146', millilitres: '100', stirred: 'yes' };
    const tomorrow = new Date(studio.clock.now() + DAY).toISOString().slice(0, 16);
    const refused = await studio.submit(member, `/buckets/${code}/check`, { ...typed, happenedAt: tomorrow });
    expect(refused.statusCode).toBe(422);
    expect(refused.body).toContain('This lies in the future.');
    expect(refused.body).toContain(`value="${tomorrow}"`);
  });
});

describe('adding and taking out', () => {
  it('is water for members, whatever the address asks for', async () => {
    const code = await studio.aBucket({ sg: 1.46 });
    const { body } = await studio.visit(member, `/buckets/${code}/add?what=dry&litres=<i>`);
    expect(body).toContain('name="kind" value="water"');
    expect(body).toContain('value="&lt;i>"');
    expect(
      (await studio.submit(member, `/buckets/${code}/add`, { kind: 'dry', kilograms: '1' })).statusCode,
    ).toBe(403);
    expect(
      (await studio.submit(member, `/buckets/${code}/add`, { kind: 'water', litres: '1,5' })).statusCode,
    ).toBe(303);
    expect((await facts(code)).litres).toBeCloseTo(19.5, 9);
  });

  it('takes slurry, rinse and dry glaze from a technician, dry with its caution', async () => {
    const code = await studio.aBucket({ sg: 1.46 });
    const at = `/buckets/${code}/add`;
    expect((await studio.visit(technician, `${at}?what=dry`)).body).toContain('Respirator on');
    await studio.submit(technician, at, { kind: 'slurry', litres: '1', specificGravity: '1.6' });
    expect((await newest(code))?.entry).toMatchObject({ what: 'slurry', litres: 1, specificGravity: 1.6 });
    await studio.submit(technician, at, { kind: 'rinse', litres: '0.5', specificGravity: '' });
    expect((await newest(code))?.entry).toMatchObject({ what: 'rinse', specificGravity: null });
    const refused = await studio.submit(technician, at, {
      kind: 'slurry',
      litres: '1',
      specificGravity: '3',
    });
    expect(refused.statusCode).toBe(422);
    expect(refused.body).toContain('heavier than the dry powder');
    expect(refused.body).toContain('name="kind" value="slurry"');
  });

  it('is a technician’s to take out and to sieve', async () => {
    const code = await studio.aBucket({ sg: 1.46 });
    for (const act of ['draw-off', 'sieve']) {
      expect((await studio.visit(member, `/buckets/${code}/${act}`)).statusCode).toBe(403);
      expect((await studio.submit(member, `/buckets/${code}/${act}`, { litres: '1' })).statusCode).toBe(403);
    }
    expect((await studio.submit(member, `/buckets/${code}/draw-offs`, { litres: '1' })).statusCode).toBe(403);
    await studio.submit(technician, `/buckets/${code}/draw-off`, { what: 'water', litres: '1', to: 'waste' });
    expect((await newest(code))?.entry).toEqual({ kind: 'draw-off', what: 'water', litres: 1, to: 'waste' });
    await studio.submit(technician, `/buckets/${code}/sieve`, { mesh: '60' });
    expect((await newest(code))?.entry).toEqual({ kind: 'sieve', mesh: 60 });
  });
});

describe('how full', () => {
  it('is one way at a time, and the wrong one says so in its own form', async () => {
    const code = await studio.aBucket({ sg: 1.46 });
    const at = `/buckets/${code}/level`;
    await studio.submit(member, at, { quarters: '3' });
    expect((await facts(code)).litres).toBeCloseTo(18.75, 9);
    await studio.submit(member, at, { litres: '9' });
    expect((await facts(code)).litres).toBeCloseTo(9, 9);
    const refused = await studio.submit(member, at, { litres: '26' });
    expect(refused.statusCode).toBe(422);
    expect(refused.body).toContain('id="l-litres-error"');
    expect((await studio.visit(member, at)).body).not.toContain('By dip stick');
  });
});

describe('a problem', () => {
  it('is one tap; a sponge stops the bucket and leads to its tag', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 1 });
    const at = `/buckets/${code}/problem`;
    const lumps = await studio.submit(member, at, { problem: 'lumps', note: '' });
    expect(lumps.headers.location).toMatch(new RegExp(`^/buckets/${code}\\?did=`));
    expect((await studio.visit(member, lumps.headers.location as string)).body).toContain('Reported: lumps.');
    expect((await facts(code)).service).toBe('in-service');

    const sponge = await studio.submit(member, at, { problem: 'contaminated', note: 'Blue glaze' });
    expect(sponge.headers.location).toMatch(new RegExp(`^/buckets/${code}/tag\\?did=`));
    const tag = await studio.visit(technician, sponge.headers.location as string);
    expect(tag.body).toContain('Sponge or wrong glaze fell in. Blue glaze');
    expect(tag.body).toMatch(/Ida, since \d{4}-\d\d-\d\d \d\d:\d\d/);
    expect(tag.body).toContain('data-print');
    await studio.submit(technician, `/buckets/${code}/tags`, {});
    expect((await facts(code)).tagHungAt).not.toBeNull();
    expect((await studio.visit(technician, `/buckets/${code}/tag`)).body).toContain('Tag hung');
  });

  it('refuses a tag where none is due, and an empty note beside its own field', async () => {
    const code = await studio.aBucket();
    expect((await studio.visit(member, `/buckets/${code}/tag`)).body).toContain('is not marked');
    expect((await studio.submit(member, `/buckets/${code}/tags`, {})).statusCode).toBe(409);
    const empty = await studio.submit(member, `/buckets/${code}/notes`, { note: ' ' });
    expect(empty.statusCode).toBe(422);
    expect(empty.body).toContain('id="n-note-error"');
    expect((await studio.submit(member, `/buckets/${code}/problem`, {})).statusCode).toBe(422);
    await studio.submit(member, `/buckets/${code}/notes`, { note: 'Lid cracked' });
    expect((await newest(code))?.note).toBe('Lid cracked');
  });
});

describe('whether it may be used', () => {
  it('anybody stops it with a reason; only a technician puts it back', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 1 });
    const at = `/buckets/${code}/service`;
    expect((await studio.submit(member, at, { state: 'do-not-use' })).body).toContain('Say why');
    const stopped = await studio.submit(member, at, { state: 'do-not-use', reason: 'Smells of tar' });
    expect(stopped.headers.location).toContain(`/buckets/${code}/tag`);
    expect((await studio.visit(member, at)).body).toContain('Only a technician puts it back');
    expect((await studio.submit(member, at, { state: 'in-service' })).statusCode).toBe(403);
    expect((await facts(code)).service).toBe('do-not-use');
    expect((await studio.submit(technician, at, {})).statusCode).toBe(422);
    await studio.submit(technician, at, { state: 'in-service', reason: 'Sieved twice' });
    expect((await facts(code)).service).toBe('in-service');
  });
});

describe('striking out', () => {
  it('asks why, keeps it readable, and does it once', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 1 });
    const { event } = await studio.as(member, (act) =>
      recordAct(act, code, 'top-ups', { kind: 'water', litres: 2 }),
    );
    const at = `/buckets/${code}/events/${event.number}/void`;
    expect((await studio.visit(member, at)).body).toContain('Added 2 L of water');
    const refused = await studio.submit(member, at, { reason: '' });
    expect(refused.statusCode).toBe(422);
    expect((await studio.submit(member, at, { reason: 'Wrong bucket' })).statusCode).toBe(303);
    expect((await facts(code)).litres).toBeCloseTo(18, 9);
    const { body } = await studio.visit(member, `/buckets/${code}`);
    expect(body).toMatch(/<tr class="struck"/);
    expect(body).toContain('Struck out: Added 2 L of water');
    expect(body).toContain('“Wrong bucket”');
    expect((await studio.submit(member, at, { reason: 'Again' })).statusCode).toBe(409);
    expect((await studio.visit(member, at)).body).toContain('This was struck out already.');
  });

  it('is a member’s for what is their own and a day old at most, a technician’s always', async () => {
    const code = await studio.aBucket({ sg: 1.46 });
    const { event } = await studio.as(technician, (act) => recordAct(act, code, 'stirs', {}));
    const theirs = `/buckets/${code}/events/${event.number}/void`;
    expect((await studio.visit(member, `/buckets/${code}`)).body).not.toContain(theirs);
    expect((await studio.submit(member, theirs, { reason: 'No' })).statusCode).toBe(403);
    const mine = await studio.as(member, (act) => recordAct(act, code, 'stirs', {}));
    const at = `/buckets/${code}/events/${mine.event.number}/void`;
    expect((await studio.visit(member, `/buckets/${code}`)).body).toContain(at);
    studio.clock.forward(DAY + HOUR);
    expect((await studio.visit(member, `/buckets/${code}`)).body).not.toContain(at);
    expect((await studio.submit(member, at, { reason: 'Late' })).statusCode).toBe(403);
    expect((await studio.submit(technician, at, { reason: 'Not stirred' })).statusCode).toBe(303);
  });

  it('misses kindly what is not there', async () => {
    const code = await studio.aBucket();
    for (const number of ['99', '0', 'x', '99999999999'])
      expect((await studio.visit(member, `/buckets/${code}/events/${number}/void`)).statusCode).toBe(404);
    expect(
      (await studio.submit(technician, `/buckets/${code}/events/99/void`, { reason: 'x' })).statusCode,
    ).toBe(404);
  });

  it('counting pieces anew strikes out only what may be struck out', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 1 });
    const { event } = await studio.as(technician, (act) =>
      recordAct(act, code, 'dippings', { stirred: true, pieces: 2 }),
    );
    const number = String(event.number);
    const refused = await studio.submit(member, `/buckets/${code}/dip`, { instead: number, pieces: '3' });
    expect(refused.statusCode).toBe(409);
    expect((await newest(code))?.number).toBe(event.number);
    expect((await studio.submit(member, `/buckets/${code}/dip`, { pieces: '0' })).statusCode).toBe(422);
    await studio.submit(member, `/buckets/${code}/dip`, { pieces: '3', litres: '0,5' });
    expect((await newest(code))?.entry).toEqual({ kind: 'dipping', pieces: 3, litres: 0.5, stirred: false });
  });
});

describe('the ledger', () => {
  it('goes back in pages', async () => {
    const code = await studio.aBucket({ sg: 1.46 });
    await studio.as(member, async (act) => {
      for (let i = 0; i < 60; i++) await recordAct(act, code, 'stirs', {});
    });
    const first = await studio.visit(technician, `/buckets/${code}/ledger`);
    const older = /href="(\/buckets\/[^"]+\/ledger\?before=\d+)"/.exec(first.body)?.[1] as string;
    const second = await studio.visit(technician, older);
    expect(second.body).toContain('Set up: 18 L at SG 1.46');
    expect(second.body).not.toContain('>Older<');
    expect(second.body).toContain('>Newest<');
    expect((await studio.visit(technician, `/buckets/${code}/ledger?before=nonsense`)).statusCode).toBe(200);
    expect((await studio.visit(technician, '/buckets/NOPE/ledger')).statusCode).toBe(404);
  });
});
