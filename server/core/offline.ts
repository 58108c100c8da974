import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import type { FastifyInstance } from 'fastify';
import type { Assets } from './assets.ts';

const PARTS = ['rules.js', 'queue.js', 'worker.js'];

/** Modules that name nothing twice, as one script: browsers that know no modules in a service worker take it, too. */
const asScript = (source: string): string =>
  source.replace(/^import [^;]*;\n/gm, '').replace(/^export /gm, '');

/** The service worker of this build: whatever changes in it or in an asset makes it another one. */
export function offlineWorker(assets: Assets): string {
  const folder = new URL('../../views/offline/', import.meta.url);
  const source = PARTS.map((part) => asScript(readFileSync(new URL(part, folder), 'utf8'))).join('\n');
  const urls = assets.urls();
  const version = createHash('sha256')
    .update(JSON.stringify([source, urls]))
    .digest('hex')
    .slice(0, 8);
  return `self.BUILD = ${JSON.stringify({ version, assets: urls })};\n${source}`;
}

/** It stands at the root, since it may only look after what lies beneath it. */
export function offlineRoutes(app: FastifyInstance, assets: Assets): void {
  const body = offlineWorker(assets);
  app.get('/offline.js', { config: { permission: 'public' } }, (_request, reply) =>
    reply.type('text/javascript; charset=utf-8').header('cache-control', 'no-cache').send(body),
  );
}
