import { beforeAll, expect, test } from 'vitest';
import { HOUR } from '../../server/core/clock.ts';
import { addTile, coatTileForm } from '../../server/ware/service/index.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';
import { aClay, somePieces } from '../helpers/ware.ts';
import { inBrowser, serve, type Visitor, WAYS } from './browser.ts';

/** Seconds in a bucket of 1.46, and what a tile of 60 cm² weighed after it that had weighed 42 g: invented, about half a millimetre at 3 to 4. */
const TILES: [seconds: number, afterGrams: number][] = [
  [3, 49.9],
  [6, 51.8],
  [2, 48.4],
  [4, 50.6],
  [8, 53.6],
];
const TILE = { areaCm2: 60, beforeGrams: 42 };

const fitsThePhone = async (visitor: Visitor, width: number): Promise<void> =>
  expect(await visitor.page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width);

inBrowser('a member at the glazing bench', (door) => {
  let studio: Studio;
  let site: string;
  let clay: string;
  beforeAll(async () => {
    studio = await aStudio();
    site = await serve(studio.app);
    clay = await aClay(studio);
    await studio.aBucket({ code: 'CHALK', name: 'Chalk', sg: 1.46 });
    await studio.aBucket({ code: 'KELP', name: 'Kelp', sg: 1.46 });
    await studio.as(studio.people.technician, async (act) => {
      for (const [seconds, afterGrams] of TILES)
        await addTile(act, coatTileForm.parse({ clay, bucket: 'KELP', seconds, afterGrams, ...TILE }));
    });
  });

  test.for(WAYS)('lines it, waits, weighs it next day, dips it and sees the coat: $name', async (way) => {
    const member = await studio.aPerson('member', `Quill ${way.name}`);
    const [number = 0] = await somePieces(studio, member, { clay, form: 'cup', begins: 'bisqued' });
    const visitor = await door(site, way, member);
    await visitor.open(`/ware/${number}`);
    await visitor.press('Glaze it');
    await visitor.heading('What goes where?');
    await visitor.page.getByLabel('Inside').selectOption('CHALK');
    await visitor.page.getByLabel('Outside').selectOption('KELP');
    await visitor.press('That is the plan');
    await visitor.heading('Wax the foot');
    await visitor.press(/^Foot waxed and clean/);
    await visitor.heading('Line it');
    await visitor.sees('Chalk, inside.', /this pair has no tile yet/);
    await visitor.page.getByText('Weigh it too', { exact: true }).click();
    await visitor.fill({ Before: '400', 'Just after': '440' });
    await visitor.press(/^It is lined/);
    await visitor.heading('Wait');
    await visitor.sees(/The lining is still wet\./);

    await visitor.press('Dry racks', visitor.page.locator('main'));
    await visitor.heading('Still wet');

    await visitor.open('/ware');
    await visitor.sees('Its last coat is still wet: wait.');
    await visitor.open(`/ware/${number}`);
    await visitor.sees(/^The lining is still wet\. Dry about/);
    await visitor.press('Look at it, or weigh it');
    await visitor.heading('Wait');
    await fitsThePhone(visitor, way.width);

    studio.clock.forward(10 * HOUR);
    visitor.expectRefusals(422);
    await visitor.fill({ 'It weighs now': 'light' });
    await visitor.press('That is its weight');
    await visitor.sees('Type a number.');
    await visitor.fill({ 'It weighs now': '422' });
    await visitor.press('That is its weight');
    await visitor.heading('Dry: coat the outside');
    await visitor.sees(/Dry by the scale\. \d+ % of its water is gone\./);
    await visitor.heading('Count 3 to 4');
    await visitor.sees(/From 5 tiles of this clay in this bucket\./);
    await visitor.fill({ 'You counted to': '3' });
    await visitor.page.getByText(/^Foot wiped clean/).click();
    await visitor.page.getByText('Weigh it too', { exact: true }).click();
    await visitor.fill({ Before: '422', 'Just after': '470' });
    await visitor.press(/^The outside is on/);
    await visitor.heading('Ready to hand in');

    await visitor.open(`/ware/${number}`);
    await visitor.sees('Glazed', 'Outside, dipped, count of 3', /^Coat about \d+\.\d mm \(weighed\)$/);
    await fitsThePhone(visitor, way.width);
  });
});

inBrowser('a technician with test tiles', (door) => {
  /** How many whole counts the advice leaves open; none where it knows no count. */
  const spread = (words: string | null): number => {
    const [, from, to] = /count (\d+)(?: to (\d+))?/i.exec(words ?? '') ?? [];
    return from === undefined ? Number.POSITIVE_INFINITY : Number(to ?? from) - Number(from);
  };

  test.for(WAYS)('adds five and sees the recommendation tighten: $name', async (way) => {
    const studio = await aStudio();
    const site = await serve(studio.app);
    const clay = await aClay(studio);
    await studio.aBucket({ code: 'KELP', name: 'Kelp', sg: 1.46 });
    const visitor = await door(site, way, studio.people.technician);
    await visitor.open('/bench/coat');
    await visitor.choose('Clay', clay);
    await visitor.choose('Bucket', 'Kelp KELP');
    await visitor.press('Show the count');
    await visitor.heading(`${clay} in Kelp`);
    await visitor.sees('count 3', /no tile says yet/);

    await visitor.press('Add a tile');
    const spreads: number[] = [];
    for (const [nth, [seconds, after]] of TILES.entries()) {
      await visitor.fill({
        'Glazed area': '60',
        Counted: String(seconds),
        'Before the dip': '42',
        'After dip and sponge': String(after),
      });
      const isLast = nth === TILES.length - 1;
      await visitor.press(isLast ? 'Keep it and show the count' : 'Keep it, next tile');
      await visitor.sees(isLast ? /^The tile is kept\./ : new RegExp(`^Kept: ${seconds} s left 0\\.\\d+ mm`));
      const said = visitor.page.locator(isLast ? '.big-count' : 'main p:has(> strong)').first();
      spreads.push(spread(await said.textContent()));
    }
    // The first alone says no more than what everybody counts; from the second on each leaves less open, or no more.
    const [untried, ...learnt] = spreads;
    expect(untried).toBe(0);
    for (const [nth, open] of learnt.slice(1).entries()) expect(open).toBeLessThanOrEqual(learnt[nth] ?? 0);
    expect(learnt.at(-1)).toBeLessThan(Math.min(learnt[0] ?? 0, 2));
    await visitor.sees('From 5 tiles of this clay in this bucket.');
    await fitsThePhone(visitor, way.width);

    await visitor.press(/^Strike out/);
    await visitor.fill({ Why: 'It dripped' });
    await visitor.press(/^Strike/);
    await visitor.sees('Struck out: the tile is kept, but counts no more.', /From 4 tiles/);
  });
});
