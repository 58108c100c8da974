import { beforeAll, expect, test } from 'vitest';
import { recordAct } from '../../server/buckets/service/index.ts';
import { appOn, aStudio, type Studio } from '../helpers/studio.ts';
import { DESKTOP, inBrowser, PHONE, serve, type Visitor } from './browser.ts';

inBrowser('open screens', (door) => {
  let studio: Studio;
  let site: string;
  /** Another process on the same database. */
  let otherSite: string;
  beforeAll(async () => {
    studio = await aStudio();
    site = await serve(studio.app);
    otherSite = await serve((await appOn(studio.services.config.databaseUrl as string)).app);
  });

  const record = (code: string, path: 'service' | 'stirs', body: object) =>
    studio.as(studio.people.technician, (act) => recordAct(act, code, path, body as never));
  const stop = (code: string) => record(code, 'service', { state: 'do-not-use', reason: 'A cup fell in' });

  /** Waits until its stream is open: what changes before is told as well, but by the page's own mark. */
  async function opens(visitor: Visitor, path: string): Promise<void> {
    const streaming = visitor.page.waitForResponse(
      (answer) => new URL(answer.url()).pathname.endsWith('/live'),
      { timeout: 25_000 },
    );
    await visitor.open(path);
    expect((await streaming).status()).toBe(200);
  }

  test('one acts, the other sees it, at another process, and hears its state', async () => {
    const code = await studio.aBucket({ name: 'Tide Blue', sg: 1.46, stirredMinutesAgo: 1 });
    const [wren, ida, wall] = [
      await door(site, PHONE, studio.people.technician),
      await door(otherSite, DESKTOP, studio.people.member),
      await door(otherSite, PHONE, studio.people.manager),
    ];
    await opens(ida, `/buckets/${code}`);
    await opens(wall, '/wall');
    await ida.sees('Ready to dip');
    await wren.open(`/buckets/${code}`);
    await wren.press('Only stirred');
    await wren.sees(/^Recorded: stirred/);
    await ida.sees(/Wren/);
    await stop(code);
    await ida.sees('Do not use');
    await wall.sees('Do not use');
    await ida.page.locator('#announcer').filter({ hasText: 'Do not use' }).waitFor({ state: 'attached' });
    expect(await ida.page.evaluate(() => document.activeElement === document.body)).toBe(true);
  });

  test('what changed while the network was gone is seen when it is back', async () => {
    const code = await studio.aBucket({ name: 'Hare Brown', sg: 1.46, stirredMinutesAgo: 1 });
    const ida = await door(site, DESKTOP, studio.people.member);
    await opens(ida, `/buckets/${code}`);
    await ida.sees('Ready to dip');
    await ida.withoutNetwork(async () => {
      await stop(code);
      expect(await ida.count('Do not use')).toBe(0);
    });
    await ida.sees('Do not use');
    expect(await ida.page.locator('#trouble').isVisible()).toBe(false);
  });

  test('a half-typed form is left alone and says that the page is behind', async () => {
    const code = await studio.aBucket({ name: 'Slate', sg: 1.55, stirredMinutesAgo: 1, litres: 18 });
    const ida = await door(site, PHONE, studio.people.member);
    await opens(ida, `/buckets/${code}`);
    // A form as a region may hold one.
    await ida.page.evaluate(() => {
      const form = document.createElement('form');
      form.innerHTML = '<label>A word <input name="word"></label>';
      document.querySelector('#bucket')?.prepend(form);
      form.querySelector('input')?.focus();
    });
    await ida.page.keyboard.type('half a');
    await stop(code);
    await ida.page.locator('#behind').waitFor();
    expect(await ida.field('A word').inputValue()).toBe('half a');
    expect(await ida.page.evaluate(() => document.activeElement?.getAttribute('name'))).toBe('word');
    expect(await ida.count('Do not use')).toBe(0);
    await ida.press('Show it as it is now');
    await ida.sees('Do not use');
    await ida.page.locator('#behind').waitFor({ state: 'hidden' });
  });

  test('what was unfolded, focused and scrolled to stays', async () => {
    const code = await studio.aBucket({ name: 'Sorrel', sg: 1.46, stirredMinutesAgo: 1 });
    const wren = await door(site, PHONE, studio.people.technician);
    await opens(wren, `/buckets/${code}`);
    const link = wren.page.getByRole('link', { name: 'The whole ledger' });
    await link.scrollIntoViewIfNeeded();
    await link.focus();
    const before = await wren.page.evaluate(() => window.scrollY);
    expect(before).toBeGreaterThan(0);
    await record(code, 'stirs', {});
    await wren.page.waitForResponse((answer) => answer.url().endsWith(`/buckets/${code}`), {
      timeout: 25_000,
    });
    await wren.sees(/Wren/);
    expect(await link.evaluate((element) => element === document.activeElement)).toBe(true);
    expect(Math.abs((await wren.page.evaluate(() => window.scrollY)) - before)).toBeLessThan(400);
  });

  test('the number of messages in the bar grows by itself', async () => {
    const ida = await door(site, PHONE, studio.people.member);
    await opens(ida, '/kilns');
    await studio.database.db.execute(
      `insert into messages (person_id, at, kind, words, href)
       values (${studio.people.member.id}, now(), 'note', 'A word to you.', '/ware')`,
    );
    await ida.page.getByText(', 1 unread message').waitFor({ state: 'attached' });
    expect(await ida.page.title()).toContain('Kilns');
  });

  test('who signs out elsewhere in the same browser is led to the sign-in', async () => {
    const person = await studio.aPerson();
    const ida = await door(site, PHONE, person);
    ida.expectRefusals(401);
    await opens(ida, '/wall');
    await studio.submit(person, '/sign-out', {});
    await ida.heading('Sign in');
  });
});
