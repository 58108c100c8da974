import { beforeAll, expect, test } from 'vitest';
import { aStudio, type Studio } from '../helpers/studio.ts';
import { inBrowser, serve, WAYS, WITH_SCRIPTS } from './browser.ts';

inBrowser('forms in wet hands', (door) => {
  let studio: Studio;
  let site: string;
  beforeAll(async () => {
    studio = await aStudio();
    site = await serve(studio.app);
  });

  /** Kinds of what was recorded after the bucket was made ready, oldest first. */
  async function recorded(code: string): Promise<string[]> {
    const { events } = (await studio.api(studio.people.member, 'GET', `/buckets/${code}/events`)).json();
    const kinds = events.map(({ kind }: { kind: string }) => kind).reverse();
    expect(kinds.slice(0, 3)).toEqual(['setup', 'stir', 'reading']);
    return kinds.slice(3);
  }

  test.for(WAYS)('two quick taps record one act: $name', async (way) => {
    const code = await studio.aBucket({ sg: 1.46 });
    const visitor = await door(site, way, studio.people.member);
    await visitor.open(`/buckets/${code}`);
    await visitor.control('Only stirred').dblclick();
    await visitor.sees('Recorded: stirred to the bottom.');
    await visitor.control(/^Stirred, dipping/).dblclick();
    await visitor.sees('Recorded: stirred, dipped 1 piece');
    expect(await recorded(code)).toEqual(['stir', 'dipping']);
  });

  test.for(WITH_SCRIPTS)('a lost connection keeps what was typed and records it once: $name', async (way) => {
    const code = await studio.aBucket({ sg: 1.46 });
    const visitor = await door(site, way, studio.people.member);
    await visitor.open(`/buckets/${code}/check`);
    const grams = visitor.field('Glaze weighs');
    await grams.fill('1470');
    for (const sent of [false, true]) {
      await visitor.withoutAnswers(() => visitor.press('Record'), { sent });
      await visitor.page.getByText("No answer from the studio's server").waitFor();
      expect(await grams.inputValue()).toBe('1470');
    }
    expect(await recorded(code)).toEqual(['stir', 'reading']);
    await visitor.press('Record');
    await visitor.sees(/^SG 1\.47\d? ± 0\.0\d+ recorded\.$/);
    expect(await recorded(code)).toEqual(['stir', 'reading']);
  });

  test.for(WAYS)('tapped again before a slow answer, a form records once: $name', async (way) => {
    const code = await studio.aBucket({ sg: 1.46 });
    const visitor = await door(site, way, studio.people.member);
    await visitor.open(`/buckets/${code}/add`);
    let sent = 0;
    const answers: (() => Promise<void>)[] = [];
    await visitor.page.route(`**/buckets/${code}/add`, async (route) => {
      sent++;
      const response = await route.fetch({ maxRedirects: 0 });
      answers.push(() => route.fulfill({ response }));
    });
    await visitor.fill({ Water: '0.05' });
    const button = visitor.control(/^Record what went in/);
    await button.scrollIntoViewIfNeeded();
    const box = await button.boundingBox();
    const tap = () => visitor.page.mouse.click((box?.x ?? 0) + 20, (box?.y ?? 0) + 20);
    await tap();
    await expect.poll(() => answers.length).toBe(1);
    await tap();
    // Scripts hold the second back; without them it is sent, and the key tells that it was recorded already.
    if (way.scripts) expect(await visitor.field('Water').inputValue()).toBe('0.05');
    else await expect.poll(() => answers.length).toBe(2);
    await answers.at(-1)?.();
    await visitor.sees(/^Recorded: added 0.05 L of water/);
    expect(sent).toBe(way.scripts ? 1 : 2);
    expect(await recorded(code)).toEqual(['addition']);
  });

  test.for(WAYS)('an odd value is asked about once, an impossible one refused: $name', async (way) => {
    const code = await studio.aBucket({ sg: 1.46 });
    const visitor = await door(site, way, studio.people.member);
    visitor.expectRefusals(409, 422);
    await visitor.open(`/buckets/${code}/check?how=hydrometer`);

    await visitor.fill({ 'It reads': '0.9' });
    await visitor.press('Record');
    await visitor.sees('One thing needs another look');
    expect(await visitor.page.locator('.errors:focus').count(), 'what is wrong has the focus').toBe(1);
    const value = visitor.field('It reads');
    expect(await value.getAttribute('aria-invalid')).toBe('true');
    const told = visitor.page.locator(`#${await value.getAttribute('id')}-error`);
    expect(await told.textContent()).toContain('lighter than water');
    await visitor.page.locator('.errors a').click();
    expect(await value.evaluate((field) => field === document.activeElement)).toBe(true);

    await visitor.fill({ 'It reads': '1,55' });
    await visitor.page.getByText('Stirred to the bottom just now').click();
    await visitor.page.getByText('More readings').click();
    await visitor.fill({ Note: 'after the weekend' });
    await visitor.press('Record');
    await visitor.sees('Is this right? It makes 1.55, where 1.46 was expected.');
    expect(await recorded(code)).toEqual([]);
    expect(await value.inputValue()).toBe('1,55');
    expect(await visitor.field('Note').inputValue()).toBe('after the weekend');
    expect(await visitor.field('Stirred to the bottom just now').isChecked()).toBe(false);

    await visitor.press('Yes, it is right: record it');
    await visitor.sees(/^SG 1\.55 ± 0\.0\d+ recorded\.$/);
    expect(await recorded(code)).toEqual(['reading']);
  });

  test.for(WAYS)('the back button shows the bucket as it is now: $name', async (way) => {
    const code = await studio.aBucket({ sg: 1.52 });
    const visitor = await door(site, way, studio.people.member);
    await visitor.open(`/buckets/${code}`);
    await visitor.press(/^Add 1\.75 L of water/);
    await visitor.sees('Needs a reading');
    await visitor.page.goBack();
    await visitor.sees('Needs a reading');
    expect(await visitor.count('Too thick'), 'what was so before').toBe(0);

    await visitor.press(/^Stir to the bottom, then check SG/);
    await visitor.fill({ 'Glaze weighs': '1460', in: '1000' });
    await visitor.press('Record');
    await visitor.sees('Ready to dip');
    await visitor.page.goBack();
    await visitor.heading('Check SG');
    expect(await visitor.field('Glaze weighs').inputValue()).toBe('');
    await visitor.fill({ 'Glaze weighs': '1450', in: '1000' });
    await visitor.press('Record');
    await visitor.sees(/^SG 1\.450 ± 0\.00\d recorded\.$/);
    expect(await recorded(code)).toEqual(['addition', 'stir', 'reading', 'stir', 'reading']);
  });

  test.for(WAYS)('a keyboard is enough: $name', async (way) => {
    const code = await studio.aBucket({ sg: 1.46 });
    const visitor = await door(site, way, studio.people.member);
    const { keyboard } = visitor.page;
    const focused = visitor.page.locator(':focus');
    await visitor.open(`/buckets/${code}`);

    await keyboard.press('Tab');
    expect(await focused.textContent()).toContain('Skip to the content');
    const box = await focused.boundingBox();
    expect(box?.y, 'the skip link shows itself').toBeGreaterThanOrEqual(0);
    await keyboard.press('Enter');
    await keyboard.press('Tab');
    expect(await focused.textContent(), 'first in the content').toContain('Stirred, dipping');
    await keyboard.press('Enter');
    await visitor.sees('Recorded: stirred, dipped 1 piece');

    const seen: (string | null)[] = [];
    await visitor.open(`/buckets/${code}`);
    do {
      await keyboard.press('Tab');
      seen.push((await focused.count()) === 0 ? null : await focused.textContent());
    } while (seen.at(-1) !== null && seen.length < 60);
    const acts = ['Skip to the content', 'Check SG', 'Add', 'Problem', 'The whole ledger'];
    expect(seen.filter((name) => acts.includes(name?.trim() ?? ''))).toEqual(acts);
    expect(await recorded(code)).toEqual(['dipping']);
  });
});
