import { beforeAll, expect, test } from 'vitest';
import { aStudio, type Studio } from '../helpers/studio.ts';
import { audit } from './audit.ts';
import { DESKTOP, inBrowser, PHONE, serve } from './browser.ts';

inBrowser('what the other browser tests stand on', (door) => {
  let studio: Studio;
  let site: string;
  beforeAll(async () => {
    studio = await aStudio();
    site = await serve(studio.app);
  });

  test('the browser tells of every fault', async () => {
    const visitor = await door(site, DESKTOP, studio.people.member);
    await visitor.open('/wall');
    await visitor.page.evaluate(() => {
      const show = (src: string) =>
        document.body.append(Object.assign(document.createElement('img'), { src }));
      show('https://elsewhere.example/chip.png');
      show('/assets/nothing.svg');
      setTimeout(() => {
        throw new Error('nobody caught it');
      });
    });
    for (const fault of ['Content Security Policy', 'nobody caught it', '404: GET'])
      await expect.poll(() => visitor.faults.join('\n')).toContain(fault);
    visitor.faults.length = 0;
  });

  test('the audit finds what few can read, hit or keep in sight', async () => {
    const visitor = await door(site, PHONE, studio.people.member);
    await visitor.open('/wall');
    await visitor.page.evaluate(() => {
      const main = document.querySelector('main');
      main?.insertAdjacentHTML('beforeend', '<p class="ghost">faint</p><img><button>x</button>');
      const style = new CSSStyleSheet();
      style.replaceSync('.ghost { color: #999; background: #aaa; width: 400px } button { width: 20px }');
      document.adoptedStyleSheets.push(style);
    });
    const complaints = (await audit(visitor)).join('\n');
    expect(complaints).toContain('light image-alt');
    for (const theme of ['light', 'dark']) expect(complaints).toContain(`${theme} color-contrast`);
    expect(complaints).toContain('target BUTTON x: 20');
    expect(complaints).toContain('scrolls sideways at 320 px');
  });
});
