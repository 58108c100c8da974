// What the service worker keeps for want of a network, shown on every page. Without one all of this stays away.

/**
 * @typedef {object} Shown
 * @property {string} key
 * @property {string} bucket
 * @property {string} what
 * @property {string} when
 * @property {'waiting' | 'sending' | 'refused' | 'sent'} state
 * @property {string} reason
 * @property {boolean} doubt
 * @property {string | null} form
 * @property {string | null} to
 * @property {string | null} owner
 */

const workers = 'serviceWorker' in navigator ? navigator.serviceWorker : null;
/** How often the network is tried while a page is open that waits for it, ms. */
const TRIED_EVERY = 5_000;

/** @type {{ acts: Shown[], stopped: string | null }} */
let known = { acts: [], stopped: null };

const mine = () => known.acts.filter(({ owner, state }) => owner === null && state !== 'sent');
const query = (/** @type {string} */ name) => new URLSearchParams(location.search).get(name);
/** @param {number} count */
const things = (count) => (count === 1 ? 'One thing' : `${count} things`);

/** @param {Record<string, unknown>} message */
async function tell(message) {
  const { active } = (await workers?.ready) ?? {};
  active?.postMessage(message);
}

function hello() {
  const { person } = document.body.dataset;
  tell({ do: 'hello', person, at: location.pathname + location.search });
  const waiting = query('waiting');
  if (waiting) tell({ do: 'fields', key: waiting });
}

/** The mark in the bar, what this page is about, and the list where it stands. */
function show() {
  const waits = mine();
  const mark = document.getElementById('waiting');
  if (mark) {
    mark.hidden = waits.length === 0;
    mark.textContent = `${waits.length} waiting to send`;
  }
  const words = document.getElementById('kept');
  if (words) {
    const said = wordsHere(waits);
    if (words.textContent !== said) words.textContent = said;
    words.hidden = said === '';
  }
  showList();
}

/** @param {Shown[]} waits */
function wordsHere(waits) {
  if (document.body.dataset.person === 'nobody') {
    const count = known.acts.filter(({ state }) => state !== 'sent').length;
    return count === 0
      ? ''
      : `${things(count)} on this device will be sent once whoever made it is signed in.`;
  }
  if (location.pathname === '/waiting') return '';
  const asked = waits.filter(({ state }) => state === 'refused').length;
  if (asked > 0) return `${things(asked)} could not be recorded. Look under “waiting to send”.`;
  if (waits.length > 0 && known.stopped === 'sign-in') return 'Sign in again, and what waits is sent.';
  const kept = waits.find(({ key }) => key === query('kept'));
  return kept ? `Kept on this device: ${kept.what}. It is sent by itself once the network is back.` : '';
}

function showList() {
  const list = document.getElementById('waiting-list');
  const template = document.getElementById('waiting-one');
  if (!list || !(template instanceof HTMLTemplateElement)) return;
  list.replaceChildren(...known.acts.map((act) => item(template, act)));
  const shown = {
    'waiting-none': known.acts.length === 0,
    'waiting-send': known.acts.some(({ state, owner }) => state === 'waiting' && owner === null),
    'waiting-sign-in': known.stopped === 'sign-in',
  };
  for (const [id, isShown] of Object.entries(shown)) {
    const element = document.getElementById(id);
    if (element) element.hidden = !isShown;
  }
}

/** @param {HTMLTemplateElement} template @param {Shown} act */
function item(template, act) {
  const { key, bucket, what, when, state, reason, doubt, form, to, owner } = act;
  const one = /** @type {DocumentFragment} */ (template.content.cloneNode(true));
  const part = (/** @type {string} */ name) =>
    /** @type {HTMLElement | null} */ (one.querySelector(`[data-part="${name}"]`));
  /** @param {string} name @param {string} words */
  const put = (name, words) => {
    const element = part(name);
    if (!element) return;
    element.textContent = words;
    element.hidden = words === '';
  };
  put('what', what === '' ? 'Something' : what);
  put('bucket', bucket);
  put('when', when);
  put('reason', reason);
  put('owner', owner === null ? '' : `Made by ${owner}. It is sent once ${owner} is signed in here.`);
  const at = `/buckets/${bucket}`;
  part('bucket')?.setAttribute('href', at);
  const is = doubt && state === 'refused' ? 'asked' : state;
  for (const word of one.querySelectorAll('[data-state]'))
    if (word.getAttribute('data-state') !== is) word.remove();
  const settled = owner !== null || state === 'sending';
  const may = {
    confirm: doubt && state === 'refused' && !settled,
    again: !doubt && state === 'refused' && !settled,
    open: form !== null && state !== 'sent' && !settled,
    see: state === 'sent' && to !== null,
    drop: !settled,
  };
  for (const [name, isOffered] of Object.entries(may)) {
    const control = part(name);
    if (!control) continue;
    control.hidden = !isOffered;
    control.dataset.key = key;
  }
  part('open')?.setAttribute('href', form ?? at);
  part('see')?.setAttribute('href', to ?? at);
  const drop = part('drop');
  if (drop) drop.textContent = state === 'sent' ? 'Clear' : 'Throw away';
  if (drop && state !== 'sent')
    drop.dataset.asks = `Throw this away? ${bucket}: ${what}, ${when}. It is not recorded.`;
  return one;
}

// A form opened with what was typed before is sent under the key it had: it replaces what waits.
/** @param {string} key @param {[string, string][]} fields */
function fill(key, fields) {
  if (query('waiting') !== key) return;
  const typed = fields.filter(([name]) => name !== 'key' && name !== 'confirm');
  for (const form of document.querySelectorAll('main form')) {
    if (!(form instanceof HTMLFormElement) || new URL(form.action).pathname !== location.pathname) continue;
    if (!typed.some(([name]) => form.elements.namedItem(name))) continue;
    const own = form.elements.namedItem('key');
    if (own instanceof HTMLInputElement) own.value = key;
    // What the server asks about stands filled in already.
    if (!form.querySelector('.errors')) fillIn(form, typed);
  }
}

/** @param {HTMLFormElement} form @param {[string, string][]} typed */
function fillIn(form, typed) {
  const left = [...typed];
  for (const element of form.elements) {
    const isInput = element instanceof HTMLInputElement;
    if (isInput && element.type === 'hidden') continue;
    if (!isInput && !(element instanceof HTMLSelectElement) && !(element instanceof HTMLTextAreaElement))
      continue;
    const isTick = isInput && ['checkbox', 'radio'].includes(element.type);
    const at = left.findIndex(
      ([name, value]) => name === element.name && (!isTick || value === element.value),
    );
    // Several fields may share a name: each takes one of the values.
    const [, value = ''] = left.splice(at, at < 0 ? 0 : 1)[0] ?? [];
    if (isTick) element.checked = at >= 0;
    else element.value = value;
    const details = element.closest('details');
    if (details && !isTick && value !== '') details.open = true;
  }
}

/** @type {ReturnType<typeof setTimeout> | undefined} */
let next;

/** A kept page that nobody types on is loaded anew once that leads somewhere; one with a form stays, with what was typed. */
async function freshen() {
  clearTimeout(next);
  if (!document.querySelector('main.is-kept') || document.querySelector('main form.form')) return;
  const isBack = await fetch('/healthz').then(
    ({ ok }) => ok,
    () => false,
  );
  if (isBack) location.reload();
  else next = setTimeout(freshen, TRIED_EVERY);
}

let seenAt = Date.now();
const states = (/** @type {Element | null} */ region) => region?.querySelector('.verdict, .lid') ?? null;

/** The network went while states are shown: they are as they were, and must not read as what holds now. */
function isOld() {
  const main = document.querySelector('main:not(.is-kept)');
  const words = document.getElementById('seen');
  if (!main || !words || !states(main)) return;
  main.classList.add('is-kept');
  const time = new Intl.DateTimeFormat('en-GB', { hour: '2-digit', minute: '2-digit' }).format(seenAt);
  words.textContent = `Seen at ${time}, no network. Numbers may have changed since.`;
  words.hidden = false;
  freshen();
}

window.addEventListener('offline', isOld);
document.addEventListener('htmx:error', (event) => {
  const { ctx } = /** @type {CustomEvent} */ (event).detail;
  if (ctx && !ctx.response) isOld();
});
document.addEventListener('htmx:after:swap', (event) => {
  if (states(/** @type {CustomEvent} */ (event).detail.ctx.target)) seenAt = Date.now();
});

if (workers) {
  workers.register('/offline.js').catch(() => {});
  workers.addEventListener('message', ({ data }) => {
    if (data.fields) return fill(data.key, data.fields);
    known = data;
    show();
  });
  workers.startMessages();
  hello();
  freshen();
  document.addEventListener('htmx:after:swap', (event) => {
    if (/** @type {CustomEvent} */ (event).detail.ctx.target !== document.body) return;
    hello();
    show();
    freshen();
  });
  window.addEventListener('online', () => {
    tell({ do: 'send' });
    freshen();
  });
  setInterval(() => {
    // What waits for somebody to sign in waits for the page after that.
    if (document.visibilityState !== 'visible' || ['sign-in', 'other-person'].includes(known.stopped ?? ''))
      return;
    // One may have been left as being sent by a worker that the browser ended.
    if (mine().some(({ state }) => state !== 'refused')) tell({ do: 'send' });
  }, TRIED_EVERY);

  document.addEventListener('click', (event) => {
    const control = event.target instanceof Element ? event.target.closest('[data-waiting]') : null;
    if (!(control instanceof HTMLElement)) return;
    const { waiting, key, asks } = control.dataset;
    if (asks === undefined || window.confirm(asks)) tell({ do: waiting, key });
  });
  // Before htmx hears of it.
  document.addEventListener(
    'submit',
    (event) => {
      // By its attribute: a field may be called action, too.
      const action = /** @type {HTMLFormElement} */ (event.target).getAttribute('action') ?? '';
      const count = mine().length;
      if (count === 0 || !/\/sign-out(-everywhere)?$/.test(action)) return;
      const words = `${things(count)} on this device ${count === 1 ? 'is' : 'are'} still to be sent, and will be only once you sign in here again. Sign out?`;
      if (window.confirm(words)) return;
      event.preventDefault();
      event.stopImmediatePropagation();
    },
    { capture: true },
  );
} else {
  const words = document.getElementById('waiting-not-here');
  if (words) words.hidden = false;
}
