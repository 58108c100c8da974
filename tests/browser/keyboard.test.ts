import type { Page } from 'playwright-core';
import { beforeAll, describe, expect, test } from 'vitest';
import { addCup, recordAct } from '../../server/buckets/service/index.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';
import { DESKTOP, inBrowser, serve, type Visitor } from './browser.ts';

// A cup of 200.36 mL: 100 g empty, 300 g brim-full of water at 20 °C (0.99821 g/mL).
const CUP = { code: 'C1', name: 'Enamel cup', tareG: 100, waterG: 300, waterC: 20, resolutionG: 1 };
/** Cup and glaze together, at SG 1.52 and 1.46: 100 g + SG × 200.36 g. */
const GRAMS_TOO_THICK = 404.5;
const GRAMS_AT_AIM = 392.5;
/** More stops than any page here has. */
const MOST_STOPS = 250;
/** CSS px: thinner is easily overlooked. */
const LEAST_OUTLINE = 2;
/** Milliseconds; what ends sooner is not seen to move. */
const LONGEST_MOTION = 10;

/** Where the keyboard is. */
interface Stop {
  /** A number of its own for every element that was ever reached on this page; 0 is the page itself. */
  id: number;
  name: string;
  /** What is wrong with how it is shown. */
  faults: string[];
}

/** Runs in the page. */
function whereFocusIs(leastOutline: number): Stop {
  const element = document.activeElement;
  if (!(element instanceof Element) || element === document.body || element === document.documentElement)
    return { id: 0, name: 'the page', faults: [] };
  const known = window as unknown as { reached?: Element[] };
  known.reached ??= [];
  if (!known.reached.includes(element)) known.reached.push(element);
  const words = element.textContent?.trim().replace(/\s+/g, ' ').slice(0, 60);
  const name = `${element.tagName.toLowerCase()} ${words || element.getAttribute('name') || element.id}`;
  const isDrawn = (style: CSSStyleDeclaration) =>
    style.outlineStyle !== 'none' &&
    Number.parseFloat(style.outlineWidth) >= leastOutline &&
    !/^(transparent|rgba\(.*, 0\))$/.test(style.outlineColor);
  // A card's one link is outlined as the whole card, a big choice as its label.
  const outlined = [
    getComputedStyle(element),
    getComputedStyle(element, '::after'),
    ...[element.closest('label')].flatMap((label) => (label ? [getComputedStyle(label)] : [])),
  ];
  const faults: string[] = [];
  if (!outlined.some(isDrawn)) faults.push(`${name}: no outline`);
  const shown = element.closest('.choice label, .check label') ?? element;
  const box = shown.getBoundingClientRect();
  const isThere = box.width > 1 && box.height > 1;
  const isOutside = box.bottom <= 0 || box.top >= innerHeight || box.right <= 0 || box.left >= innerWidth;
  if (!isThere || isOutside) faults.push(`${name}: out of sight`);
  return { id: known.reached.indexOf(element) + 1, name, faults };
}

const stopOf = (page: Page): Promise<Stop> => page.evaluate(whereFocusIs, LEAST_OUTLINE);

async function step(page: Page, key: 'Tab' | 'Shift+Tab'): Promise<Stop> {
  await page.keyboard.press(key);
  const stop = await stopOf(page);
  expect(stop.faults, `at ${page.url()}`).toEqual([]);
  return stop;
}

/** Tabs on to the first control of this name, or field of this label; every stop on the way must be seen. */
async function reach(page: Page, name: string | RegExp): Promise<void> {
  const exact = typeof name === 'string' ? { name, exact: true } : { name };
  const wanted = page
    .getByRole('link', exact)
    .or(page.getByRole('button', exact))
    .or(page.getByLabel(name, { exact: typeof name === 'string' }))
    .first();
  await wanted.waitFor();
  const isThere = () => wanted.evaluate((element) => element === document.activeElement);
  // A page may have put the keyboard there by itself.
  if (await isThere()) return;
  const passed: string[] = [];
  for (let stops = 0; stops < MOST_STOPS; stops++) {
    const stop = await step(page, 'Tab');
    if (await isThere()) return;
    passed.push(stop.name);
  }
  throw new Error(`${name} is not reached at ${page.url()}: ${passed.slice(0, 60).join(', ')}`);
}

async function type(page: Page, label: string, words: string): Promise<void> {
  await reach(page, label);
  await page.keyboard.press('ControlOrMeta+A');
  await page.keyboard.type(words);
}

/**
 * Presses Enter on what is reached, until `arrived`. Where the page was swapped in place, the focus must be somewhere in
 * it; where the browser loaded another, it begins at the top, as everywhere.
 */
async function enter(visitor: Visitor, name: string | RegExp, arrived: () => Promise<void>): Promise<void> {
  const { page } = visitor;
  await reach(page, name);
  await page.evaluate(() => Object.assign(window, { isSame: true }));
  await page.keyboard.press('Enter');
  await arrived();
  if (!(await page.evaluate(() => 'isSame' in window))) return;
  await expect
    .poll(async () => (await stopOf(page)).id, { message: `focus is lost at ${page.url()}`, timeout: 5_000 })
    .toBeGreaterThan(0);
}

/** Every stop of the page, once around, forwards; fails where a stop comes back before the round is over. */
async function around(page: Page, key: 'Tab' | 'Shift+Tab'): Promise<number[]> {
  const ids: number[] = [];
  for (let stops = 0; stops < MOST_STOPS; stops++) {
    const { id, name } = await step(page, key);
    if (id === ids[0]) return ids;
    // Past its end, and on to its beginning: it may have begun in the middle, at a field.
    if (id === 0) continue;
    expect(ids.includes(id), `the keyboard goes in circles at ${name}, ${page.url()}`).toBe(false);
    ids.push(id);
  }
  throw new Error(`${page.url()} does not end`);
}

/** What still moves for somebody who asked that nothing does; runs in the page. */
function moves(longest: number): string[] {
  const milliseconds = (times: string) =>
    Math.max(
      0,
      ...times.split(',').map((one) => Number.parseFloat(one) * (one.trim().endsWith('ms') ? 1 : 1000)),
    );
  const declared = [...document.querySelectorAll('*')].flatMap((element) =>
    [null, '::before', '::after'].flatMap((part) => {
      const style = getComputedStyle(element, part);
      const moving = [
        style.animationName === 'none' ? 0 : milliseconds(style.animationDuration),
        style.transitionProperty === 'none' ? 0 : milliseconds(style.transitionDuration),
      ];
      const name = `${element.tagName}.${element.getAttribute('class')}${part ?? ''}`;
      return Math.max(...moving) > longest ? [`${name}: ${Math.max(...moving)} ms`] : [];
    }),
  );
  const running = document
    .getAnimations()
    .filter(({ effect }) => Number(effect?.getComputedTiming().duration ?? 0) > longest);
  return [...declared, ...running.map(() => 'an animation runs')];
}

/** The spacing of WCAG 2.2, 1.4.12, which everybody may set; runs in the page, whose policy takes no style element. */
function spaceOut(): string {
  const sheet = new CSSStyleSheet();
  sheet.replaceSync(`
    * { line-height: 1.5 !important; letter-spacing: 0.12em !important; word-spacing: 0.16em !important; }
    p { margin-block-end: 2em !important; }
  `);
  document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet];
  for (const details of document.querySelectorAll('details')) details.open = true;
  return getComputedStyle(document.querySelector('main') as Element).letterSpacing;
}

/** What sticks out sideways, and words that are cut off; runs in the page. */
function lost(): string[] {
  const { scrollWidth, clientWidth } = document.documentElement;
  const name = (e: Element) =>
    `${e.tagName}.${e.getAttribute('class')} ${e.textContent?.trim().slice(0, 40)}`;
  const all = [...document.querySelectorAll<HTMLElement>('body :not(svg *)')];
  const out = all.filter((element) => element.getBoundingClientRect().right > clientWidth + 1).slice(0, 3);
  const cut = all.filter((element) => {
    const { overflowX, overflowY, position, clipPath } = getComputedStyle(element);
    // Words for the ear only are a pixel wide on purpose.
    if (element.clientWidth <= 1 || (position === 'absolute' && clipPath !== 'none')) return false;
    const isCut = (how: string) => how === 'hidden' || how === 'clip';
    return (
      (isCut(overflowX) && element.scrollWidth > element.clientWidth + 1) ||
      (isCut(overflowY) && element.scrollHeight > element.clientHeight + 1)
    );
  });
  return [
    ...(scrollWidth > clientWidth
      ? [`scrolls sideways, ${scrollWidth} px: ${out.map(name).join('; ')}`]
      : []),
    ...cut.map((element) => `cut off: ${name(element)}`),
  ];
}

inBrowser('somebody who uses no mouse, or reads in a way of their own', (door) => {
  let studio: Studio;
  let site: string;
  beforeAll(async () => {
    studio = await aStudio();
    site = await serve(studio.app);
    await studio.as(studio.people.technician, (act) => addCup(act, CUP));
    await studio.aBucket({ code: 'HG', name: 'Harbour Grey' });
    await studio.aBucket({ code: 'CF', name: 'Copper Fern' });
    const tooThick = { method: 'weighed', vessel: CUP.code, grams: GRAMS_TOO_THICK } as const;
    await studio.as(studio.people.technician, (act) =>
      recordAct(act, 'HG', 'readings', { ...tooThick, stirred: true, confirm: true }),
    );
  });

  test('signs in, finds a bucket, checks it and reads it in the ledger', async () => {
    const visitor = await door(site, DESKTOP);
    const { page } = visitor;
    const { email, password } = await studio.aPerson('member');
    await visitor.open('/');
    await visitor.heading('Sign in');
    await type(page, 'E-mail address', email);
    await type(page, 'Password', password);
    await enter(visitor, 'Sign in', () => visitor.heading('Glaze wall'));

    await enter(visitor, 'Harbour Grey', () => visitor.heading('Harbour Grey HG'));
    await enter(visitor, 'Check SG', () => visitor.field('Cup and glaze together').waitFor());
    await type(page, 'Cup and glaze together', String(GRAMS_AT_AIM));
    // It is asked about, since nobody recorded water; the answer takes the keyboard to the question.
    visitor.expectRefusals(409);
    await enter(visitor, 'Record', () => visitor.sees(/^Is this right\? It makes 1\.46/));
    const isAtQuestion = () => document.activeElement?.matches('.errors');
    await expect.poll(() => page.evaluate(isAtQuestion), { timeout: 5_000 }).toBe(true);
    visitor.expectRefusals();
    await enter(visitor, 'Yes, it is right: record it', () =>
      visitor.sees(/^SG 1\.460 ± 0\.00\d recorded\.$/),
    );
    await enter(visitor, /^Stirred, dipping/, () => visitor.sees('Recorded: stirred, dipped 1 piece'));
    await enter(visitor, 'The whole ledger', () => visitor.sees('Nothing is ever erased'));
    await page
      .getByRole('row')
      .filter({ hasText: /1\.460/ })
      .first()
      .waitFor();
  });

  test('comes from Today to the bucket that needs somebody', async () => {
    const visitor = await door(site, DESKTOP, studio.people.technician);
    await visitor.open('/today');
    await visitor.heading('Today');
    const due = visitor.page.getByRole('article').filter({ hasText: 'Copper Fern' });
    const link = await due.getByRole('link').first().textContent();
    await enter(visitor, link?.trim() ?? '', () => visitor.page.waitForURL(/\/buckets\/CF/));
  });

  test('skips to the content at the first stop', async () => {
    const visitor = await door(site, DESKTOP, studio.people.member);
    const { page } = visitor;
    await visitor.open('/wall');
    expect(await step(page, 'Tab')).toMatchObject({ name: 'a Skip to the content' });
    await page.keyboard.press('Enter');
    await expect.poll(() => page.evaluate(() => document.activeElement?.id)).toBe('main');
    await step(page, 'Tab');
    const isInside = () => document.getElementById('main')?.contains(document.activeElement);
    expect(await page.evaluate(isInside), 'the next stop is in the content').toBe(true);
  });

  test.for(['/wall', '/buckets/HG', '/buckets/HG/check', '/today'])(
    'gets all around %s and back, and sees where they are',
    async (path) => {
      const visitor = await door(site, DESKTOP, studio.people.technician);
      await visitor.open(path);
      const forth = await around(visitor.page, 'Tab');
      expect(forth.length).toBeGreaterThan(8);
      const back = await around(visitor.page, 'Shift+Tab');
      expect([...back].reverse()).toEqual(forth);
    },
  );

  describe('without motion', () => {
    test.for(['/wall', '/buckets/HG', '/today'])('%s stands still', async (path) => {
      const visitor = await door(site, DESKTOP, studio.people.technician);
      const { page } = visitor;
      await page.emulateMedia({ reducedMotion: 'no-preference' });
      await visitor.open(path);
      expect(await page.evaluate(moves, LONGEST_MOTION), 'what moves otherwise').not.toEqual([]);
      await page.emulateMedia({ reducedMotion: 'reduce' });
      expect(await page.evaluate(moves, LONGEST_MOTION)).toEqual([]);
    });
  });

  describe('with more space between letters, words and lines', () => {
    const NARROW = { ...DESKTOP, name: 'narrow', width: 320 };
    test.for(['/wall', '/buckets/HG', '/buckets/HG/check', '/buckets/HG/ledger', '/today'])(
      '%s keeps all its words in 320 px',
      async (path) => {
        const visitor = await door(site, NARROW, studio.people.technician);
        await visitor.open(path);
        expect(await visitor.page.evaluate(spaceOut), 'the spacing is set').not.toBe('normal');
        expect(await visitor.page.evaluate(lost)).toEqual([]);
      },
    );
  });
});
