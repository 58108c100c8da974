import { beforeAll, expect, test } from 'vitest';
import { bucketBody, createBucketWithRecipe, recordAct } from '../../server/buckets/service/index.ts';
import { movePieces } from '../../server/ware/service/index.ts';
import { aLoadedKiln, emptied } from '../helpers/firing.ts';
import { aClay } from '../helpers/loads.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';
import { inBrowser, serve, type Visitor, WAYS } from './browser.ts';

inBrowser('a member with ware', (door) => {
  let studio: Studio;
  let site: string;
  let clay: string;
  beforeAll(async () => {
    studio = await aStudio();
    site = await serve(studio.app);
    clay = await aClay(studio);
    await studio.as(studio.people.technician, async (act) => {
      const kelp = {
        code: 'KELP',
        name: 'Kelp',
        capacityLitres: 25,
        target: { aim: 1.46 },
        solidsDensity: 2.6,
      };
      await createBucketWithRecipe(act, bucketBody.parse({ ...kelp, coneFrom: '5', coneTo: '7' }));
      await recordAct(act, 'KELP', 'setup', { litres: 18, specificGravity: 1.46 });
    });
  });

  const card = (visitor: Visitor, words: string) =>
    visitor.page.getByRole('article').filter({ hasText: words });

  test.for(WAYS)(
    'registers six cups, follows them through two firings and fetches them: $name',
    async (way) => {
      const { technician } = studio.people;
      const member = await studio.aPerson('member', `Quill ${way.name}`);
      const visitor = await door(site, way, member);
      await visitor.open('/ware');
      await visitor.sees('No piece of yours yet');

      const before = visitor.taps;
      await visitor.press('Register your first piece');
      await visitor.press(/^Cup/);
      await visitor.fill({ 'How many of the same': '6', Cone: '6' });
      await visitor.press('Register');
      expect(visitor.taps - before, 'taps for six cups').toBe(3);
      await visitor.sees(/^Pieces \d+ to \d+ registered\. Cut each number/);
      await card(visitor, '6 cups').getByText('Made', { exact: true }).waitFor();
      const numbers = (await visitor.page.locator('.number').allTextContents()).map((text) =>
        Number(text.replace('Piece ', '')),
      );
      const [first = 0] = numbers;
      expect(numbers).toHaveLength(6);

      await visitor.press(/^I think it is dry/);
      await card(visitor, '6 cups').getByText('Handed in', { exact: true }).waitFor();
      await studio.as(technician, (act) => movePieces(act, 'dry', numbers, {}));
      const bisque = await aLoadedKiln(studio, { kind: 'bisque', clay, howMany: 1 });
      await visitor.open('/ware');
      await visitor.sees(/are bone dry/, new RegExp(`load ${bisque.number}`));
      await emptied(studio, bisque.number);

      await visitor.open('/ware');
      await visitor.sees(/are bisqued: glaze next\.$/);
      await visitor.press('I have read them');
      await visitor.page.getByText('New for you').waitFor({ state: 'detached' });
      await visitor.press('Glaze it');
      await visitor.open(`/ware/${first}/glazes`);
      await visitor.page.getByLabel('First glaze').selectOption('KELP');
      await visitor.press('It is glazed already');
      await visitor.sees('Glazed', 'Kelp');
      await visitor.press('Hand it in');
      await visitor.heading('Hand it in');
      visitor.expectRefusals(422);
      await visitor.press('Hand it in');
      await visitor.sees('One thing needs another look', 'Wipe the foot and hold the glaze back 6 mm.');
      await visitor.page
        .getByText('The foot is wiped and the glaze ends 6 mm above it', { exact: true })
        .click();
      await visitor.press('Hand it in');
      await visitor.heading('Waiting for glaze firing');

      const glaze = await aLoadedKiln(studio, { clay, howMany: 1 });
      await visitor.open('/ware');
      await card(visitor, '6 cups').getByText(`load ${glaze.number}`).waitFor();
      await visitor.press(`Piece ${first}`);
      await visitor.heading('In a load');
      await visitor.open(`/kilns/loads/${glaze.number}`);
      await visitor.sees('Your 6 pieces in it');
      expect(await visitor.count(/\bIda\b/), 'names of others').toBe(0);
      await emptied(studio, glaze.number, [{ piece: first, outcome: 'crack' }]);

      await visitor.open('/ware');
      await visitor.sees(`Piece ${first} came out of the kiln: cracked. Have a look.`);
      await visitor.sees(/are fired: ready to pick up\.$/, 'Ready to pick up');
      await visitor.press(/^I have it/, card(visitor, '5 cups'));
      await visitor.sees(/: picked up\.$/);
      await visitor.press('No, it is still here');
      await visitor.heading('Fired');
      await visitor.press('I have it: all 6 of this batch');
      await visitor.heading('Picked up');
      await visitor.open(`/ware/${first}`);
      await visitor.sees('Out of its last firing: cracked.', 'Kelp');
      await visitor.press(/^Me\b/);
      await visitor.press(/unread messages$/, visitor.page.locator('main'));
      await visitor.sees(`Piece ${first} came out of the kiln: cracked. Have a look.`);
      await visitor.press('Mark all as read');
      await visitor.sees('Nothing new.');
    },
  );
});
