import { beforeAll, describe, expect, it } from 'vitest';
import type { z } from 'zod';
import { ENDPOINTS } from '../../server/app.ts';
import { recordAct } from '../../server/buckets/service/index.ts';
import type { Endpoint } from '../../server/core/api.ts';
import { logEntry } from '../../server/safety/service/log.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';

let s: Studio;
beforeAll(async () => {
  s = await aStudio();
});

const lists = Object.values(ENDPOINTS)
  .flat()
  .filter((one) => one.method === 'GET');

/** Whether a list of things is right in the answer. */
const hasList = ({ answer }: Endpoint): boolean =>
  Object.values((answer as z.ZodObject).shape ?? {}).some(
    (field) =>
      (field as z.ZodType).def.type === 'array' && isObject((field as z.ZodArray).element as z.ZodType),
  );
const isObject = (schema: z.ZodType) => schema.def.type === 'object';

const note = (code: string, words: string) =>
  s.as(s.people.member, (act) => recordAct(act, code, 'notes', { note: words } as never));

/** The path of the next page as the header gives it. */
const nextOf = (answer: { headers: Record<string, unknown> }): string | null => {
  const { link } = answer.headers;
  if (link === undefined) return null;
  const found = /^<\/api\/v1(\/[^>]+)>; rel="next"$/.exec(String(link));
  expect(found, String(link)).not.toBeNull();
  return found?.[1] as string;
};

const get = (path: string) => s.api(s.people.technician, 'GET', path);

describe('every list of the API', () => {
  it('comes a page at a time, or says why it cannot grow', () => {
    const silent = lists
      .filter(hasList)
      .filter((one) => !one.isPage && !one.whole && !/:\w+(\/route)?$/.test(one.path))
      .map(({ path }) => path);
    expect(silent).toEqual([]);
    expect(lists.filter(({ isPage }) => isPage).map(({ path }) => path)).toEqual(
      expect.arrayContaining(['/loads', '/pieces', '/safety-log', '/notices', '/buckets/:code/events']),
    );
  });

  it('takes the same three words, and refuses the same nonsense', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const paths = lists
      .filter(({ isPage }) => isPage)
      .map(({ path }) => path.replace(':code', code))
      .filter((path) => !path.includes(':') && !path.startsWith('/containers'));
    expect(paths.length).toBeGreaterThan(6);
    for (const path of paths) {
      const first = await get(`${path}?limit=1`);
      expect(first.statusCode, path).toBe(200);
      expect(first.json()).toHaveProperty('next');
      for (const query of [
        'limit=0',
        'limit=999',
        'before=0',
        'after=',
        'after=x',
        'after=%00',
        'after=MQ',
        'odd=1',
      ])
        expect((await get(`${path}?${query}`)).statusCode, `${path}?${query}`).toBe(422);
    }
  });
});

describe('a list', () => {
  it('is read to its end by the header alone, each row once, whatever is written meanwhile', async () => {
    const code = await s.aBucket();
    for (let i = 0; i < 9; i++) await note(code, `n${i}`);
    const before = (await get(`/buckets/${code}/events?limit=200`)).json().events.map(numberOf);
    const seen: number[] = [];
    for (let path: string | null = `/buckets/${code}/events?limit=3`; path; ) {
      const answer = await get(path);
      seen.push(...answer.json().events.map(numberOf));
      await note(code, 'meanwhile');
      path = nextOf(answer);
      if (path) expect(path).toContain('limit=3');
    }
    expect(seen).toEqual(before);
  });

  it('has no next page where the last one is just full', async () => {
    const code = await s.aBucket({ litres: null });
    for (let i = 0; i < 4; i++) await note(code, `n${i}`);
    const first = await get(`/buckets/${code}/events?limit=2`);
    const second = await get(nextOf(first) as string);
    expect(second.json()).toMatchObject({ next: null });
    expect(second.json().events).toHaveLength(2);
    expect(nextOf(second)).toBeNull();
  });

  it('keeps its filters from page to page', async () => {
    const log = (what: string) =>
      s.as(s.people.member, (act) => logEntry(act, { kind: 'near-miss', place: 'Kiln room', what } as never));
    for (const what of ['A shelf', 'A post', 'A bag']) await log(what);
    const first = await get('/safety-log?kind=near-miss&limit=2');
    expect(nextOf(first)).toMatch(/[?&]kind=near-miss(&|$)/);
    const rest = await get(nextOf(first) as string);
    expect(rest.json().entries.map(({ what }: { what: string }) => what)).toEqual(['A shelf']);
    expect(nextOf(rest)).toBeNull();
  });

  it('does not take what another list gave', async () => {
    const [one, other] = [await s.aBucket(), await s.aBucket()];
    for (const code of [one, other]) for (let i = 0; i < 3; i++) await note(code, `n${i}`);
    const next = nextOf(await get(`/buckets/${one}/events?limit=1`)) as string;
    const after = new URLSearchParams(next.split('?')[1]).get('after') as string;
    expect((await get(`/buckets/${other}/events?after=${after}`)).statusCode).toBe(422);
    expect((await get(`/buckets/${one}/events?after=${after}&before=2`)).statusCode).toBe(422);
    expect((await get(`/buckets/${one}/events?after=${after}`)).statusCode).toBe(200);
  });
});

const numberOf = ({ number }: { number: number }) => number;
