import vm from 'node:vm';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { loadAssets } from '../../server/core/assets.ts';
import { offlineWorker } from '../../server/core/offline.ts';
import {
  type Act,
  actAt,
  actWords,
  asKept,
  clockOffset,
  clockWords,
  companionsOf,
  confirmed,
  formOf,
  inOrder,
  keptAs,
  markIn,
  meaningOf,
  nextToSend,
  personOf,
  withContent,
} from '../../views/offline/rules.js';

const IDA = { mark: 'ida', units: 'metric', name: 'Ida' };
const act = (more: Partial<Act>): Act => ({
  key: 'key-of-it',
  path: '/buckets/HG/stirs',
  fields: [],
  person: IDA,
  madeAt: 0,
  place: 1,
  state: 'waiting',
  ...more,
});
const url = (path: string) => new URL(path, 'http://here.invalid');

describe('what waits and what is kept', () => {
  test.each([
    ['/buckets/HG/stirs', { bucket: 'HG', what: 'stirs' }],
    ['/buckets/B-7/check', { bucket: 'B-7', what: 'check' }],
    ['/buckets/HG/service', null],
    ['/buckets/HG/events/7/void', null],
    ['/buckets/HG/stirs/more', null],
    ['/round/check', null],
    ['/sign-in', null],
  ])('a form sent to %s', (path, found) => expect(actAt(path)).toEqual(found));

  test.each([
    ['/wall?sort=place', '/wall?sort=place'],
    ['/buckets/HG?did=12', '/buckets/HG'],
    ['/buckets/HG/check?how=cup&waiting=abc', '/buckets/HG/check?how=cup'],
    ['/buckets/HG/ledger', null],
    ['/me', null],
    ['/wallpaper', null],
  ])('%s is kept as %s', (path, kept) => expect(keptAs(url(path))).toBe(kept));

  test('a bucket brings its forms along, and its forms do not', () => {
    expect(companionsOf('/buckets/HG')).toEqual([
      '/waiting',
      '/wall',
      '/buckets/HG/check',
      '/buckets/HG/add',
    ]);
    expect(companionsOf('/buckets/HG/check')).toEqual(['/waiting']);
    expect(companionsOf('/wall?sort=place')).toEqual(['/waiting']);
  });
});

describe('whose a page is', () => {
  test.each([
    ['a-b_9:metric:Ida%20O%E2%80%99Dell', { mark: 'a-b_9', units: 'metric', name: 'Ida O’Dell' }],
    ['nobody', null],
    ['', null],
    [null, null],
    ['x:metric:%', null],
  ])('the mark %j', (mark, person) => expect(personOf(mark)).toEqual(person));

  test('is read from the body alone', () => {
    expect(markIn('<body hx-boost="x" data-person="a:us:B"><p data-person="c:us:D">')).toBe('a:us:B');
    expect(markIn('<body><p data-person="c:us:D">')).toBeNull();
  });
});

describe('a kept page', () => {
  const page = [
    '<p class="trouble" id="seen" hidden></p><main id="main" tabindex="-1">',
    '<form><input type="hidden" name="key" value="used-1-next"/><input type="hidden" name="stirred" value="yes"/></form>',
    '<form><input type="hidden" name="key" value="used-2"/></form></main>',
  ].join('');
  let given = 0;
  const shown = asKept(page, { seen: 'Seen at 10:42', newKey: () => `fresh-${++given}` });

  test('says when it was seen, and its verdict is marked as old', () => {
    expect(shown).toContain('id="seen" role="status">Seen at 10:42</p>');
    expect(shown).toContain('<main class="is-kept" id="main"');
  });

  test('gives every form a key that was not used', () => {
    expect(shown).not.toContain('used-');
    expect(shown).toContain('value="fresh-1"');
    expect(shown).toContain('value="fresh-2"');
    expect(shown).toContain('name="stirred" value="yes"');
  });

  test('is replaced from its heading to its foot, whatever stands in it', () => {
    expect(withContent('<b>a</b><main id="main">x<main>y</main><i>z</i>', '$& $1')).toBe(
      '<b>a</b><main class="is-kept" id="main">$& $1</main><i>z</i>',
    );
  });
});

describe('in words', () => {
  const words = (path: string, fields: Record<string, string>, units = 'metric') =>
    actWords({ path: `/buckets/HG/${path}`, fields: Object.entries(fields), person: { ...IDA, units } });
  test.each([
    [words('stirs', {}), 'Stirred'],
    [words('dippings', { stirred: 'yes' }), 'Stirred, dipped'],
    [words('dip', { stirred: 'yes', cups: '2', bowls: '1', pieces: '' }), 'Stirred, dipped 3 pieces'],
    [words('dip', { pieces: '4' }), 'Dipped 4 pieces'],
    [words('top-ups', { kind: 'water', litres: '1.75' }), 'Added 1.75 L of water'],
    [words('add', { kind: 'slurry', litres: '1' }, 'us'), 'Added 1 qt of slurry'],
    [words('add', { kind: 'dry', kilograms: '0.5' }, 'us'), 'Added 0.5 lb of dry glaze'],
    [words('check', { method: 'weighed', grams: '392' }), 'SG by weight, 392 g'],
    [words('check', { method: 'hydrometer', value: '1.46' }), 'SG by hydrometer, 1.46'],
    [words('check', { method: 'float', millimetres: '109' }), 'SG by float, 109 mm'],
    [words('problem', { problem: 'lumps' }), 'A problem'],
  ])('%s', (said, expected) => expect(said).toBe(expected));

  const form = (path: string, fields: Record<string, string>) =>
    formOf({ key: 'k', path: `/buckets/HG/${path}`, fields: Object.entries(fields) });
  test.each([
    [form('stirs', {}), null],
    [form('top-ups', { kind: 'water' }), '/buckets/HG/add?what=water&waiting=k'],
    [form('check', { method: 'weighed', vessel: 'C1' }), '/buckets/HG/check?how=cup&waiting=k'],
    [form('check', { method: 'weighed' }), '/buckets/HG/check?how=weighed&waiting=k'],
    [form('check', { method: 'hydrometer' }), '/buckets/HG/check?how=hydrometer&with=another&waiting=k'],
    [form('check', { method: 'hydrometer', instrument: 'H1' }), '/buckets/HG/check?how=hydrometer&waiting=k'],
    [form('levels', { quarters: '2' }), '/buckets/HG/level?waiting=k'],
  ])('its form is %s', (at, expected) => expect(at).toBe(expected));

  test('a time says the day where it was another', () => {
    const at = new Date(2026, 10, 27, 10, 42).getTime();
    const now = new Date(2026, 10, 27, 18, 0).getTime();
    const day = 86_400_000;
    expect(clockWords(at, now)).toBe('10:42');
    expect(clockWords(at, now + day)).toBe('Fri 10:42');
    expect(clockWords(at, now + 7 * day)).toBe('27 Nov, 10:42');
  });

  test('a yes goes to the figure that was asked about', () => {
    const fields: [string, string][] = [
      ['grams', '1300'],
      ['replicates', '1299'],
      ['confirm', '1301'],
    ];
    expect(confirmed(fields)).toEqual([
      ['grams', '1300'],
      ['replicates', '1299'],
      ['confirm', '1300'],
    ]);
  });
});

describe('the order of sending', () => {
  const some = fc.array(
    fc.record({
      madeAt: fc.integer({ min: 0, max: 5 }),
      bucket: fc.constantFrom('A', 'B', 'C'),
      who: fc.constantFrom('ida', 'wren'),
      state: fc.constantFrom<Act['state'][]>('waiting', 'sending', 'refused', 'sent'),
    }),
    { maxLength: 12 },
  );
  const made = (list: { madeAt: number; bucket: string; who: string; state: Act['state'] }[]) =>
    list.map(({ madeAt, bucket, who, state }, place) =>
      act({
        key: String(place),
        path: `/buckets/${bucket}/stirs`,
        person: { ...IDA, mark: who },
        madeAt,
        place,
        state,
      }),
    );

  test('sends each of one’s own once, in the order of making at every bucket, past whatever is refused', () => {
    fc.assert(
      fc.property(some, fc.integer({ min: 1, max: 7 }), (list, refusedEvery) => {
        const acts = made(list);
        const due = acts.filter(
          ({ person, state }) => person.mark === 'ida' && (state === 'waiting' || state === 'sending'),
        );
        const went: Act[] = [];
        for (;;) {
          const next = nextToSend(acts, { mark: 'ida', stuck: new Set() });
          if (!next) break;
          went.push({ ...next });
          next.state = went.length % refusedEvery === 0 ? 'refused' : 'sent';
        }
        expect(went.map(({ key }) => key)).toEqual(inOrder(due).map(({ key }) => key));
      }),
    );
  });

  test('where the server broke on one act, its bucket waits and the others go on', () => {
    fc.assert(
      fc.property(some, (list) => {
        const next = nextToSend(made(list), { mark: 'ida', stuck: new Set(['A']) });
        expect(next === null || !next.path.startsWith('/buckets/A/')).toBe(true);
      }),
    );
  });
});

describe('what an answer means', () => {
  const problem = { detail: 'Not so.', errors: [{ path: 'litres', message: 'Not so.' }] };
  const heard = (status: number, more: { location?: string; problem?: Record<string, unknown> } = {}) =>
    meaningOf({ status, location: more.location ?? null, problem: more.problem ?? null }, 0);

  test('recorded only where the server says where it can be seen', () => {
    expect(heard(200, { location: '/buckets/HG?did=12' })).toEqual({
      state: 'sent',
      to: '/buckets/HG?did=12',
    });
    for (const location of [undefined, '/sign-in', 'https://elsewhere.example/buckets/'])
      expect(heard(200, location === undefined ? {} : { location })).toEqual({
        state: 'waiting',
        stops: 'network',
      });
  });

  test.each([0, 200, 204, 302, 403, 404, 407, 422, 500, 502, 504, 511])(
    'a %i that is not the server’s own leaves it waiting',
    (status) => expect(heard(status)).toEqual({ state: 'waiting', stops: 'network' }),
  );

  test.each([
    [401, 'sign-in'],
    [412, 'other-person'],
    [429, 'busy'],
    [503, 'busy'],
  ])('%i: nothing more is sent now, %s', (status, stops) =>
    expect(heard(status, { problem })).toEqual({ state: 'waiting', stops }),
  );

  test.each([400, 403, 404, 409, 413, 422])('%i is a refusal with its reason', (status) =>
    expect(heard(status, { problem })).toEqual({ state: 'refused', reason: 'Not so.' }),
  );

  test('a doubt can be answered', () => {
    const doubtful = { ...problem, doubtful: true };
    expect(heard(409, { problem: doubtful })).toMatchObject({ state: 'refused', doubt: 'value' });
    const held = { detail: 'Held.', doubtful: true, errors: [{ path: '', message: 'Held.' }] };
    expect(heard(409, { problem: held })).toMatchObject({ state: 'refused', doubt: 'held' });
  });

  test('no answer: it waits; a server that breaks on it again and again: for somebody to look at', () => {
    expect(meaningOf(null, 0)).toEqual({ state: 'waiting', stops: 'network' });
    const broken = { status: 500, location: null, problem };
    expect(meaningOf(broken, 0)).toEqual({ state: 'waiting', stuck: true });
    expect(meaningOf(broken, 4)).toEqual({ state: 'refused', reason: 'Not so.' });
  });
});

test('a clock that is far off is put right, a second here or there is not', () => {
  const now = Date.UTC(2026, 10, 28, 10, 0);
  const date = (at: number) => new Date(at).toUTCString();
  expect(clockOffset(date(now + 30_000), now)).toBe(0);
  expect(clockOffset(date(now - 3_600_000), now)).toBe(-3_600_000);
  expect(clockOffset(null, now)).toBe(0);
  expect(clockOffset('soon', now)).toBe(0);
});

describe('the service worker as it is sent', () => {
  const assets = loadAssets();

  test('is one script that reads', () => {
    const script = offlineWorker(assets);
    expect(() => new vm.Script(script)).not.toThrow();
    expect(script).not.toMatch(/^(import|export) /m);
    for (const address of assets.urls()) expect(script).toContain(address);
  });

  test('is another one as soon as any asset is', () => {
    const other = { ...assets, urls: () => assets.urls().map((address) => address.replace('.css', 'x.css')) };
    const version = (script: string) => /"version":"(\w+)"/.exec(script)?.[1];
    expect(version(offlineWorker(other))).not.toBe(version(offlineWorker(assets)));
    expect(offlineWorker(loadAssets())).toBe(offlineWorker(assets));
  });
});
