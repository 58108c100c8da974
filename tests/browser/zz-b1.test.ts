import axe from 'axe-core';
import { test } from 'vitest';
import { aStudio } from '../helpers/studio.ts';
import { fillStudio } from './full-studio.ts';
import { inBrowser, PHONE, serve } from './browser.ts';

inBrowser('zz', (door) => {
  test('time', async () => {
    const s = await aStudio();
    const site = await serve(s.app);
    const t0 = performance.now();
    const things = await fillStudio(s);
    process.stderr.write(`fill ${Math.round(performance.now() - t0)}\n`);
    for (const path of [`/kilns/loads/${things.kilns.loads.proposed}`, '/ware/new?form=cup']) {
      const t1 = performance.now();
      const v = await door(site, PHONE, s.people.manager);
      const t2 = performance.now();
      await v.open(path);
      const t3 = performance.now();
      await v.page.evaluate(axe.source);
      const t4 = performance.now();
      process.stderr.write(`${path} door ${Math.round(t2 - t1)} open ${Math.round(t3 - t2)} inject ${Math.round(t4 - t3)}\n`);
      const sum = { all: 0, colour: 0 };
      for (let i = 0; i < 5; i++)
        for (const [name, runOnly] of Object.entries({
          all: { type: 'tag', values: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] },
          colour: { type: 'rule', values: ['color-contrast', 'link-in-text-block'] },
        })) {
          const t = performance.now();
          await v.page.evaluate(`axe.run(document, ${JSON.stringify({ runOnly, resultTypes: ['violations'] })})`);
          sum[name as 'all'] += performance.now() - t;
        }
      process.stderr.write(`${JSON.stringify(sum)}\n`);
    }
  });
});
