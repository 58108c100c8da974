import { brotliDecompressSync, gunzipSync } from 'node:zlib';
import Fastify, { type FastifyInstance } from 'fastify';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { assetRoutes, loadAssets } from '../../server/core/assets.ts';

const assets = loadAssets();

describe('loadAssets', () => {
  test('an address carries the hash of what it leads to', () => {
    expect(assets.url('wareboard.css')).toMatch(/^\/assets\/wareboard-[0-9a-f]{8}\.css$/);
    expect(assets.find(assets.url('wareboard.css'))?.type).toBe('text/css; charset=utf-8');
    expect(assets.find(assets.url('htmx.js'))?.body.toString()).toContain('hx-boost');
  });

  test('a name nobody has throws', () => {
    expect(() => assets.url('wareboard.scss')).toThrow('wareboard.scss');
  });

  test('a path with another hash is not this file, but leads to it', () => {
    expect(assets.find('/assets/wareboard-00000000.css')).toBeUndefined();
    expect(assets.findOther('/assets/wareboard-00000000.css')).toBe(assets.find(assets.url('wareboard.css')));
    expect(assets.findOther('/assets/constructor-00000000.css')).toBeUndefined();
  });
});

describe('GET /assets/:file', () => {
  let app: FastifyInstance;
  beforeAll(async () => {
    app = Fastify();
    assetRoutes(app, assets);
    await app.ready();
  });
  afterAll(() => app.close());

  const url = assets.url('wareboard.css');
  const body = assets.find(url)?.body;
  const get = (path: string, encoding?: string) =>
    app.inject({ url: path, headers: encoding === undefined ? {} : { 'accept-encoding': encoding } });

  test('may be kept for ever and is not sniffed', async () => {
    const { statusCode, headers } = await get(url);
    expect(statusCode).toBe(200);
    expect(headers).toMatchObject({
      'cache-control': 'public, max-age=31536000, immutable',
      'x-content-type-options': 'nosniff',
      'content-type': 'text/css; charset=utf-8',
      vary: 'Accept-Encoding',
    });
  });

  test.each([
    ['gzip, deflate, br', 'br', brotliDecompressSync],
    ['gzip', 'gzip', gunzipSync],
    ['br;q=0, GZIP;q=0.5', 'gzip', gunzipSync],
  ] as const)('Accept-Encoding "%s" is answered in %s', async (accepted, encoding, decode) => {
    const { headers, rawPayload } = await get(url, accepted);
    expect(headers['content-encoding']).toBe(encoding);
    expect(decode(rawPayload)).toEqual(body);
  });

  test.each([undefined, '', 'identity', 'gzip;q=0.0, br;q=0'])(
    'Accept-Encoding "%s" is answered plain',
    async (accepted) => {
      const { headers, rawPayload } = await get(url, accepted);
      expect(headers['content-encoding']).toBeUndefined();
      expect(rawPayload).toEqual(body);
    },
  );

  test('the page of another release gets the file of this one, and does not keep it', async () => {
    const { statusCode, headers, rawPayload } = await get('/assets/wareboard-00000000.css');
    expect(statusCode).toBe(200);
    expect(headers).toMatchObject({ 'cache-control': 'no-store', 'x-content-type-options': 'nosniff' });
    expect(rawPayload).toEqual(body);
  });

  test.each([
    '/assets/nothing.css',
    '/assets/nothing-00000000.css',
    '/assets/..%2F..%2Fpackage.json',
    '/assets/wareboard.css',
  ])('%s is not there', async (path) => {
    expect((await get(path)).statusCode).toBe(404);
  });
});
