// Keeps the pages of buckets last seen, and what is recorded there while there is no network, until it can be sent.

import { allActs, dropAct, findAct, keepAct, readNote, writeNote } from './queue.js';
import {
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
  seenWords,
  withContent,
} from './rules.js';

/**
 * @typedef {import('./rules.js').Act} Act
 * @typedef {import('./rules.js').Answer} Answer
 * @typedef {import('./rules.js').Person} Person
 */

const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
/** Written before this by the server. @type {{ version: string, assets: string[] }} */
const build = /** @type {any} */ (self).BUILD;

const ASSETS = `assets-${build.version}`;
const PAGES = `pages-${build.version}`;
/** A kept page is shown after this, an act is kept after that, ms: the network may be there and lead nowhere. */
const PAGE_PATIENCE = 5_000;
const ACT_PATIENCE = 10_000;
const FORM_IS_FRESH = 12 * 3_600_000;
const SENT_IS_NEWS = 24 * 3_600_000;

worker.addEventListener('install', (event) => {
  const all = async () => {
    const cache = await caches.open(ASSETS);
    await Promise.all(build.assets.map((url) => keepAsset(cache, new Request(url))));
  };
  event.waitUntil(all());
  worker.skipWaiting();
});

worker.addEventListener('activate', (event) => {
  const old = async () => {
    const names = await caches.keys();
    await Promise.all(
      names.filter((name) => name !== ASSETS && name !== PAGES).map((name) => caches.delete(name)),
    );
    await worker.clients.claim();
  };
  event.waitUntil(old());
});

worker.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== location.origin) return;
  const wants = request.headers.get('hx-request-type');
  if (request.method === 'POST') {
    const isForm = request.headers.get('content-type')?.startsWith('application/x-www-form-urlencoded');
    if (isForm && url.search === '' && actAt(url.pathname)) event.respondWith(record(event, url.pathname));
    return;
  }
  if (request.method !== 'GET' || request.headers.get('accept') === 'text/event-stream') return;
  if (url.pathname.startsWith('/assets/')) event.respondWith(assetFor(request));
  else if (request.mode === 'navigate' || wants === 'full') event.respondWith(pageFor(event, url));
});

worker.addEventListener('message', (event) => {
  const { data, source } = event;
  event.waitUntil(hear(data, /** @type {Client} */ (source)));
});

// Where the browser knows how: it wakes this when the network is back, with no page open, and again later if it fails.
worker.addEventListener('sync', (event) => {
  const all = async () => {
    await send();
    if (stopped === 'network') throw new Error('No network yet.');
  };
  /** @type {ExtendableEvent} */ (event).waitUntil(all());
});

/** @template T @param {number} ms @param {Promise<T>} promise @returns {Promise<T>} */
const soon = (ms, promise) =>
  Promise.race([
    promise,
    new Promise((_, reject) => setTimeout(() => reject(new Error(`Nothing within ${ms} ms.`)), ms)),
  ]);

/** @returns {Promise<Person | null>} */
const whoIsHere = async () => (await readNote('person')) ?? null;

/** A page of this person's was shown: what was kept of somebody else's goes. @param {Person | null} person */
async function isHere(person) {
  const before = await whoIsHere();
  if (before?.mark !== person?.mark) await caches.delete(PAGES);
  await writeNote('person', person);
}

// Pages

/** @param {Request} request */
async function assetFor(request) {
  return (await caches.match(request)) ?? keepAsset(await caches.open(ASSETS), request);
}

/** @param {Cache} cache @param {Request} request */
async function keepAsset(cache, request) {
  const response = await fetch(request);
  // What may not be kept is another release's, sent while the server is being replaced.
  if (response.ok && response.headers.get('cache-control')?.includes('immutable'))
    await cache.put(request, response.clone());
  return response;
}

/** @param {FetchEvent} event @param {URL} url */
async function pageFor(event, url) {
  const at = keptAs(url);
  const kept = at === null ? undefined : await (await caches.open(PAGES)).match(at);
  const asked = fetch(event.request).then(async (response) => {
    if (at !== null && response.ok && !response.redirected) {
      const copy = response.clone();
      // Said in an address that names a moment, it is not the page as it will be.
      event.waitUntil(at === url.pathname + url.search ? keep(at, copy) : lookAt(at));
    }
    return response;
  });
  try {
    return await (kept ? soon(PAGE_PATIENCE, asked) : asked);
  } catch (error) {
    if (kept) return shown(kept);
    const instead = await notKept();
    if (instead) return instead;
    throw error;
  }
}

/** A page that nobody opened is kept `alone`: it brings no others. @param {string} at @param {Response} response @param {{ alone?: boolean }} [how] */
async function keep(at, response, { alone = false } = {}) {
  const html = await response.text();
  const person = personOf(markIn(html));
  if (person === null) return;
  await isHere(person);
  await writeNote('offset', clockOffset(response.headers.get('date'), Date.now()));
  const headers = new Headers(response.headers);
  for (const name of ['content-encoding', 'content-length']) headers.delete(name);
  headers.set('seen-at', String(Date.now()));
  const pages = await caches.open(PAGES);
  await pages.put(at, new Response(html, { headers }));
  if (alone) return;
  for (const companion of companionsOf(at)) {
    const seen = Number((await pages.match(companion))?.headers.get('seen-at') ?? 0);
    if (Date.now() - seen > FORM_IS_FRESH) await lookAt(companion, { alone: true });
  }
}

/** Keeps a page that nobody opens just now. @param {string} at @param {{ alone?: boolean }} [how] */
async function lookAt(at, how) {
  const signal = AbortSignal.timeout(ACT_PATIENCE);
  const headers = { accept: 'text/html' };
  const response = await fetch(at, { redirect: 'manual', headers, signal }).catch(() => null);
  if (response?.ok) await keep(at, response, how);
}

/** @param {Response} kept */
async function shown(kept) {
  const seen = seenWords(Number(kept.headers.get('seen-at')), Date.now());
  const html = asKept(await kept.text(), { seen, newKey: () => crypto.randomUUID() });
  return new Response(html, { headers: kept.headers });
}

/** What is said instead of a page that is not kept: which ones are. Null where nothing is. */
async function notKept() {
  const pages = await caches.open(PAGES);
  const shell = await pages.match('/waiting');
  if (!shell) return null;
  const links = [];
  for (const { url } of await pages.keys()) {
    const { pathname, search } = new URL(url);
    if (search !== '' || !/^\/(wall|waiting|buckets\/[^/]+)$/.test(pathname)) continue;
    const [, title = pathname] = /<title>(.*?) · /.exec((await (await pages.match(url))?.text()) ?? '') ?? [];
    links.push(`<li><a class="plain" href="${pathname}">${title}</a></li>`);
  }
  const words = `<h1>No network</h1><p>This page is not kept on this device. These are:</p><ul class="kept-pages">${links.join('')}</ul>`;
  return new Response(withContent(await shell.text(), words), { headers: shell.headers });
}

// Acts

/** Sends a form; without an answer it waits, and its maker sees the bucket again. @param {FetchEvent} event @param {string} path */
async function record(event, path) {
  const { request } = event;
  const at = Date.now();
  const copy = request.clone();
  const pageOf = personOf(request.headers.get('wareboard-page-of'));
  const fields = [...new URLSearchParams(await copy.text())];
  const key = fields.find(([name]) => name === 'key')?.[1];
  // Without a key a second try could record it twice.
  if (key === undefined) return fetch(request);
  const bucket = `/buckets/${actAt(path)?.bucket}`;
  try {
    const response = await soon(ACT_PATIENCE, fetch(await asMadeThen(request, key)));
    const isRecorded = response.redirected && new URL(response.url).pathname.startsWith(bucket);
    if (isRecorded) event.waitUntil(forget(key).then(() => lookAt(bucket)));
    return response;
  } catch (error) {
    const person = pageOf ?? (await whoIsHere());
    if (!person) throw error;
    await wait({ key, path, fields, person }, at);
    event.waitUntil(tellPages());
    const to = `${bucket}?kept=${encodeURIComponent(key)}`;
    if (request.headers.get('hx-request-type') === 'partial')
      return new Response('', { headers: { 'hx-location': to } });
    return Response.redirect(to, 303);
  }
}

/** What waited and was opened in its form again is sent with the time at which it was made. @param {Request} request @param {string} key */
async function asMadeThen(request, key) {
  const before = await findAct(key).catch(() => undefined);
  // A navigation may not be changed.
  if (!before || request.mode === 'navigate') return request;
  const headers = new Headers(request.headers);
  // Whoever opens the form online sees how the bucket is.
  headers.set('wareboard-late', lateHeader({ ...before, toldHeld: true }));
  return new Request(request, { headers });
}

/** @param {string} key */
async function forget(key) {
  if (!(await findAct(key))) return;
  await dropAct(key);
  await tellPages();
}

/** @param {Pick<Act, 'key' | 'path' | 'fields' | 'person'>} act @param {number} at When it was sent, by this clock. */
async function wait(act, at) {
  const acts = await allActs();
  // Sent anew from its form, it is still what was made then.
  const before = acts.find(({ key }) => key === act.key);
  const madeAt = before?.madeAt ?? at + Number((await readNote('offset')) ?? 0);
  const place = before?.place ?? Math.max(0, ...acts.map(({ place }) => place)) + 1;
  await keepAct({ ...act, madeAt, place, state: 'waiting' });
  const { sync } = /** @type {any} */ (worker.registration);
  await sync?.register('send').catch(() => {});
}

/** Why the last pass ended early. @type {'network' | 'sign-in' | 'other-person' | 'busy' | null} */
let stopped = null;
/** @type {Promise<void> | null} */
let pass = null;

/** Sends what waits, oldest first; one pass at a time. */
function send() {
  pass ??= sendAll().finally(() => {
    pass = null;
  });
  return pass;
}

async function sendAll() {
  stopped = null;
  const stuck = /** @type {Set<string>} */ (new Set());
  const changed = /** @type {Set<string>} */ (new Set());
  for (;;) {
    const me = await whoIsHere();
    const act = me && nextToSend(await allActs(), { mark: me.mark, stuck });
    if (!act) break;
    await keepAct({ ...act, state: 'sending' });
    await tellPages();
    const outcome = meaningOf(await ask(act), act.troubles ?? 0);
    if ('stuck' in outcome) {
      stuck.add(actAt(act.path)?.bucket ?? '');
      await keepAct({ ...act, state: 'waiting', troubles: (act.troubles ?? 0) + 1 });
    } else if (outcome.state === 'waiting') {
      await keepAct({ ...act, state: 'waiting' });
      stopped = outcome.stops;
      break;
    } else {
      const { doubt: _, reason: __, ...rest } = act;
      await keepAct({ ...rest, ...outcome, sentAt: Date.now() });
      if (outcome.state === 'sent') changed.add(`/buckets/${actAt(act.path)?.bucket}`);
    }
  }
  for (const { key, state, sentAt = 0 } of await allActs())
    if (state === 'sent' && Date.now() - sentAt > SENT_IS_NEWS) await dropAct(key);
  await tellPages();
  for (const at of changed) await lookAt(at);
}

/** @param {Act} act */
const lateHeader = ({ madeAt, person, toldHeld = false }) =>
  JSON.stringify({ madeAt: new Date(madeAt).toISOString(), as: person.mark, toldHeld });

/** @param {Act} act @returns {Promise<Answer | null>} */
async function ask(act) {
  try {
    const response = await fetch(act.path, {
      method: 'POST',
      body: new URLSearchParams(act.fields),
      headers: {
        accept: 'application/problem+json',
        'hx-request-type': 'partial',
        'wareboard-late': lateHeader(act),
      },
      redirect: 'manual',
      signal: AbortSignal.timeout(ACT_PATIENCE),
    });
    const isProblem = response.headers.get('content-type')?.startsWith('application/problem+json');
    return {
      status: response.status,
      location: response.headers.get('hx-location'),
      problem: isProblem ? await response.json() : null,
    };
  } catch {
    return null;
  }
}

// Pages that are open

/** @param {any} said @param {Client} from */
async function hear(said, from) {
  const me = await whoIsHere();
  const mine = async () => {
    const act = await findAct(String(said.key));
    return act && act.person.mark === me?.mark && act.state !== 'sending' ? act : null;
  };
  switch (said.do) {
    case 'hello': {
      // A page that broke before it was known for whom it was says nothing of that.
      if (!said.person) return tellPages();
      await isHere(personOf(said.person));
      const at = keptAs(new URL(said.at, location.origin));
      if (at !== null && !(await (await caches.open(PAGES)).match(at))) await lookAt(at);
      await tellPages();
      return send();
    }
    case 'send':
      return send();
    case 'again': {
      const act = await mine();
      if (act) await keepAct({ ...act, state: 'waiting' });
      return send();
    }
    case 'confirm': {
      const act = await mine();
      if (!act?.doubt) return;
      const yes = act.doubt === 'held' ? { toldHeld: true } : { fields: confirmed(act.fields) };
      await keepAct({ ...act, ...yes, state: 'waiting' });
      return send();
    }
    case 'drop': {
      const act = await mine();
      if (act) await dropAct(act.key);
      return tellPages();
    }
    case 'fields': {
      const act = await mine();
      if (act) from.postMessage({ fields: act.fields, key: act.key });
    }
  }
}

/** Tells every open page what waits. */
async function tellPages() {
  const me = await whoIsHere();
  const acts = inOrder(await allActs());
  const now = Date.now();
  const shownActs = acts
    .filter(({ state, person }) => state !== 'sent' || person.mark === me?.mark)
    .map((act) => {
      const isMine = act.person.mark === me?.mark;
      return {
        key: act.key,
        bucket: actAt(act.path)?.bucket ?? '',
        // What somebody typed is theirs to see.
        what: isMine ? actWords(act) : '',
        when: clockWords(act.madeAt, now),
        state: act.state,
        reason: act.state === 'refused' && isMine ? (act.reason ?? '') : '',
        doubt: act.doubt !== undefined,
        form: formOf(act),
        to: act.to ?? null,
        owner: isMine ? null : act.person.name,
      };
    });
  const pages = await worker.clients.matchAll({ type: 'window', includeUncontrolled: true });
  for (const page of pages) page.postMessage({ acts: shownActs, stopped });
}
