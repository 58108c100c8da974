import { beforeAll, expect, test } from 'vitest';
import { addCup, findBucket } from '../../server/buckets/service/index.ts';
import { DAY, MINUTE } from '../../server/core/clock.ts';
import { toWallTime } from '../../server/core/wall-time.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';
import { inBrowser, PHONE, serve, type Visitor } from './browser.ts';

const NAMES = ['Ash', 'Birch', 'Cedar', 'Dogwood', 'Elm', 'Fern', 'Gorse', 'Hazel'];
const PHONES = [PHONE, { ...PHONE, name: 'phone without scripts', scripts: false }];

inBrowser('the morning round', (door) => {
  /** Eight buckets that need a check among eleven, and one cup. */
  async function aMorning(): Promise<{ studio: Studio; site: string }> {
    const studio = await aStudio();
    const { technician } = studio.people;
    await studio.as(technician, (act) =>
      addCup(act, { code: 'C1', name: 'Enamel cup', tareG: 100, waterG: 300, waterC: 20, resolutionG: 1 }),
    );
    for (const name of NAMES) await studio.aBucket({ code: name.toUpperCase(), name });
    for (const name of ['Iris', 'Juniper', 'Kelp']) await studio.aBucket({ name, sg: 1.46 });
    return { studio, site: await serve(studio.app) };
  }
  let morning: Awaited<ReturnType<typeof aMorning>>;

  test.for(PHONES)('is eight buckets with one number and one tap each: $name', async (way) => {
    const { studio, site } = await aMorning();
    const visitor = await door(site, way, studio.people.technician);
    await visitor.open('/today');
    await visitor.press('Morning round');
    await visitor.sees('8 of 11 buckets need a check, in the order of the wall.');
    visitor.taps = 0;
    let keys = 0;
    await visitor.press(/^Start/);
    for (const [at, name] of NAMES.entries()) {
      await visitor.heading(name);
      await visitor.sees(`${at + 1} of 8`, 'Wanted SG 1.44 to 1.48.');
      await isReadyToType(visitor);
      // 100 g + 1.46 × 200.36 mL; the last is too thick: 1.50
      const grams = name === 'Hazel' ? '401' : '392';
      keys += grams.length;
      await visitor.page.keyboard.type(grams);
      await visitor.press(at === 7 ? 'Record and finish' : 'Next');
    }
    await visitor.heading('Round done');
    await visitor.sees('8 of 8 checked.', 'Too thick');
    expect(visitor.taps, 'one to start, then one a bucket').toBe(9);
    expect(keys).toBe(24);
    await visitor.press('What still needs a check');
    await visitor.sees('1 of 11 buckets needs a check', /^too thick: 1\.50/);
  });

  beforeAll(async () => {
    morning = await aMorning();
  });

  test('fits on a phone with the number and the button above the fold, and forgives', async () => {
    const { studio, site } = morning;
    const visitor = await door(site, PHONE, studio.people.technician);
    await visitor.open('/round');
    await visitor.press(/^Start/);
    const below = await visitor.page
      .getByRole('button', { name: 'Next' })
      .evaluate((button) => innerHeight - button.getBoundingClientRect().bottom);
    expect(below, 'px left under the button').toBeGreaterThan(64);
    visitor.expectRefusals(422);
    await visitor.press('Next');
    await visitor.sees('One thing needs another look');
    await visitor.fill({ 'Cup and glaze together': '393' });
    await visitor.press('Next');
    await visitor.sees('2 of 8', /^Ash: SG 1\.46/);
    await visitor.press('Skip');
    await visitor.sees('3 of 8');
    await visitor.press('Back one');
    await visitor.sees('2 of 8');
    await visitor.press('Stop here');
    await visitor.sees('1 of 8 checked.');
    await visitor.press('Check Birch now');
    await visitor.heading('Birch');
    await visitor.page.getByText('Measure with something else').click();
    await visitor.press('Hydrometer');
    await visitor.fill({ 'The hydrometer reads': '1.46' });
    await visitor.press('Next');
    await visitor.sees('3 of 8', /^Birch: SG 1\.46/, 'The hydrometer reads');
  });

  test.for(PHONES)(
    'is typed in from a clipboard sheet, with the times at which it was read: $name',
    async (way) => {
      const { studio, site } = await aMorning();
      const visitor = await door(site, way, studio.people.technician);
      await visitor.open('/round');
      await visitor.press('Clipboard sheet');
      for (const name of NAMES) await visitor.sees(name);
      await visitor.press('Type it in');
      const read = toWallTime(studio.clock.now() - 20 * MINUTE, 'Europe/London');
      await visitor.fill({ 'Day it was read': read.slice(0, 10) });
      for (const name of NAMES.slice(0, 3)) {
        await visitor.fill({ [`${name} ${name.toUpperCase()}`]: name === 'Cedar' ? '3920' : '392' });
        await visitor.fill({ [`Time, ${name.toUpperCase()}`]: read.slice(11) });
      }
      visitor.expectRefusals(422);
      await visitor.press('Record them');
      await visitor.sees('One thing needs another look', /Cedar CEDAR: That gives a gravity of/);
      await visitor.fill({ 'Cedar CEDAR': '392' });
      await visitor.press('Record them');
      await visitor.sees('3 of 3 checked.');
      const { facts } = await studio.as(studio.people.technician, (act) => findBucket(act, 'CEDAR'));
      expect(toWallTime(facts.readingAt ?? 0, 'Europe/London')).toBe(read);
    },
  );

  test.for(PHONES)('leaves a history that can be filtered and taken away: $name', async (way) => {
    const { studio, site } = morning;
    const visitor = await door(site, way, studio.people.technician);
    await visitor.open('/today');
    await visitor.press('History');
    await visitor.page.getByText('Filter', { exact: true }).click();
    await visitor.choose('Bucket', 'Ash ASH');
    await visitor.choose('What', 'Set-ups');
    await visitor.fill({ 'First day': toWallTime(studio.clock.now() - DAY, 'Europe/London').slice(0, 10) });
    await visitor.press('Show');
    await visitor.sees('Set up: 18 L at SG 1.46');
    await expect.poll(() => visitor.count('Birch')).toBe(1);
    const file = visitor.page.waitForEvent('download');
    await visitor.press('These as a table file (CSV)');
    expect((await file).suggestedFilename()).toMatch(/^history-\d{4}-\d\d-\d\d\.csv$/);
    await visitor.sees('Set up: 18 L at SG 1.46');
  });
});

/** Nobody has to tap the field first. */
async function isReadyToType({ page }: Visitor): Promise<void> {
  await expect.poll(() => page.evaluate(() => document.activeElement?.getAttribute('name'))).toBe('grams');
}
