import { beforeAll, expect, test } from 'vitest';
import { aStudio, type Studio } from '../helpers/studio.ts';
import { DESKTOP, inBrowser, serve } from './browser.ts';

const MM = 72 / 25.4;

inBrowser('labels on paper', (door) => {
  let studio: Studio;
  let site: string;
  beforeAll(async () => {
    studio = await aStudio();
    site = await serve(studio.app);
    for (let n = 1; n <= 9; n++)
      await studio.aBucket({ code: `L${n}`, name: `Glaze ${'long name '.repeat(n % 4)}` });
  });

  test.for([
    ['sheet', 2, [210, 297]],
    ['lid-sheet', 1, [210, 297]],
    ['roll', 9, [100, 62]],
    ['lid-roll', 9, [62, 29]],
  ] as const)('%s: nine labels on %i pages and no blank one', async ([size, pages, [width, height]]) => {
    const visitor = await door(site, DESKTOP, studio.people.technician);
    const chosen = Array.from({ length: 9 }, (_, n) => `code=L${n + 1}`).join('&');
    await visitor.open(`/labels?${chosen}&size=${size}`);
    const pdf = (await visitor.page.pdf({ preferCSSPageSize: true })).toString('latin1');
    expect(pdf.match(/\/Type\s*\/Page\b(?!s)/g)).toHaveLength(pages);
    for (const [, w, h] of pdf.matchAll(/\/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]/g)) {
      expect(Number(w) / MM).toBeCloseTo(width, 0);
      expect(Number(h) / MM).toBeCloseTo(height, 0);
    }
  });
});
