import { beforeAll, beforeEach, expect, test } from 'vitest';
import { recordAct } from '../../server/buckets/service/index.ts';
import { type Instant, MINUTE } from '../../server/core/clock.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';
import { audit } from './audit.ts';
import { DESKTOP, type Door, inBrowser, PHONE, serve, type Visitor } from './browser.ts';
import { aCable, type Cable } from './cable.ts';

interface Recorded {
  number: number;
  kind: string;
  happenedAt: string;
  recordedAt: string;
}

inBrowser('poor wireless at the bench', (door) => {
  let studio: Studio;
  let site: string;
  beforeAll(async () => {
    studio = await aStudio();
    site = await serve(studio.app);
  });
  // Browsers have a clock of their own.
  beforeEach(() => studio.clock.forward(Date.now() - studio.clock.now()));

  /** What was recorded after the bucket was made ready, oldest first. */
  async function recorded(code: string): Promise<Recorded[]> {
    const { events } = (await studio.api(studio.people.technician, 'GET', `/buckets/${code}/events`)).json();
    return events.reverse().slice(3);
  }
  const kinds = async (code: string) => (await recorded(code)).map(({ kind }) => kind);

  /** Somebody with these buckets open once, so that they and their forms are kept. */
  async function atTheBench(open: Door, person: Person, codes: string[], way = PHONE) {
    const cable = await aCable(site);
    const visitor = await open(cable.site, way, person, { keepsPages: true });
    await visitor.open('/wall');
    await isLookedAfter(visitor);
    for (const code of codes) {
      await visitor.open(`/buckets/${code}`);
      await isKept(visitor, `/buckets/${code}/add`);
    }
    return { cable, visitor };
  }

  const isLookedAfter = (visitor: Visitor) =>
    expect
      .poll(() => visitor.page.evaluate(() => navigator.serviceWorker.controller !== null), { timeout: 8000 })
      .toBe(true);

  const isKept = (visitor: Visitor, path: string) =>
    expect
      .poll(() => visitor.page.evaluate((at) => caches.match(at).then((kept) => kept !== undefined), path), {
        timeout: 8000,
      })
      .toBe(true);

  async function cut(visitor: Visitor, cable: Cable) {
    cable.set('cut');
    await visitor.context.setOffline(true);
  }

  async function mend(visitor: Visitor, cable: Cable) {
    cable.set('whole');
    await visitor.context.setOffline(false);
  }

  /** A kept page loads itself anew. */
  const isFresh = (visitor: Visitor) => visitor.page.locator('main:not(.is-kept)').waitFor();

  const mark = (visitor: Visitor) => visitor.page.locator('#waiting');
  const waits = (visitor: Visitor, count: number) =>
    count === 0
      ? mark(visitor).waitFor({ state: 'hidden' })
      : mark(visitor).getByText(`${count} waiting to send`, { exact: true }).waitFor();
  const item = (visitor: Visitor, words: string | RegExp) =>
    visitor.page.locator('.waiting-list > li').filter({ hasText: words });

  const inState = (visitor: Visitor, state: 'waiting' | 'refused' | 'asked' | 'sent') =>
    visitor.page.locator(`.waiting-list [data-state=${state}]`);

  async function stir(visitor: Visitor, code: string) {
    await visitor.open(`/buckets/${code}`);
    await visitor.press('Only stirred');
  }

  async function weigh(visitor: Visitor, code: string, grams: string) {
    await visitor.open(`/buckets/${code}`);
    await visitor.press('Check SG');
    await visitor.fill({ 'Glaze weighs': grams, in: '1000' });
    await visitor.press('Record');
  }

  async function water(visitor: Visitor, code: string, litres: string) {
    await visitor.open(`/buckets/${code}`);
    await visitor.press('Add');
    await visitor.fill({ Water: litres });
    await visitor.press(/^Record what went in/);
  }

  test.for([PHONE, DESKTOP])(
    'what is done without network is sent once, in order, with its time: $name',
    async (way) => {
      const member = await studio.aPerson('member', 'Ida O’Dell, "Quill"');
      const [one, two] = [await studio.aBucket({ sg: 1.46 }), await studio.aBucket({ sg: 1.5 })];
      const { cable, visitor } = await atTheBench(door, member, [one, two], way);
      await cut(visitor, cable);

      const began: Instant = Date.now();
      await visitor.open(`/buckets/${one}`);
      await visitor.page
        .getByText(/^Seen at \d\d:\d\d, no network\. Numbers may have changed since\.$/)
        .waitFor();
      await visitor.press('Only stirred');
      await visitor.page.getByText('Kept on this device: Stirred.').waitFor();
      await waits(visitor, 1);
      await water(visitor, two, '0,5');
      await waits(visitor, 2);
      await weigh(visitor, one, '1465');
      await waits(visitor, 3);
      await weigh(visitor, two, '1485');
      await waits(visitor, 4);
      const ended: Instant = Date.now();
      await visitor.page.reload();
      await waits(visitor, 4);

      await mark(visitor).click();
      await visitor.heading('Waiting to send');
      const shown = await visitor.page.locator('.waiting-what b').allTextContents();
      expect(shown).toEqual([
        'Stirred',
        'Added 0,5 L of water',
        'SG by weight, 1465 g',
        'SG by weight, 1485 g',
      ]);
      await visitor.open('/ware');
      await visitor.heading('No network');
      await visitor.sees(/^Glaze wall$/);
      expect(await kinds(one)).toEqual([]);

      studio.clock.forward(20 * MINUTE);
      await mend(visitor, cable);
      await isFresh(visitor);
      await expect.poll(() => kinds(two)).toEqual(['addition', 'stir', 'reading']);
      expect(await kinds(one)).toEqual(['stir', 'stir', 'reading']);
      await waits(visitor, 0);
      for (const { happenedAt, recordedAt } of [...(await recorded(one)), ...(await recorded(two))]) {
        expect(Date.parse(happenedAt)).toBeGreaterThanOrEqual(began);
        expect(Date.parse(happenedAt)).toBeLessThanOrEqual(ended);
        expect(Date.parse(recordedAt)).toBe(studio.clock.now());
      }
      await visitor.open('/waiting');
      await expect.poll(() => inState(visitor, 'sent').count()).toBe(4);
      await visitor.open(`/buckets/${one}`);
      await visitor.sees(/SG 1\.465 ±/);
      expect(
        await visitor.page.locator('#seen').isVisible(),
        'a fresh page says nothing of when it was seen',
      ).toBe(false);
    },
  );

  test('a page that is open when the network goes says so, and is fresh again by itself', async () => {
    const code = await studio.aBucket({ sg: 1.46 });
    const { cable, visitor } = await atTheBench(door, await studio.aPerson(), [code]);
    await visitor.page.locator('main:not(.is-kept) .verdict').waitFor();
    await cut(visitor, cable);
    await visitor.page.locator('main.is-kept .verdict').waitFor();
    await visitor.page.getByText(/^Seen at \d\d:\d\d, no network/).waitFor();
    expect(await audit(visitor)).toEqual([]);
    await studio.as(studio.people.technician, (act) =>
      recordAct(act, code, 'problems', { problem: 'contaminated' }),
    );
    await mend(visitor, cable);
    await visitor.page.locator('main:not(.is-kept)').getByText('Do not use').first().waitFor();
  });

  test('an answer that was lost after all was recorded counts once', async () => {
    const code = await studio.aBucket({ sg: 1.46 });
    const { cable, visitor } = await atTheBench(door, await studio.aPerson(), [code]);
    await visitor.open(`/buckets/${code}/add`);
    await visitor.fill({ Water: '0.25' });
    cable.set('deaf');
    await visitor.press(/^Record what went in/);
    await waits(visitor, 1);
    await expect.poll(() => kinds(code)).toEqual(['addition']);
    await visitor.page.getByText('Kept on this device: Added 0.25 L of water.').waitFor();
    cable.set('whole');
    await isFresh(visitor);
    await visitor.open('/waiting');
    await inState(visitor, 'sent').waitFor();
    expect(await kinds(code)).toEqual(['addition']);
  });

  test('what cannot be recorded as it stands is shown, asked about and never dropped', async () => {
    const [held, odd] = [await studio.aBucket({ sg: 1.46 }), await studio.aBucket({ sg: 1.46 })];
    const { cable, visitor } = await atTheBench(door, await studio.aPerson(), [held, odd]);
    await cut(visitor, cable);
    await studio.as(studio.people.technician, (act) =>
      recordAct(act, held, 'problems', { problem: 'contaminated' }),
    );
    await visitor.open(`/buckets/${held}`);
    await visitor.press(/^Stirred, dipping/);
    await waits(visitor, 1);
    await stir(visitor, held);
    await waits(visitor, 2);
    await water(visitor, odd, '100');
    await waits(visitor, 3);
    await weigh(visitor, odd, '1300');
    await waits(visitor, 4);
    await stir(visitor, odd);
    await waits(visitor, 5);
    studio.clock.forward(20 * MINUTE);
    const reconnected = studio.clock.now();
    await mend(visitor, cable);
    await waits(visitor, 4);
    expect(await kinds(odd), 'a refused one holds up nothing').toEqual(['stir']);
    expect(await kinds(held)).toEqual(['service']);

    await visitor.open('/waiting');
    const dipped = item(visitor, 'Stirred, dipped');
    await dipped.getByText('Not recorded').waitFor();
    await dipped.getByText('marked "Do not use": a dipping cannot be recorded on it').waitFor();
    visitor.page.once('dialog', (dialog) => dialog.dismiss());
    await visitor.press('Throw away', dipped);
    visitor.page.once('dialog', (dialog) => dialog.accept());
    await visitor.press('Throw away', dipped);
    await dipped.waitFor({ state: 'detached' });

    const stirred = item(visitor, 'marked "Do not use" by then');
    await stirred.getByText('Asked back').waitFor();
    await visitor.press('Yes, record it', stirred);
    await expect.poll(() => kinds(held)).toEqual(['service', 'stir']);
    const reading = item(visitor, 'Is this right? It makes 1.30');
    await visitor.press('Yes, record it', reading);
    await waits(visitor, 1);
    expect(await kinds(odd)).toContain('reading');

    const poured = item(visitor, 'Added 100 L of water');
    await poured.getByText(/holds 25 L/).waitFor();
    await visitor.press('Open the form with what was typed', poured);
    await expect.poll(() => visitor.field('Water').inputValue()).toBe('100');
    await visitor.fill({ Water: '40' });
    visitor.expectRefusals(422);
    await visitor.press(/^Record what went in/);
    await visitor.sees('One thing needs another look');
    await visitor.fill({ Water: '1' });
    await visitor.press(/^Record what went in/);
    await visitor.sees('Recorded: added 1 L of water.');
    await waits(visitor, 0);
    const all = await recorded(odd);
    expect(all.map(({ kind }) => kind).sort()).toEqual(['addition', 'reading', 'stir', 'stir']);
    for (const { happenedAt } of all) expect(Date.parse(happenedAt)).toBeLessThan(reconnected - 10 * MINUTE);
  });

  test('nothing is sent under the name of somebody else', async () => {
    const [ida, wren] = [await studio.aPerson('member', 'Ida'), await studio.aPerson('member', 'Wren')];
    const code = await studio.aBucket({ sg: 1.46 });
    const { cable, visitor } = await atTheBench(door, ida, [code]);
    await cut(visitor, cable);
    await stir(visitor, code);
    await waits(visitor, 1);
    const signedIn = async (person: Person) => {
      const [name = '', value = ''] = person.cookie.split('=');
      await visitor.context.addCookies([{ name, value, url: cable.site }]);
    };
    await signedIn(wren);
    visitor.expectRefusals(412);
    await mend(visitor, cable);
    await isFresh(visitor);
    await visitor.open('/waiting');
    await item(visitor, 'Made by Ida. It is sent once Ida is signed in here.').waitFor();
    expect(await mark(visitor).isVisible(), 'nothing of hers waits').toBe(false);
    expect(await item(visitor, code).getByRole('button').filter({ visible: true }).count()).toBe(0);
    expect(await kinds(code)).toEqual([]);
    await signedIn(ida);
    await visitor.open('/waiting');
    await inState(visitor, 'sent').waitFor();
    expect(await kinds(code)).toEqual(['stir']);
    await visitor.open(`/buckets/${code}/ledger`);
    await visitor.sees('Ida');
  });

  test('what was made before a session ended waits for its maker', async () => {
    const member = await studio.aPerson();
    const code = await studio.aBucket({ sg: 1.46 });
    const { cable, visitor } = await atTheBench(door, member, [code]);
    await cut(visitor, cable);
    await stir(visitor, code);
    await waits(visitor, 1);
    await studio.services.sessions.end(member.cookie.split('=')[1] as string);
    visitor.expectRefusals(401);
    await mend(visitor, cable);
    await visitor.heading('Sign in');
    await visitor.page
      .getByText('One thing on this device will be sent once whoever made it is signed in.')
      .waitFor();
    expect(await kinds(code)).toEqual([]);
    await visitor.signIn(member);
    await visitor.heading(new RegExp(code));
    await waits(visitor, 0);
    await expect.poll(() => kinds(code)).toEqual(['stir']);
  });

  test('signing out with things waiting warns, and leaves no page behind', async () => {
    const code = await studio.aBucket({ sg: 1.46 });
    const { cable, visitor } = await atTheBench(door, await studio.aPerson(), [code]);
    await cut(visitor, cable);
    await studio.as(studio.people.technician, (act) =>
      recordAct(act, code, 'problems', { problem: 'contaminated' }),
    );
    await visitor.open(`/buckets/${code}`);
    await visitor.press(/^Stirred, dipping/);
    await waits(visitor, 1);
    studio.clock.forward(MINUTE);
    await mend(visitor, cable);
    await visitor.page.getByText('One thing could not be recorded.').waitFor();

    await visitor.open('/waiting');
    await inState(visitor, 'refused').waitFor();
    expect(await audit(visitor)).toEqual([]);
    await visitor.open('/me');
    await waits(visitor, 1);
    const asked: string[] = [];
    visitor.page.once('dialog', (dialog) => {
      asked.push(dialog.message());
      return dialog.dismiss();
    });
    await visitor.press('Sign out');
    await expect.poll(() => asked.join()).toMatch(/^One thing on this device is still to be sent/);
    await visitor.heading(/^Person/);
    visitor.page.once('dialog', (dialog) => dialog.accept());
    await visitor.press('Sign out');
    await visitor.heading('Sign in');
    await visitor.page.getByText('One thing on this device will be sent once').waitFor();
    await expect
      .poll(() => visitor.page.evaluate(() => caches.match('/wall').then((kept) => kept !== undefined)))
      .toBe(false);
  });
});
