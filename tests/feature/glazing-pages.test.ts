import { beforeAll, describe, expect, it } from 'vitest';
import { HOUR } from '../../server/core/clock.ts';
import { addRunPair } from '../../server/ware/service/index.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';
import { aClay, moved, somePieces } from '../helpers/ware.ts';

let s: Studio;
let member: Person;
let technician: Person;
let clay: string;
let lining: string;
let outside: string;

beforeAll(async () => {
  s = await aStudio();
  ({ member, technician } = s.people);
  clay = await aClay(s);
  lining = await s.aBucket({ code: 'LINE', name: 'Chalk', sg: 1.46 });
  outside = await s.aBucket({ code: 'OUT', name: 'Kelp', sg: 1.46 });
});

const some = (howMany = 1): Promise<number[]> => somePieces(s, member, { clay, begins: 'bisqued', howMany });
const one = async (): Promise<number> => (await some())[0] as number;
const open = async (url: string, person: Person = member) => {
  const { statusCode: status, body: html } = await s.visit(person, url);
  return { status, html };
};
const bench = async (number: number) => (await open(`/ware/${number}/glazing`)).html;
const send = (number: number, path: string, fields: Record<string, string>, person: Person = member) =>
  s.submit(person, `/ware/${number}/${path}`, fields);
const verdictOf = (html: string): string =>
  /class="verdict[^>]*data-announce="([^"]*)"/.exec(html)?.[1] ?? '';
const act = (path: Parameters<typeof moved>[2], number: number, body: object = {}) =>
  moved(s, member, path, [number], body);

describe('a piece at the bench', () => {
  it('is led from its plan to the kiln, one thing at a time', async () => {
    const number = await one();
    expect(verdictOf(await bench(number))).toBe('What goes where?');
    const planned = await send(number, 'plan', { inside: lining, outside, over: '' });
    expect(planned.statusCode).toBe(303);
    expect(planned.headers.location).toContain(`/ware/${number}/glazing?did=plan`);
    expect(verdictOf(await bench(number))).toBe('Wax the foot');

    await send(number, 'waxed', {});
    const lines = await bench(number);
    expect(verdictOf(lines)).toBe('Line it');
    expect(lines).toContain('Count 3');
    expect(lines).toContain('Chalk, inside.');
    expect(lines).toContain('value="LINE"');

    await send(number, 'coat', { bucket: lining, face: 'inside', way: 'pour', seconds: '6' });
    const wet = await bench(number);
    expect(verdictOf(wet)).toBe('Wait');
    expect(wet).toContain('The lining is still wet.');
    expect(wet).toContain('12 hours is what it usually takes');
    expect(wet).toContain('Not cold to the cheek: it is dry');
    expect(wet, 'nobody is stopped').toContain('Put the coat on all the same');
    const page = (await open(`/ware/${number}`)).html;
    expect(page).toContain('At the bench');
    expect(page).toContain('The lining is still wet.');
    expect(page).toContain('Inside, poured, count of 6');

    await send(number, 'inside-dry', {});
    const dry = await bench(number);
    expect(verdictOf(dry)).toBe('Dry: coat the outside');
    expect(dry).toContain('not cold to the cheek');

    await send(number, 'coat', { bucket: outside, face: 'outside', way: 'dip' });
    expect(verdictOf(await bench(number))).toBe('Wipe the foot');
    await send(number, 'hand-in', { heldBack: 'yes' });
    expect(await bench(number)).toContain('Nothing to do with it at the glazing bench now.');
  });

  it('with the foot wiped at the dip it is ready to hand in', async () => {
    const number = await one();
    await act('plan', number, { outside, over: [] });
    await act('waxed', number);
    await send(number, 'coat', { bucket: outside, face: 'outside', way: 'dip', heldBack: 'yes' });
    expect(verdictOf(await bench(number))).toBe('Ready to hand in');
  });

  it('an overlap goes on while what is under it is still wet, and no page calls that dry', async () => {
    const number = await one();
    await act('plan', number, { outside, over: [lining] });
    await act('waxed', number);
    await act('coat', number, { bucket: outside, face: 'outside', way: 'dip' });
    const html = await bench(number);
    expect(verdictOf(html)).toBe('Put the overlap on');
    for (const said of [html, (await open(`/ware/${number}`)).html]) {
      expect(said).toContain('The overlap goes on as soon as it no longer shines.');
      expect(said).not.toContain('12 hours is what it usually takes');
    }
    s.clock.forward(13 * HOUR);
    expect(verdictOf(await bench(number))).toBe('Dry: put the overlap on');
  });

  it('is ready by the clock a night later', async () => {
    const number = await one();
    await act('plan', number, { inside: lining, outside, over: [] });
    await act('waxed', number);
    await act('coat', number, { bucket: lining, face: 'inside', way: 'pour' });
    expect(verdictOf(await bench(number))).toBe('Wait');
    s.clock.forward(13 * HOUR);
    const html = await bench(number);
    expect(verdictOf(html)).toBe('Dry: coat the outside');
    expect(html).toContain('It has dried for 12 hours.');
  });

  it('says by the scale how much water is gone, and forgets a weighing that is struck out', async () => {
    const number = await one();
    await act('plan', number, { inside: lining, outside, over: [] });
    await act('coat', number, {
      bucket: lining,
      face: 'inside',
      way: 'pour',
      beforeGrams: 400,
      afterGrams: 480,
    });
    s.clock.forward(3 * HOUR);
    const refused = await send(number, 'weigh', { grams: 'heavy' });
    expect(refused.statusCode).toBe(422);
    expect(refused.body).toContain('value="heavy"');
    expect(refused.body).toContain('Type a number.');
    await send(number, 'weigh', { grams: '460' });
    const html = await bench(number);
    expect(html).toMatch(/\d+ % of its water is gone/);
    expect(html).toContain('460 g');
    const event = /action="[^"]*strike-weighing"[\s\S]*?name="event" value="(\d+)"/g;
    const last = [...html.matchAll(event)].at(-1)?.[1] ?? '';
    await send(number, 'strike-weighing', { event: last });
    expect(await bench(number)).not.toContain('460 g');
  });

  it('a refused coat comes back as it was typed, beside its field, for the same bucket', async () => {
    const number = await one();
    await act('plan', number, { inside: lining, outside, over: [] });
    await act('waxed', number);
    const answer = await send(number, 'coat', {
      bucket: lining,
      face: 'inside',
      way: 'pour',
      seconds: '5',
      beforeGrams: '500',
      afterGrams: '480',
    });
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain('value="500"');
    expect(answer.body).toContain('value="480"');
    expect(answer.body).toContain('id="coat-afterGrams-error"');
    expect(verdictOf(answer.body)).toBe('Line it');
  });

  it('takes its batch along, and a tap that is refused says why above', async () => {
    const [first = 0, second = 0] = await some(2);
    const html = await bench(first);
    expect(html).toContain(`Also piece ${second}`);
    await send(first, 'plan', { outside, also: String(second) });
    expect(verdictOf(await bench(second))).toBe('Wax the foot');
    const bare = await one();
    const refused = await send(bare, 'inside-dry', {});
    expect(refused.statusCode).toBe(409);
    expect(refused.body).toMatch(/class="flash is-do-not-use"[\s\S]*Nothing was put on piece/);
  });

  it('glazes all over without a plan, once somebody chose a bucket', async () => {
    const number = await one();
    const asks = (await open(`/ware/${number}/glazing?coat=all`)).html;
    expect(verdictOf(asks)).toBe('Glaze it all over');
    expect(asks).toContain('Show what to count');
    const counts = (await open(`/ware/${number}/glazing?coat=all&bucket=OUT`)).html;
    expect(counts).toContain('Count 3');
    expect(counts).toContain('It is glazed');
    await send(number, 'coat', { bucket: outside, face: 'all', way: 'dip', heldBack: 'yes' });
    expect(verdictOf(await bench(number))).toBe('Ready to hand in');
  });

  it('warns of coats that run or come to too much before they go on', async () => {
    const number = await one();
    await s.as(technician, (a) => addRunPair(a, { a: lining, b: outside, why: 'It runs to the foot' }));
    await act('plan', number, { outside: lining, over: [outside] });
    await act('waxed', number);
    await act('coat', number, { bucket: lining, face: 'outside', way: 'dip' });
    const html = await bench(number);
    expect(html).toContain('Kelp over Chalk runs');
    expect(html).toContain('It runs to the foot.');
    expect(html).toContain('A technician says yes to it first');
    expect(html).not.toContain('come to');
    await send(number, 'scratch', { position: '1', mm: '1.4' });
    const thick = await bench(number);
    expect(thick).toContain('1.4 mm by the pin');
    expect(thick).toContain('2 coats outside come to 1.9 mm, and 1.5 mm is the most');
  });

  it('without a clay of the list nobody promises a thickness', async () => {
    const [number = 0] = await somePieces(s, member, { ownClay: 'From home', begins: 'bisqued' });
    const html = (await open(`/ware/${number}/glazing?coat=all&bucket=OUT`)).html;
    expect(html).toContain('Count 3');
    expect(html).toContain('Its clay is not on the list');
  });

  it('a stranger finds nothing, whatever the address says nothing breaks', async () => {
    const number = await one();
    const stranger = await s.aPerson('member');
    expect((await open(`/ware/${number}/glazing`, stranger)).status).toBe(404);
    expect((await open(`/bench/poster?piece=${number}`, stranger)).status).toBe(404);
    for (const query of [
      'coat=x',
      'bucket=NONE',
      'coat=all&coat=over',
      'bucket=OUT',
      'coat=over',
      'did=coat&pieces=x',
    ])
      expect((await open(`/ware/${number}/glazing?${query}`)).status, query).toBe(200);
    for (const query of ['piece=x', 'piece=99999999999', 'piece=1&piece=2'])
      expect((await open(`/bench/poster?${query}`)).status, query).toBe(404);
    expect((await open('/ware/999999/glazing')).status).toBe(404);
    expect((await open(`/ware/${number}/coat`)).status).toBe(303);
  });
});

describe('the dry racks', () => {
  it('show own ware by when it can be dipped; everybody’s only to technicians who ask', async () => {
    const owner = await s.aPerson('member', 'Quill');
    const [wet = 0, ready = 0] = await Promise.all(
      [1, 2].map(
        async () => (await somePieces(s, owner, { clay, begins: 'bisqued', place: 'Rack 3' }))[0] as number,
      ),
    );
    await moved(s, owner, 'plan', [wet], { inside: lining, outside, over: [] });
    await moved(s, owner, 'coat', [wet], { bucket: lining, face: 'inside', way: 'pour' });
    await moved(s, owner, 'plan', [ready], { outside, over: [] });
    await moved(s, owner, 'waxed', [ready]);
    const { html } = await open('/bench', owner);
    expect(html.indexOf('>Now<')).toBeLessThan(html.indexOf('>Still wet<'));
    expect(html.indexOf(`/ware/${ready}/glazing`)).toBeLessThan(html.indexOf(`/ware/${wet}/glazing`));
    expect(html).toContain('The lining is still wet.');
    expect(html).toContain('Stands: Rack 3');
    expect(html).not.toContain('Everybody');
    expect((await open('/bench?whose=everybody', await s.aPerson('member'))).html).toContain(
      'Nothing at the bench now',
    );
    const all = (await open('/bench?whose=everybody', technician)).html;
    expect(all).toContain('Quill');
    expect(all).toContain(`/ware/${wet}/glazing`);
    expect((await open('/bench', technician)).html).not.toContain(`/ware/${wet}/glazing`);
  });

  it('show the first of many, and all of them when asked', async () => {
    const owner = await s.aPerson('member');
    for (let i = 0; i < 31; i++) {
      const numbers = await somePieces(s, owner, { clay, begins: 'bisqued', howMany: 1 });
      await moved(s, owner, 'plan', numbers, { inside: lining, over: [] });
    }
    const cards = (html: string) => html.split('class="ware-card').length - 1;
    const { html } = await open('/bench', owner);
    expect(cards(html)).toBe(30);
    expect(html).toContain('Show all 31 of these');
    const all = (await open('/bench?all=yes', owner)).html;
    expect(cards(all)).toBe(31);
    expect(all).not.toContain('Show all');
  });
});

describe('the poster', () => {
  it('marks three ticks, and asks only for what a plan holds', async () => {
    const { html } = await open('/bench/poster');
    expect(html.match(/class="ticked"/g)).toHaveLength(3);
    expect(html).toContain('Cold to the cheek is still wet.');
    const number = await one();
    await act('plan', number, { outside, over: [] });
    const own = (await open(`/bench/poster?piece=${number}`)).html;
    expect(own).toContain(`Piece ${number}`);
    expect(own).toContain('Dip the outside in OUT');
    expect(own).not.toContain('Line it');
  });
});
