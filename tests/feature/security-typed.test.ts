import postgres from 'postgres';
import { beforeAll, expect, it } from 'vitest';
import { fillStudio, type Things } from '../browser/full-studio.ts';
import { whenFileIsDone } from '../helpers/closing.ts';
import { unescaped } from '../helpers/html.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

/** Ends a text in SQL and counts the canary up, then ends an attribute and an element in HTML. */
const LONG = `'||nextval('canary')||'"><img src=x onerror=a>`;
const SHORT = `'"><img src=x>`;
/** What the canary and a browser would take for more than text. */
const RAW = /<img src=x/;
/** Forms that would end the way in of whoever types here. */
const NOT_SENT =
  /^\/(sign-out|sign-in|setup|me\/(password|sign-out-everywhere|second-factor)|people\/(role|activity))/;

let s: Studio;
let owner: postgres.Sql;
let things: Things;
beforeAll(async () => {
  s = await aStudio();
  owner = postgres(s.ownerUrl, { max: 1, onnotice: () => {} });
  whenFileIsDone(() => owner.end());
  await owner`create sequence canary`;
  await owner`grant usage on sequence canary to public`;
  things = await fillStudio(s);
}, 300_000);

interface Field {
  name: string;
  value: string;
  /** Somebody types words into it. */
  isText: boolean;
  most: number;
}
interface Form {
  action: string;
  fields: Field[];
}

const attribute = (tag: string, name: string): string | null => {
  const found = new RegExp(`\\s${name}(?:="([^"]*)")?(?=[\\s/>])`).exec(tag);
  return found ? unescaped(found[1] ?? '') : null;
};

function fieldOf(tag: string, inside: string): Field | null {
  const name = attribute(tag, 'name');
  if (!name) return null;
  const most = Number(attribute(tag, 'maxlength') ?? 500);
  if (tag.startsWith('<textarea')) return { name, value: unescaped(inside), isText: true, most };
  if (tag.startsWith('<select')) {
    const options = [...inside.matchAll(/<option[^>]*>/g)].map(([option]) => option);
    const chosen = options.find((option) => attribute(option, 'selected') !== null) ?? options.at(-1) ?? '';
    return { name, value: attribute(chosen, 'value') ?? '', isText: false, most };
  }
  const type = attribute(tag, 'type') ?? 'text';
  if (type === 'file') return null;
  if (type === 'checkbox' || type === 'radio') {
    if (attribute(tag, 'checked') === null && type === 'checkbox') return null;
    return { name, value: attribute(tag, 'value') ?? 'on', isText: false, most };
  }
  const isText = ['text', 'search', 'email', 'url', 'tel'].includes(type);
  const asked = { number: '1', date: '2026-11-02', text: 'words' }[type] ?? '1';
  const value = attribute(tag, 'value') ?? '';
  return { name, value: value === '' && attribute(tag, 'required') !== null ? asked : value, isText, most };
}

const formsOf = (page: string, path: string): Form[] =>
  [...page.matchAll(/<form\b[^>]*>([\s\S]*?)<\/form>/g)].flatMap(([whole, inside = '']) => {
    const head = whole.slice(0, whole.indexOf('>') + 1);
    if (attribute(head, 'method') !== 'post') return [];
    const tags = inside.matchAll(/<(?:input)\b[^>]*>|<(textarea|select)\b[^>]*>([\s\S]*?)<\/\1>/g);
    const fields = [...tags].flatMap(
      ([tag, , within = '']) => fieldOf(tag.slice(0, tag.indexOf('>') + 1), within) ?? [],
    );
    return [{ action: attribute(head, 'action') || path, fields }];
  });

/** The route that answers a path. */
function routeOf(path: string, method: string): string | null {
  const [bare = ''] = path.split(/[?#]/);
  const candidates = s.routes.filter((one) => one.method === method);
  return (
    candidates.find(({ url }) => url === bare)?.url ??
    candidates.find(({ url }) =>
      new RegExp(`^${url.replaceAll('.', '\\.').replaceAll(/:\w+/g, '[^/]+')}$`).test(bare),
    )?.url ??
    null
  );
}

/** Every page that links lead to, a few of each route, with what it says. */
async function crawl(
  who: Person,
  each: number,
  look: (path: string, body: string) => void,
): Promise<Set<string>> {
  const { ware, bench, kilns, safety, fees } = things;
  const waiting = [
    ...[
      '/today',
      '/wall',
      '/me',
      '/studio',
      '/hooks',
      '/mail',
      '/messages',
      '/devices',
      '/people',
      '/people/invite',
    ],
    ...[
      '/ware',
      '/ware/desk',
      '/ware/new',
      '/ware/marks',
      '/ware/groups',
      '/clays',
      '/bench',
      '/kilns',
      '/recipes',
    ],
    ...[
      '/safety',
      '/fees',
      '/gear',
      '/batches',
      '/stock',
      '/materials',
      '/notices',
      '/containers',
      '/labels',
    ],
    ...[
      '/buckets/LONG',
      '/buckets/READY',
      '/history',
      '/round',
      '/buckets/LONG/edit',
      '/ware/sheets',
      '/kilns/ROUND/edit',
    ],
    ...Object.values(ware.pieces).map((piece) => `/ware/${piece}`),
    ...Object.values(bench.pieces).map((piece) => `/ware/${piece}/glazing`),
    ...Object.values(kilns.loads).map((load) => `/kilns/loads/${load}`),
    ...Object.values(safety.entries).map((entry) => `/safety/log/${entry}`),
    ...Object.values(fees.accounts).map((account) => `/fees/accounts/${account}`),
    ...['/fees/export/charges.csv', '/history.csv', '/safety/log.csv', '/ware/groups/class', '/clays/new'],
  ];
  const seen = new Map<string, number>();
  const visited = new Set<string>();
  for (let path = waiting.shift(); path !== undefined; path = waiting.shift()) {
    const route = routeOf(path, 'GET');
    if (!route || visited.has(path) || (seen.get(route) ?? 0) >= each || /^\/(assets|files|live)/.test(route))
      continue;
    visited.add(path);
    seen.set(route, (seen.get(route) ?? 0) + 1);
    const { body, statusCode } = await s.visit(who, path);
    expect(statusCode, path).toBeLessThan(500);
    look(path, body);
    for (const [, href = ''] of body.matchAll(/href="(\/[^"]*)"/g))
      waiting.push(unescaped(href).split('#')[0] ?? '');
  }
  return new Set(seen.keys());
}

it('whatever is typed into any field of any form is text: to the database, and on every page that shows it', async () => {
  const { manager, member } = s.people;
  const forms = new Map<string, Form>();
  const gather = (path: string, body: string) => {
    for (const form of formsOf(body, path)) {
      const route = routeOf(form.action, 'POST');
      if (route && !NOT_SENT.test(route) && !forms.has(route)) forms.set(route, form);
    }
  };
  const routes = await crawl(manager, 2, gather);
  await crawl(member, 1, gather);
  expect(routes.size).toBeGreaterThan(100);
  expect(forms.size).toBeGreaterThan(80);

  const taken = new Set<string>();
  let sent = 0;
  for (const { action, fields } of forms.values())
    for (const target of fields.filter(({ isText }) => isText).slice(0, 12)) {
      const typed: Record<string, string> = {};
      for (const { name, value } of fields) typed[name] ??= value;
      typed[target.name] = target.most < LONG.length ? SHORT.slice(0, target.most) : LONG;
      typed.key = `typed-form-${++sent}`;
      const answer = await s.submit(manager, action, typed);
      expect(answer.statusCode, `${action} ${target.name}`).toBeLessThan(500);
      expect(answer.body, `${action} ${target.name}`).not.toMatch(RAW);
      if (answer.statusCode === 303) taken.add(`${action} ${target.name}`);
    }
  // That it was taken, and so is shown somewhere, is what makes the next look worth something.
  expect(taken.size).toBeGreaterThan(20);

  const shown: string[] = [];
  const raw: string[] = [];
  const look = (path: string, body: string) => {
    if (RAW.test(body) && !/\.csv/.test(path)) raw.push(path);
    // The studio's and one's own name are on every page.
    const own = body.replace(/<title>[\s\S]*?<\/title>|<header[\s\S]*?<\/header>/g, '');
    if (own.includes('&lt;img src=x')) shown.push(path);
  };
  await crawl(manager, 2, look);
  await crawl(member, 1, look);
  expect(raw).toEqual([]);
  expect(shown.length).toBeGreaterThan(20);

  const called = async () =>
    (await owner<{ called: boolean }[]>`select is_called as called from canary`)[0]?.called;
  expect(await called()).toBe(false);
  await s.database.db.execute(`select nextval('canary')`);
  expect(await called(), 'the service could have counted it up').toBe(true);
}, 600_000);
