import { beforeAll, test } from 'vitest';
import { bucketBody, createBucketWithRecipe, recordAct } from '../../server/buckets/service/index.ts';
import { MINUTE } from '../../server/core/clock.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';
import { inBrowser, serve, WAYS } from './browser.ts';

inBrowser('a stiff bucket', (door) => {
  let studio: Studio;
  let site: string;
  beforeAll(async () => {
    studio = await aStudio();
    site = await serve(studio.app);
  });

  /** A bucket in band, just read, whose flow is watched. */
  async function watched(code: string): Promise<void> {
    const { technician } = studio.people;
    const body = {
      code,
      name: `Foam ${code}`,
      capacityLitres: 25,
      target: { aim: 1.46 },
      solidsDensity: 2.6,
    };
    await studio.as(technician, async (act) => {
      await createBucketWithRecipe(act, bucketBody.parse({ ...body, flow: { low: 18, high: 30 } }));
      await recordAct(act, code, 'setup', { litres: 18, specificGravity: 1.46 });
      const read = {
        method: 'weighed',
        grams: 1460,
        millilitres: 1000,
        stirred: true,
        confirm: false,
      } as const;
      await recordAct(act, code, 'readings', read);
    });
  }

  test.for(WAYS)('a member finds it, a technician loosens it: $name', async (way) => {
    const code = `S${WAYS.indexOf(way)}`;
    await watched(code);
    const member = await door(site, way, studio.people.member);
    await member.open(`/buckets/${code}`);
    await member.press('Check flow');
    member.expectRefusals(422);
    await member.press('Record the flow');
    await member.sees('One thing needs another look', /Type the seconds/);
    await member.fill({ 'Seconds through the cup': '41,5' });
    await member.press('Record the flow');
    await member.sees('Recorded: flow 41.5 s.', 'Ask the technician', /do not add water/);

    const wren = await door(site, way, studio.people.technician);
    await wren.open('/today');
    await wren.press(
      'Loosen it: a drop of deflocculant',
      wren.page.getByRole('article').filter({ hasText: code }),
    );
    await wren.pick('To loosen');
    await wren.fill({ 'How much': '1' });
    await wren.press(/^Record what went in/);
    await wren.sees('Recorded: added 1 mL of deflocculant.', 'Ready to dip');
    await wren.press('Check flow');
    await wren.pick('Cream');
    await wren.press('Record the flow');
    await wren.sees('Recorded: flow: like cream.', 'Ready to dip');
  });

  test.for(WAYS)(
    'a technician measures how fast it settles and takes the interval on: $name',
    async (way) => {
      const code = `T${WAYS.indexOf(way)}`;
      await watched(code);
      const wren = await door(site, way, studio.people.technician);
      await wren.open(`/buckets/${code}`);
      await wren.press('Settling');
      for (const later of ['1.445', '1.446']) {
        await wren.fill({ 'First, just stirred': '1.46', 'Second, untouched': later });
        await wren.press('Record');
        await wren.sees(`Pair recorded: 1.46, then ${later} after 10 min.`);
      }
      await wren.fill({ 'First, just stirred': '1.46' });
      await wren.press('Record');
      await wren.sees('Now the second of the pair');
      studio.clock.forward(10 * MINUTE);
      await wren.fill({ 'Second, untouched': '1.444' });
      await wren.press('Record the second');
      // −ln(1 − 0.01/0.46179) over ln(0.46179/0.44679)/10 a minute
      await wren.sees('Pair recorded: 1.46, then 1.444 after 10 min.', /in 6\.6 min: the middle of 3 pairs/);
      await wren.press('Stir every 6 min from now on');
      await wren.sees('That is what the pairs propose too.');
    },
  );
});
