import { accessSync, constants } from 'node:fs';
import { delimiter, join } from 'node:path';
import type { FastifyInstance } from 'fastify';
import { type Browser, type BrowserContext, chromium, type Locator, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, onTestFinished, test } from 'vitest';
import type { Person } from '../helpers/studio.ts';

const NOT_FOUND = 'not run: no Chromium found';

const FLAGS = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];

/** Long enough for a busy machine, short enough that a missing word is not waited for. */
const PATIENCE = 8_000;

/** How somebody comes to a page. Every journey must work in each of these ways. */
export interface Way {
  name: string;
  width: number;
  height: number;
  scripts: boolean;
}

export const PHONE: Way = { name: 'phone', width: 390, height: 844, scripts: true };
export const TABLET: Way = { name: 'tablet', width: 820, height: 1180, scripts: true };
export const DESKTOP: Way = { name: 'desktop', width: 1280, height: 800, scripts: true };
export const WITH_SCRIPTS = [PHONE, DESKTOP];
export const WAYS = WITH_SCRIPTS.flatMap((way) => [
  way,
  { ...way, name: `${way.name} without scripts`, scripts: false },
]);

/** The program of `CHROMIUM` and no other, else what Debian and others call it. */
export function findChromium(): string | null {
  const onPath = (name: string) => (process.env.PATH ?? '').split(delimiter).map((dir) => join(dir, name));
  const places = process.env.CHROMIUM
    ? [process.env.CHROMIUM]
    : ['/usr/bin/chromium', ...['chromium', 'chromium-browser', 'google-chrome'].flatMap(onPath)];
  return places.find(isProgram) ?? null;
}

function isProgram(place: string): boolean {
  try {
    accessSync(place, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}

export const launch = (executablePath: string): Promise<Browser> =>
  chromium.launch({ executablePath, args: FLAGS });

/**
 * Tests in one Chromium, launched once for them. On a machine without one they are skipped and say so, unless
 * `REQUIRE_BROWSER=1`.
 */
export function inBrowser(name: string, suite: (door: Door) => void): void {
  const executable = findChromium();
  if (executable === null) {
    test(name, (context) => {
      if (process.env.REQUIRE_BROWSER === '1') throw new Error(NOT_FOUND);
      // A reporter says that a test was skipped, not always why.
      process.stderr.write(`${name}: ${NOT_FOUND}\n`);
      context.skip(NOT_FOUND);
    });
    return;
  }
  describe(name, () => {
    let browser: Browser;
    beforeAll(async () => {
      browser = await launch(executable);
    });
    afterAll(() => browser.close());
    suite(async (site, way, person, { stays = false, keepsPages = false } = {}) => {
      const context = await browser.newContext({
        baseURL: site,
        viewport: { width: way.width, height: way.height },
        javaScriptEnabled: way.scripts,
        locale: 'en-GB',
        timezoneId: 'Europe/London',
        // It would ask for pages of its own, and answer in place of a route that a test puts in.
        serviceWorkers: keepsPages ? 'allow' : 'block',
      });
      context.setDefaultTimeout(PATIENCE);
      if (person) {
        const [name = '', value = ''] = person.cookie.split('=');
        await context.addCookies([{ name, value, url: site }]);
      }
      const visitor = new Visitor(context, await context.newPage());
      if (keepsPages) visitor.mayLoseNetwork();
      if (stays) return visitor;
      onTestFinished(async () => {
        await context.close();
        expect(visitor.faults, 'faults that the browser saw').toEqual([]);
      });
      return visitor;
    });
  });
}

/**
 * Opens a browser window of its own at a site, signed in as somebody, paired as a tablet, or neither. It closes with
 * its test, which then sees its faults; one that stays is for tests to share, and they look at its faults themselves.
 * One that keeps pages has the service worker, and may lose the network.
 */
export type Door = (
  site: string,
  way: Way,
  person?: Pick<Person, 'cookie'>,
  more?: { stays?: boolean; keepsPages?: boolean },
) => Promise<Visitor>;

/** The app on a port of its own; its test closes it with the studio. */
export const serve = (app: FastifyInstance): Promise<string> => app.listen({ host: '127.0.0.1', port: 0 });

/** Somebody at a page. What the browser complains about meanwhile fails the test. */
export class Visitor {
  readonly context: BrowserContext;
  readonly page: Page;
  readonly faults: string[] = [];
  /** Links and buttons used so far. */
  taps = 0;
  #refusals = new Set<number>();
  /** Answers were kept back: what is told of that may come any time later. */
  #wasOffline = false;
  #mayLose = false;

  constructor(context: BrowserContext, page: Page) {
    this.context = context;
    this.page = page;
    page.on('pageerror', (error) => this.faults.push(`error: ${error.message}`));
    page.on('console', (message) => {
      // A refused request is judged by its status, below.
      const told =
        message.text().startsWith('Failed to load resource') ||
        message.text() === 'Service Worker registration blocked by Playwright' ||
        (this.#wasOffline && message.text().includes('Failed to fetch')) ||
        (this.#mayLose && /network error/i.test(message.text()));
      if (['error', 'warning'].includes(message.type()) && !told)
        this.faults.push(`console: ${message.text()}`);
    });
    page.on('requestfailed', (request) => {
      const why = request.failure()?.errorText;
      const isMeant = this.#wasOffline && (this.#mayLose || why === 'net::ERR_INTERNET_DISCONNECTED');
      // Leaving a page ends what it still asked for.
      if (why !== 'net::ERR_ABORTED' && !isMeant) this.faults.push(`failed: ${request.url()} ${why}`);
    });
    page.on('response', (response) => {
      const status = response.status();
      if (status >= 400 && !this.#refusals.has(status))
        this.faults.push(`${status}: ${response.request().method()} ${response.url()}`);
    });
  }

  /** From here on, these answers are part of the journey, and no other refusals. */
  expectRefusals(...statuses: number[]): void {
    this.#refusals = new Set(statuses);
  }

  /** From here on, what finds no network is no fault. */
  mayLoseNetwork(): void {
    this.#wasOffline = true;
    this.#mayLose = true;
  }

  /** Does `work`, which asks for something, while no answer comes back; `sent` lets the asking arrive. */
  async withoutAnswers(work: () => Promise<void>, { sent }: { sent: boolean }): Promise<void> {
    this.#wasOffline = true;
    const lost = new Promise<void>((resolve) => {
      this.page.route('**', async (route) => {
        if (sent) await route.fetch({ maxRedirects: 0 });
        await route.abort('internetdisconnected');
        resolve();
      });
    });
    await work();
    await lost;
    await this.page.unrouteAll({ behavior: 'wait' });
  }

  /** Does `work` while this browser reaches nothing, and what it had open is cut. */
  async withoutNetwork(work: () => Promise<void>): Promise<void> {
    this.#wasOffline = true;
    const session = await this.context.newCDPSession(this.page);
    const reach = (offline: boolean) =>
      session.send('Network.emulateNetworkConditions', {
        offline,
        latency: 0,
        downloadThroughput: -1,
        uploadThroughput: -1,
      });
    await session.send('Network.enable');
    await reach(true);
    await work();
    await reach(false);
  }

  async open(path: string): Promise<void> {
    await this.page.goto(path);
  }

  /** The page's own words for where we are. */
  async heading(name: string | RegExp): Promise<void> {
    await this.#present(this.page.getByRole('heading', { name }).first(), `The heading ${name}`);
  }

  /** Waits until these words can be read. */
  async sees(...words: (string | RegExp)[]): Promise<void> {
    for (const word of words)
      await this.#present(this.page.locator('main').getByText(word).first(), `${word}`);
  }

  /** What a page does say is the best hint at what went wrong. */
  async #present(wanted: Locator, what: string): Promise<void> {
    try {
      await wanted.waitFor();
    } catch {
      const said = await this.page.locator('main').ariaSnapshot();
      const faults = this.faults.splice(0).map((fault) => `${fault}\n`);
      throw new Error(`${what} is not at ${this.page.url()}:\n${faults.join('')}${said}`);
    }
  }

  async count(words: string | RegExp): Promise<number> {
    return this.page.locator('main').getByText(words).count();
  }

  /** The first link or button of this name. */
  control(name: string | RegExp, within: Page | Locator = this.page): Locator {
    const exact = typeof name === 'string' ? { name, exact: true } : { name };
    return within.getByRole('button', exact).or(within.getByRole('link', exact)).first();
  }

  async press(name: string | RegExp, within?: Locator): Promise<void> {
    this.taps++;
    await this.control(name, within).click();
  }

  field(label: string | RegExp): Locator {
    return this.page.locator('main').getByLabel(label).first();
  }

  async fill(fields: Record<string, string>): Promise<void> {
    for (const [label, value] of Object.entries(fields)) await this.field(label).fill(value);
  }

  /** One of a few that are shown as big buttons. */
  async pick(option: string): Promise<void> {
    await this.page.locator('.choice label').filter({ hasText: option }).click();
  }

  async choose(label: string, option: string): Promise<void> {
    await this.field(label).selectOption({ label: option });
  }

  async signIn(person: Pick<Person, 'email' | 'password'>): Promise<void> {
    await this.heading('Sign in');
    await this.fill({ 'E-mail address': person.email, Password: person.password });
    await this.press('Sign in');
  }
}
