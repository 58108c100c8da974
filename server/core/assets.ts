import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { extname } from 'node:path';
import { brotliCompressSync, constants, gzipSync } from 'node:zlib';
import type { FastifyInstance } from 'fastify';

const TYPES: Record<string, string> = {
  '.css': 'text/css; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.svg': 'image/svg+xml',
};

const LINE = Buffer.from('\n');

interface Asset {
  type: string;
  body: Buffer;
  gzip: Buffer;
  br: Buffer;
}

export interface Assets {
  /** The address of a file of `views/assets`, or of htmx's own; it changes with the content. Throws if unknown. */
  url(name: string): string;
  /** The addresses of all of them. */
  urls(): string[];
  find(path: string): Asset | undefined;
  /** This release's file where `path` carries another release's hash. */
  findOther(path: string): Asset | undefined;
}

/** Reads every asset once; the hash in an address is why browsers may keep it for ever. */
export function loadAssets(): Assets {
  const urls = new Map<string, string>();
  const byPath = new Map<string, Asset>();

  const add = (name: string, ...files: (string | URL)[]) => {
    const extension = extname(name);
    const type = TYPES[extension];
    if (!type) throw new Error(`No content type is known for the asset ${name}.`);
    const body = Buffer.concat(files.flatMap((file, i) => [...(i > 0 ? [LINE] : []), readFileSync(file)]));
    const hash = createHash('sha256').update(body).digest('hex').slice(0, 8);
    const path = `/assets/${name.slice(0, -extension.length)}-${hash}${extension}`;
    urls.set(name, path);
    byPath.set(path, { type, body, gzip: gzipSync(body, { level: 9 }), br: brotli(body) });
  };

  const folder = new URL('../../views/assets/', import.meta.url);
  for (const name of readdirSync(folder)) add(name, new URL(name, folder));
  const { resolve } = createRequire(import.meta.url);
  // In one file: were its extension late on the way, htmx would go over the page without it, and no stream would open.
  add('htmx.js', resolve('htmx.org/dist/htmx.min.js'), resolve('htmx.org/dist/ext/hx-sse.min.js'));

  return {
    url(name) {
      const url = urls.get(name);
      if (!url) throw new Error(`There is no asset ${name}.`);
      return url;
    },
    urls: () => [...byPath.keys()],
    find: (path) => byPath.get(path),
    findOther(path) {
      const [, name, extension] = /^\/assets\/(.+)-[0-9a-f]{8}(\.\w+)$/.exec(path) ?? [];
      return byPath.get(urls.get(`${name}${extension}`) ?? '');
    },
  };
}

export function assetRoutes(app: FastifyInstance, assets: Assets): void {
  app.get('/assets/:file', { config: { permission: 'public' } }, (request, reply) => {
    const path = request.url.split('?', 1)[0] ?? '';
    const own = assets.find(path);
    // While processes are replaced one by one, the page may come from a release that this one is not.
    const asset = own ?? assets.findOther(path);
    if (!asset) return reply.callNotFound();
    reply
      .type(asset.type)
      .header('cache-control', own ? 'public, max-age=31536000, immutable' : 'no-store')
      .header('x-content-type-options', 'nosniff')
      .header('vary', 'Accept-Encoding');
    const encoding = preferredEncoding(request.headers['accept-encoding']);
    return encoding
      ? reply.header('content-encoding', encoding).send(asset[encoding])
      : reply.send(asset.body);
  });
}

function preferredEncoding(accepted = ''): 'br' | 'gzip' | undefined {
  const wanted = accepted
    .split(',')
    .filter((part) => !/;\s*q=0(\.0*)?\s*$/.test(part))
    .map((part) => part.split(';', 1)[0]?.trim().toLowerCase());
  return (['br', 'gzip'] as const).find((encoding) => wanted.includes(encoding));
}

const brotli = (body: Buffer) =>
  brotliCompressSync(body, {
    params: { [constants.BROTLI_PARAM_QUALITY]: 9, [constants.BROTLI_PARAM_SIZE_HINT]: body.length },
  });
