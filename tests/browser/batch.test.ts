import { beforeAll, expect, test } from 'vitest';
import { bucketBody, createBucketWithRecipe } from '../../server/buckets/service/index.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';
import { aPhoto } from '../helpers/upload.ts';
import { inBrowser, serve, WAYS } from './browser.ts';

inBrowser('a batch', (door) => {
  let studio: Studio;
  let site: string;
  beforeAll(async () => {
    studio = await aStudio();
    site = await serve(studio.app);
  });

  test.for(WAYS)(
    'is weighed, countersigned, poured, and stays on test until its tile: $name',
    async (way) => {
      const { technician, manager } = studio.people;
      const code = `N${WAYS.indexOf(way)}`;
      const recipe = [
        { material: 'Potash feldspar', parts: 70, density: 2.57 },
        { material: 'Silica', parts: 30, density: 2.65 },
      ];
      const command = { code, name: `Kelp ${code}`, capacityLitres: 25, target: { aim: 1.46 }, recipe };
      await studio.as(technician, (act) => createBucketWithRecipe(act, bucketBody.parse(command)));

      const wren = await door(site, way, technician);
      await wren.open(`/buckets/${code}`);
      await wren.press('Mix a batch');
      await wren.heading('New batch');
      wren.expectRefusals(422);
      await wren.fill({ Wanted: '0' });
      await wren.press('Make the sheet');
      await wren.sees(/A batch of no litres is nothing to weigh/);
      await wren.fill({ Wanted: '12' });
      await wren.press('Make the sheet');
      await wren.sees('Being weighed', 'Powder into the water, never water onto powder. Do not stir yet.');
      await wren.fill({ Lot: 'PF 0317' });
      await wren.press('Potash feldspar weighed');
      await wren.sees(/^✓ Wren, today .*, lot PF 0317$/);
      await wren.press('Silica weighed');
      await wren.sees('Somebody else countersigns it');

      const maro = await door(site, way, manager);
      const sheet = new URL(wren.page.url()).pathname;
      await maro.open(sheet);
      await maro.press(/^I checked every line/);
      await maro.sees('Countersigned by Maro, today');

      await wren.open(sheet);
      await wren.fill({ 'Water that went in': '8.4' });
      await wren.press(/^Set up the bucket/);
      await wren.sees(/^Recorded: set up from batch \d+:/, 'On test');

      await wren.press(/Accept the glaze by it/);
      await wren.page
        .locator('[name=photo]')
        .setInputFiles({ name: 'tile.jpg', mimeType: 'image/jpeg', buffer: await aPhoto(600, 400) });
      await wren.pick('Accept the glaze');
      await wren.press('Add this tile');
      await wren.sees(/2 things need another look/, 'This photo is kept: no need to send it again.');
      await wren.fill({ Clay: 'Buff stoneware', Cone: '6', Note: 'Runs over Chalk' });
      await wren.press('Add this tile');
      await wren.sees('Recorded: put in service: tile 1.', 'Needs a reading', '“Runs over Chalk”');
      const image = wren.page.getByRole('img', { name: /on Buff stoneware, cone 6/ });
      await image.scrollIntoViewIfNeeded();
      await expect
        .poll(() => image.evaluate((element) => (element as HTMLImageElement).naturalWidth))
        .toBe(600);
    },
  );
});
