// What the service worker decides, without the browser: what is kept, in which order it goes, what an answer means.

/**
 * @typedef {{ mark: string, units: string, name: string }} Person Whoever is signed in; `mark` tells them from others.
 * @typedef {'waiting' | 'sending' | 'refused' | 'sent'} State
 * @typedef {[name: string, value: string][]} Fields
 * @typedef {object} Act One form that was sent without an answer.
 * @property {string} key Its idempotency key, the same at every try.
 * @property {string} path Where it is sent.
 * @property {Fields} fields
 * @property {Person} person Who made it.
 * @property {number} madeAt ms, by the server's clock as far as it is known.
 * @property {number} place Counts up, for acts of the same millisecond.
 * @property {State} state
 * @property {string} [reason] Why the server refused it.
 * @property {'value' | 'held'} [doubt] What the server asks about; a yes makes it take the act.
 * @property {boolean} [toldHeld] The maker said yes to that the bucket was out of use by then.
 * @property {string} [to] Where it can be seen once it is recorded.
 * @property {number} [sentAt] ms
 * @property {number} [troubles] How often the server broke on it.
 */

const ACT =
  /^\/buckets\/([A-Za-z0-9-]{1,12})\/(stirs|dippings|top-ups|levels|check|add|dip|level|flow|problem)$/;

/** The form where an act that was recorded in one tap is typed out. @type {Record<string, string>} */
const FORMS = { 'top-ups': 'add', levels: 'level', dippings: 'dip' };

/** Which act at which bucket a form at this path records; null where it is none that waits for the network. @param {string} path */
export function actAt(path) {
  const [, bucket, what] = ACT.exec(path) ?? [];
  return bucket === undefined || what === undefined ? null : { bucket, what };
}

const PAGE = /^\/(wall|waiting|buckets\/[A-Za-z0-9-]{1,12}(\/(check|add|dip|level|flow|problem))?)$/;
/** What an address says of the moment, not of the page. */
const PASSING = ['did', 'kept', 'waiting'];

/** Under which address a page is kept; null: it is not. @param {URL} url */
export function keptAs({ pathname, search }) {
  if (!PAGE.test(pathname)) return null;
  const query = new URLSearchParams(search);
  for (const name of PASSING) query.delete(name);
  return query.size === 0 ? pathname : `${pathname}?${query}`;
}

/** What is fetched beside a page that was seen, so that its forms open without network too. @param {string} at */
export function companionsOf(at) {
  const [, bucket] = /^(\/buckets\/[^/?]+)$/.exec(at) ?? [];
  return bucket === undefined ? ['/waiting'] : ['/waiting', '/wall', `${bucket}/check`, `${bucket}/add`];
}

/** Whoever a page was made for, from the mark that it carries; null: nobody is signed in. @param {string | null | undefined} mark @returns {Person | null} */
export function personOf(mark) {
  const [, who, units, name] = /^([\w-]+):(\w+):(\S*)$/.exec(mark ?? '') ?? [];
  if (who === undefined || units === undefined || name === undefined) return null;
  try {
    return { mark: who, units, name: decodeURIComponent(name) };
  } catch {
    return null;
  }
}

/** The mark that a page carries. @param {string} html */
export const markIn = (html) => /<body[^>]*\sdata-person="([^"]*)"/.exec(html)?.[1] ?? null;

const SEEN = '<p class="trouble" id="seen" hidden></p>';
const MAIN = '<main id="main"';

/**
 * A kept page as it may be shown: it says when it was seen, and each form carries a key of its own, since the old one
 * may have been used. @param {string} html @param {{ seen: string, newKey: () => string }} how
 */
export function asKept(html, { seen, newKey }) {
  return html
    .replace(
      /(<input type="hidden" name="key" value=")[^"]*(")/g,
      (_, before, after) => before + newKey() + after,
    )
    .replace(SEEN, () => `<p class="trouble" id="seen" role="status">${seen}</p>`)
    .replace(MAIN, () => MAIN.replace('<main', '<main class="is-kept"'));
}

/** The page of waiting acts with other content, until the network is back. @param {string} html @param {string} content */
export const withContent = (html, content) =>
  html.replace(
    /<main( [^>]*>)[\s\S]*(<\/main>)/,
    (_, rest, after) => `<main class="is-kept"${rest}${content}${after}`,
  );

/** `10:42`, `Fri 10:42` within the week, else `21 Nov, 10:42`; by the phone's own zone. @param {number} at @param {number} now */
export function clockWords(at, now) {
  const time = new Intl.DateTimeFormat('en-GB', { hour: '2-digit', minute: '2-digit' }).format(at);
  if (new Date(at).toDateString() === new Date(now).toDateString()) return time;
  const near = Math.abs(now - at) < 6 * 86_400_000;
  const day = new Intl.DateTimeFormat(
    'en-GB',
    near ? { weekday: 'short' } : { day: 'numeric', month: 'short' },
  ).format(at);
  return near ? `${day} ${time}` : `${day}, ${time}`;
}

/** @param {number} at @param {number} now */
export const seenWords = (at, now) =>
  `Seen at ${clockWords(at, now)}, no network. Numbers may have changed since.`;

/** @param {Fields} fields */
const reader = (fields) => {
  const values = new Map(fields);
  return (/** @type {string} */ name) => (values.get(name) ?? '').trim();
};

/** What somebody did, as they would say it. @param {Pick<Act, 'path' | 'fields' | 'person'>} act */
export function actWords({ path, fields, person }) {
  const field = reader(fields);
  const litres = `${field('litres')} ${person.units === 'us' ? 'qt' : 'L'}`;
  switch (actAt(path)?.what) {
    case 'stirs':
      return 'Stirred';
    case 'dippings':
    case 'dip': {
      const sizes = ['cups', 'bowls', 'large'].reduce((sum, size) => sum + (Number(field(size)) || 0), 0);
      const pieces = Number(field('pieces')) || sizes;
      return `${field('stirred') === '' ? 'Dipped' : 'Stirred, dipped'}${pieces > 1 ? ` ${pieces} pieces` : ''}`;
    }
    case 'check':
      if (field('method') === 'float') return `SG by float, ${field('millimetres')} mm`;
      return field('method') === 'hydrometer'
        ? `SG by hydrometer, ${field('value')}`
        : `SG by weight, ${field('grams')} g`;
    case 'top-ups':
    case 'add':
      if (field('kind') === 'dry')
        return `Added ${field('kilograms')} ${person.units === 'us' ? 'lb' : 'kg'} of dry glaze`;
      return `Added ${litres} of ${field('kind') === 'water' ? 'water' : field('kind')}`;
    case 'levels':
    case 'level':
      return 'How full it is';
    case 'flow':
      return 'How it flows';
    default:
      return 'A problem';
  }
}

/** The form of an act, to be filled in with what was typed; null where there was nothing to type. @param {Pick<Act, 'key' | 'path' | 'fields'>} act */
export function formOf({ key, path, fields }) {
  const act = actAt(path);
  if (act === null || act.what === 'stirs') return null;
  const field = reader(fields);
  const query = new URLSearchParams();
  if (act.what === 'check') {
    const method = field('method');
    query.set('how', method === 'weighed' && field('vessel') !== '' ? 'cup' : method);
    if (method === 'hydrometer' && field('instrument') === '') query.set('with', 'another');
  }
  if (field('kind') !== '') query.set('what', field('kind'));
  query.set('waiting', key);
  return `/buckets/${act.bucket}/${FORMS[act.what] ?? act.what}?${query}`;
}

/** With a yes to the figure that the server asked about, and to no other. @param {Fields} fields @returns {Fields} */
export function confirmed(fields) {
  const field = reader(fields);
  const figure = field('grams') || field('value') || field('millimetres');
  return [...fields.filter(([name]) => name !== 'confirm'), ['confirm', figure]];
}

/** In the order in which they were made. @template {Pick<Act, 'madeAt' | 'place'>} A @param {A[]} acts @returns {A[]} */
export const inOrder = (acts) => acts.toSorted((a, b) => a.madeAt - b.madeAt || a.place - b.place);

/**
 * What goes next: the oldest act of whoever is signed in that waits and was not tried in this pass. At a bucket where
 * the server gave no clear answer (`stuck`) nothing goes before that act is settled. One that was refused holds up
 * nothing, not even at its own bucket: each act carries the time at which it was made, so the ledger comes out the
 * same whenever the refused one is mended and sent, while a reading held back behind a mistyped litre would keep
 * everybody at the wall in the dark, and could pass the hours within which a member may still record it.
 *
 * @param {Act[]} acts @param {{ mark: string, stuck: ReadonlySet<string> }} pass
 */
export const nextToSend = (acts, { mark, stuck }) =>
  inOrder(acts).find(
    (act) =>
      act.person.mark === mark &&
      (act.state === 'waiting' || act.state === 'sending') &&
      !stuck.has(actAt(act.path)?.bucket ?? ''),
  ) ?? null;

/** A server that breaks on the same act as often as this breaks on it for a reason: it is for a person to look at. */
const MOST_TROUBLES = 5;

/**
 * What became of an act. `stops` is why nothing else is sent now either.
 * @typedef {{ state: 'sent', to: string }
 *   | { state: 'refused', reason: string, doubt?: 'value' | 'held' }
 *   | { state: 'waiting', stops: 'network' | 'sign-in' | 'other-person' | 'busy' }
 *   | { state: 'waiting', stuck: true }} Outcome
 * @typedef {{ status: number, location: string | null, problem: Record<string, unknown> | null }} Answer
 *   `problem` is what the server said in its own terms; null: it did not, so somebody in between spoke.
 */

/** What an answer means; null: none came. @param {Answer | null} answer @param {number} troubles @returns {Outcome} */
export function meaningOf(answer, troubles) {
  if (answer === null) return { state: 'waiting', stops: 'network' };
  const { status, location, problem } = answer;
  // The sign-in page of somebody's network also answers 200.
  if (status === 200 && location?.startsWith('/buckets/')) return { state: 'sent', to: location };
  if (problem === null) return { state: 'waiting', stops: 'network' };
  if (status === 401) return { state: 'waiting', stops: 'sign-in' };
  if (status === 412) return { state: 'waiting', stops: 'other-person' };
  if (status === 429 || status === 503) return { state: 'waiting', stops: 'busy' };
  const reason = reasonIn(problem);
  if (status >= 500)
    return troubles + 1 < MOST_TROUBLES ? { state: 'waiting', stuck: true } : { state: 'refused', reason };
  if (status < 400) return { state: 'waiting', stops: 'network' };
  if (problem.doubtful !== true) return { state: 'refused', reason };
  const [first] = Array.isArray(problem.errors) ? problem.errors : [];
  return { state: 'refused', reason, doubt: first?.path === '' ? 'held' : 'value' };
}

/** @param {Record<string, unknown>} problem */
const reasonIn = ({ detail, title }) => String(detail ?? title ?? 'It was refused.');

/** Times are the server's while the phone's clock is off by more than this, ms. */
const CLOCK_MAY_BE_OFF = 120_000;

/**
 * How far the phone's clock is behind the server's, ms; 0 where the two agree as far as such an answer can tell.
 * @param {string | null} date Header of an answer @param {number} now
 */
export function clockOffset(date, now) {
  const offset = Date.parse(date ?? '') - now;
  return Math.abs(offset) > CLOCK_MAY_BE_OFF ? offset : 0;
}
