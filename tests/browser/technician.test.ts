import { beforeAll, expect, test } from 'vitest';
import { recordAct } from '../../server/buckets/service/index.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';
import { inBrowser, serve, type Visitor, WAYS } from './browser.ts';

inBrowser('a technician', (door) => {
  let studio: Studio;
  let site: string;
  beforeAll(async () => {
    studio = await aStudio();
    site = await serve(studio.app);
  });

  const due = (visitor: Visitor, code: string) => visitor.page.getByRole('article').filter({ hasText: code });

  test.for(WAYS)('hangs a tag and puts the bucket back in service: $name', async (way) => {
    const { member, technician } = studio.people;
    const code = await studio.aBucket({ name: 'Copper Fern', sg: 1.46 });
    await studio.as(member, (act) =>
      recordAct(act, code, 'problems', { problem: 'contaminated', note: 'A green sponge' }),
    );
    const visitor = await door(site, way, technician);
    await visitor.open('/');
    await visitor.heading('Today');
    await due(visitor, code).getByText('Tag to hang').waitFor();
    await visitor.press('Print the tag and hang it', due(visitor, code));
    await visitor.sees('A green sponge', /^Ida, since/);
    await visitor.press('Tag hung on the bucket');
    await visitor.sees('Recorded: tag hung on the bucket.');

    await visitor.press('Today');
    await visitor.press('Put it back in service, once it is right', due(visitor, code));
    await visitor.pick('In service');
    await visitor.fill({ Why: 'Sponge taken out, sieved twice' });
    await visitor.press('Record it');
    await visitor.sees('Recorded: put in service', 'Ready to dip');
    await visitor.press('Today');
    await visitor.heading('Look after the wall');
    expect(await due(visitor, code).count(), 'things due at the bucket').toBe(0);
  });

  test.for(WAYS)('sees what a member did and strikes out what was wrong: $name', async (way) => {
    const { member, technician } = studio.people;
    const code = await studio.aBucket({ name: 'Harbour Grey', sg: 1.52 });
    await studio.as(member, (act) => recordAct(act, code, 'top-ups', { kind: 'water', litres: 1.75 }));
    await studio.as(member, (act) =>
      recordAct(act, code, 'readings', {
        method: 'hydrometer',
        scale: 'sg',
        value: 1.3,
        stirred: true,
        confirm: true,
        note: 'in a hurry',
      }),
    );
    const visitor = await door(site, way, technician);
    await visitor.open(`/buckets/${code}`);
    await visitor.heading('Harbour Grey');
    await visitor.sees('Too thin', 'Added 1.75 L of water', 'Ida', '“in a hurry”');
    const trend = visitor.page.getByRole('img', { name: /readings/i });
    await trend.waitFor();
    await visitor.sees('water added');

    const wrong = visitor.page.getByRole('row').filter({ hasText: 'in a hurry' });
    await visitor.press(/^Strike out/, wrong);
    visitor.expectRefusals(422);
    await visitor.press('Strike it out');
    await visitor.sees('One thing needs another look');
    await visitor.fill({ Why: 'It was read on the wrong scale' });
    await visitor.press('Strike it out');
    await visitor.sees(/^Struck out: SG 1\.30/, 'Needs a reading', '(struck out)');
    await visitor.sees('“It was read on the wrong scale”');
    expect(await visitor.control(/^Strike out/, wrong).count()).toBe(0);
  });

  test.for(WAYS)('makes a recipe, a cup and a bucket, sets it up and reads it: $name', async (way) => {
    const { technician } = studio.people;
    const code = `N${WAYS.indexOf(way)}`;
    const recipe = `Kelp ${code}`;
    const visitor = await door(site, way, technician);
    await visitor.open('/today');
    await visitor.press('Recipes');
    await visitor.press(/recipe$/);
    await visitor.fill({ Name: recipe });
    await visitor.fill({ 'Material 1': 'Potash feldspar', 'Material 2': 'Silica' });
    await visitor.page.locator('[name=parts1]').fill('60');
    await visitor.page.locator('[name=parts2]').fill('40');
    await visitor.press('Save recipe');
    // 100 / (60 / 2.57 + 40 / 2.65)
    await visitor.sees('2.601 g/cm³');

    await visitor.press('Today');
    await visitor.press('Gear');
    await visitor.press(/^(Add a cup|Cups: add)/);
    await visitor.fill({ Code: `C${code}`, Name: 'Steel beaker', 'Empty and dry': '100' });
    await visitor.fill({ 'Brim-full of water': '300' });
    await visitor.press('Add this cup');
    await visitor.sees('Steel beaker is ready', '200 mL');

    await visitor.press('Today');
    await visitor.press('New bucket');
    await visitor.fill({ Code: code, Name: 'Kelp', Aim: '1,46', 'Holds, filled as far as you would': '25' });
    await visitor.choose('Recipe', recipe);
    await visitor.press(/^Make this bucket/);
    await visitor.heading('What is in it?');
    await visitor.fill({ 'How much is in it': '20', 'Specific gravity': '1.46' });
    await visitor.press('Record');
    await visitor.sees('Recorded: set up: 20 L at SG 1.46.', 'Needs a reading');

    await visitor.press(/^Stir to the bottom, then check SG/);
    if (WAYS.indexOf(way) > 0) await visitor.pick(`C${code}`);
    // 100 g + 1.46 × 200.36 mL
    await visitor.fill({ 'Cup and glaze together': '392.5' });
    await visitor.press('Record');
    await visitor.sees(/^SG 1\.460 ± 0\.00\d recorded\.$/, 'Ready to dip');
  });
});
