// The few things markup cannot do. Every page works without this file.

/** @param {Element | null | undefined} element */
function moveFocus(element) {
  if (!(element instanceof HTMLElement)) return;
  if (element.tabIndex < 0) element.tabIndex = -1;
  element.focus();
}

const focusIsLost = () => !document.activeElement || document.activeElement === document.body;

const toAnnounce = () =>
  Array.from(document.querySelectorAll('[data-announce]'), (element) => element.dataset.announce).join('. ');

let announced = toAnnounce();

/** @param {boolean} shown */
function trouble(shown) {
  const words = document.getElementById('trouble');
  if (words) words.hidden = !shown;
}

document.addEventListener('click', (event) => {
  if (event.target instanceof Element && event.target.closest('[data-print]')) window.print();
});

// A form the browser sends itself goes once; boosted forms are held back by hx-sync.
document.addEventListener('submit', (event) => {
  const form = event.target;
  if (event.defaultPrevented || !(form instanceof HTMLFormElement) || form.method !== 'post') return;
  if (form.getAttribute('aria-busy') === 'true') event.preventDefault();
  else form.setAttribute('aria-busy', 'true');
});
window.addEventListener('pageshow', () => {
  for (const form of document.querySelectorAll('form[aria-busy]')) form.removeAttribute('aria-busy');
});

// An answer that is not a page of this build (a download, or the server was updated meanwhile) is loaded
// afresh, because a boosted swap leaves the old style sheet and scripts in place.
const ours = Array.from(
  document.head.querySelectorAll('link[rel=stylesheet], script[src]'),
  (element) => element.getAttribute('href') ?? element.getAttribute('src'),
);
document.addEventListener('htmx:after:request', (event) => {
  const { ctx } = event.detail;
  const { raw } = ctx.response;
  const repeatable = raw.redirected || ctx.request.method === 'GET';
  if (ctx.target !== document.body || !repeatable || !ctx.text || ctx.hx.redirect || ctx.hx.location) return;
  if (ours.every((url) => ctx.text.includes(url))) return;
  event.preventDefault();
  location.assign(raw.url);
});

// A region that asks for itself anew leaves alone whoever fills in a form in it, drags a piece, or waits to hear whether
// what they sent arrived: the form they would send again must be the same. It says that it is behind, and catches up.
/** @param {Element} field */
function isFilled(field) {
  if (field instanceof HTMLSelectElement) {
    const options = Array.from(field.options);
    const first = Math.max(
      0,
      options.findIndex((option) => option.defaultSelected),
    );
    return field === document.activeElement || field.selectedIndex !== first;
  }
  if (!('defaultValue' in field) || ['hidden', 'submit', 'button'].includes(field.type)) return false;
  const isTyped = field.value !== field.defaultValue || field.checked !== field.defaultChecked;
  return field === document.activeElement || isTyped;
}
/** @param {Element} region */
const isInUse = (region) =>
  region.querySelector('.is-moving, form.htmx-request, form[aria-busy=true], form[data-unsure]') !== null ||
  Array.from(region.querySelectorAll('input, textarea, select')).some(isFilled);
const isBehind = new Set();

function sayBehind() {
  for (const region of isBehind) if (!region.isConnected) isBehind.delete(region);
  const words = document.getElementById('behind');
  if (!words) return;
  words.hidden = isBehind.size === 0;
  words.querySelector('a').href = location.href;
}

document.addEventListener('htmx:before:swap', (event) => {
  const { target } = event.detail.ctx;
  if (!(target instanceof Element) || !target.matches('[data-live]')) return;
  if (isInUse(target)) {
    event.preventDefault();
    isBehind.add(target);
  } else isBehind.delete(target);
  sayBehind();
});
document.addEventListener('focusout', () =>
  setTimeout(() => {
    for (const region of isBehind) if (!isInUse(region)) region.dispatchEvent(new CustomEvent('every'));
  }),
);
document.addEventListener('htmx:error', (event) => {
  const source = event.detail.ctx?.sourceElement;
  if (source instanceof HTMLFormElement) source.dataset.unsure = '';
});

document.addEventListener('htmx:after:swap', (event) => {
  trouble(false);
  sayBehind();
  const { target } = event.detail.ctx;
  const wholePage = target === document.body;
  const words = toAnnounce();
  const announcer = document.getElementById('announcer');
  if (!wholePage && words !== announced && announcer) announcer.textContent = words;
  announced = words;
  if (!focusIsLost()) return;
  const region = wholePage ? document.getElementById('main') : target;
  moveFocus(
    region?.querySelector('.errors') ??
      region?.querySelector('.flash') ??
      (wholePage ? (region?.querySelector('h1') ?? region) : null),
  );
});

document.addEventListener('htmx:error', (event) => {
  if (event.detail.ctx && !event.detail.ctx.response) trouble(true);
});

// At the wall tablet anybody may have left a page open: untouched, it goes back to the wall by itself.
const LEFT_AFTER = 60_000;
const WARNED_FOR = 15_000;
let touched = Date.now();
const touch = () => {
  touched = Date.now();
};
for (const type of ['pointerdown', 'keydown', 'input', 'wheel', 'touchmove'])
  document.addEventListener(type, touch, { capture: true, passive: true });
document.addEventListener('htmx:after:swap', (event) => {
  if (event.detail.ctx.target === document.body) touch();
});
setInterval(() => {
  const idle = document.getElementById('idle');
  if (!idle) return;
  const left = touched + LEFT_AFTER - Date.now();
  idle.hidden = left > WARNED_FOR;
  if (left > 0) return;
  touch();
  location.assign(idle.dataset.to);
}, 1000);
