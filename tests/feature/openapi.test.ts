import { Validator } from '@seriousme/openapi-schema-validator';
import { beforeAll, describe, expect, it } from 'vitest';
import { bucketEndpoints } from '../../server/buckets/api.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';

let s: Studio;
beforeAll(async () => {
  s = await aStudio();
});

const endpoint = (method: 'GET' | 'POST', path: string) => {
  const found = bucketEndpoints.find((e) => e.method === method && e.path === path);
  if (!found) throw new Error(`no ${method} ${path}`);
  return found;
};

describe('the OpenAPI document', () => {
  it('is open to anybody and valid OpenAPI 3.1', async () => {
    const answer = await s.app.inject('/api/v1/openapi.json');
    expect(answer.statusCode).toBe(200);
    const document = answer.json();
    expect(document.openapi).toMatch(/^3\.1\./);
    const result = await new Validator().validate(document);
    expect(result.errors).toBeUndefined();
    expect(result.valid).toBe(true);
  });

  it('names every route of the API, and no other', async () => {
    const { paths } = (await s.app.inject('/api/v1/openapi.json')).json();
    const described = Object.entries(paths as Record<string, object>).flatMap(([path, operations]) =>
      Object.keys(operations).map((method) => `${method.toUpperCase()} ${path}`),
    );
    const served = s.routes
      .filter((r) => r.url.startsWith('/api/v1/') && r.method !== 'HEAD' && !r.url.endsWith('openapi.json'))
      .map((r) => `${r.method} ${r.url.replace('/api/v1', '').replace(/:(\w+)/g, '{$1}')}`);
    expect(described.sort()).toEqual(served.sort());
  });

  it('describes what is answered: real answers fit the schemas they came from', async () => {
    const code = await s.aBucket({ sg: 1.52 });
    const thin = await s.aBucket({ sg: 1.41 });
    const { technician } = s.people;
    const bucket = endpoint('GET', '/buckets/:code').answer;
    for (const one of [code, thin]) bucket.parse((await s.api(technician, 'GET', `/buckets/${one}`)).json());
    endpoint('GET', '/buckets').answer.parse((await s.api(technician, 'GET', '/buckets')).json());
    endpoint('GET', '/buckets/:code/events').answer.parse(
      (await s.api(technician, 'GET', `/buckets/${code}/events`)).json(),
    );
    const acts: [string, object][] = [
      ['readings', { method: 'hydrometer', scale: 'baume', value: 48, confirm: true }],
      ['top-ups', { kind: 'dry', kilograms: 0.5 }],
      ['levels', { quarters: 3 }],
      ['dippings', { cups: 2, large: 1 }],
      ['flows', { seconds: 24 }],
      ['settlings', { fresh: 1.52 }],
      ['settlings', { fresh: 1.52, later: 1.5, minutes: 8 }],
      ['additives', { what: 'epsom', millilitres: 2 }],
      ['sievings', {}],
      ['service', { state: 'on-test' }],
      ['problems', { problem: 'contaminated' }],
      ['tags', {}],
      ['notes', { note: 'lid cracked' }],
    ];
    for (const [path, body] of acts) {
      const answer = await s.api(technician, 'POST', `/buckets/${code}/${path}`, body);
      expect(answer.statusCode, `${path}: ${answer.body}`).toBe(201);
      endpoint('POST', `/buckets/:code/${path}`).answer.parse(answer.json());
    }
  });
});
