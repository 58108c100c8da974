import { beforeAll, expect, test } from 'vitest';
import { recordAct } from '../../server/buckets/service/index.ts';
import { DAY } from '../../server/core/clock.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';
import { inBrowser, serve, WAYS } from './browser.ts';

inBrowser('a control chart', (door) => {
  let studio: Studio;
  let site: string;
  beforeAll(async () => {
    studio = await aStudio();
    site = await serve(studio.app);
  });

  test.for(WAYS)('shows a technician what stands out, and why it may: $name', async (way) => {
    const { technician } = studio.people;
    const code = await studio.aBucket({ name: 'Brickfield', litres: null });
    const record = (daysAgo: number, path: 'setup' | 'readings', body: object) =>
      studio.as(technician, (act) =>
        recordAct(act, code, path, { ...body, happenedAt: studio.clock.now() - daysAgo * DAY } as never),
      );
    await record(20, 'setup', { litres: 18, specificGravity: 1.46 });
    const visitor = await door(site, way, technician);
    await visitor.open(`/buckets/${code}`);
    await visitor.press('Control chart');
    await visitor.heading('Too few readings for a chart');

    for (let day = 18; day > 0; day--) {
      const sg = (day > 9 ? 1.455 : 1.468) + (day % 3) / 1000;
      const grams = Math.round(sg * 1000);
      await record(day, 'readings', {
        method: 'weighed',
        grams,
        millilitres: 1000,
        stirred: true,
        confirm: true,
      });
    }
    await visitor.open(`/buckets/${code}`);
    await visitor.press('Control chart');
    await visitor.sees('Worth a look', /^9 in a row on one side: from .* above the centre line, 1\.46\d\.$/);
    await visitor.page
      .getByRole('img', { name: /^Specific gravity, reading by reading\. 18 readings/ })
      .waitFor();
    const row = visitor.page.getByRole('row').filter({ hasText: 'in a row on one side' });
    expect(await row.first().isVisible()).toBe(false);
    await visitor.page.getByText('The readings in figures').click();
    await row.first().waitFor();
    await visitor.press('The ledger');
    await visitor.heading('Ledger');
  });
});
