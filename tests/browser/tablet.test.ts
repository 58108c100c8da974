import { beforeAll, expect, test } from 'vitest';
import { aStudio, type Studio } from '../helpers/studio.ts';
import { aTablet, givePin } from '../helpers/tablet.ts';
import { inBrowser, PHONE, serve, TABLET } from './browser.ts';

const BOTH = [TABLET, { ...TABLET, name: 'tablet without scripts', scripts: false }];

inBrowser('the tablet at the wall', (door) => {
  let studio: Studio;
  let site: string;
  beforeAll(async () => {
    studio = await aStudio();
    site = await serve(studio.app);
  });

  test.for(BOTH)(
    'is paired by a code and records a dip in two taps, the name among them: $name',
    async (way) => {
      const code = await studio.aBucket({ name: 'Tide Blue', sg: 1.46 });
      const technician = await door(site, PHONE, studio.people.technician);
      await technician.open('/people');
      await technician.press('Wall tablets');
      await technician.fill({ 'Its name': `By the sink, ${way.name}` });
      await technician.press(/^Make a code/);
      const typed = (await technician.page.locator('output').textContent()) ?? '';

      const tablet = await door(site, way);
      await tablet.open('/pair');
      await tablet.fill({ Code: typed });
      await tablet.press('Pair this screen');
      await tablet.sees(`Paired: this is By the sink, ${way.name} now.`);
      const card = tablet.page.getByRole('article').filter({ hasText: code });
      await tablet.press('Tide Blue', card);
      await tablet.sees('Ready to dip');

      const before = tablet.taps;
      await tablet.press('Stirred, dipping');
      await tablet.press('Ida');
      expect(tablet.taps - before, 'taps for a dip, the name included').toBe(2);
      await tablet.heading('Glaze wall');
      await tablet.sees(/^Tide Blue, Ida: Recorded: stirred, dipped 1 piece/);

      await tablet.press('Tide Blue', card);
      await tablet.press('Check SG');
      await tablet.press('Wren');
      await tablet.fill({ '1000 mL of glaze weigh': '1467' });
      await tablet.press('Record');
      await tablet.sees(/^Tide Blue, Wren: SG 1\.467 ± /);

      const member = await door(site, PHONE, studio.people.member);
      await member.open(`/buckets/${code}`);
      await member.sees('Ida, at the wall tablet', 'Wren, at the wall tablet');

      await technician.press('The tablet shows the wall');
      await technician.press(`Revoke By the sink, ${way.name}`);
      await technician.sees('The tablet is revoked.');
      // Where it is told of changes, it is told of this one, too.
      if (way.scripts) await tablet.heading('This tablet is not paired any more');
      await tablet.open(`/tablet/buckets/${code}`);
      await tablet.heading('This tablet is not paired any more');
    },
  );

  test.for(BOTH)('takes back what was mistapped, with a PIN: $name', async (way) => {
    const code = await studio.aBucket({ name: 'Oat Satin', sg: 1.46 });
    const name = `Isolde at the ${way.name}`;
    const ida = await studio.aPerson('member', name);
    await givePin(studio, ida, '4071');
    const visitor = await door(site, way, await aTablet(studio));
    await visitor.open(`/buckets/${code}`);
    await visitor.press('Problem');
    await visitor.press(name);
    await visitor.press('Bad smell');
    await visitor.sees(`Oat Satin, ${name}: Reported: bad smell.`);
    await visitor.press('Take it back');
    visitor.expectRefusals(422);
    await visitor.fill({ [`PIN of ${name}`]: '4070' });
    await visitor.press('Strike it out');
    await visitor.sees('This is not the PIN that goes with the name.');
    await visitor.fill({ [`PIN of ${name}`]: '4071' });
    await visitor.press('Strike it out');
    await visitor.sees(`Oat Satin, ${name}: Struck out: problem: bad smell.`);
  });

  test('goes back to the wall when nobody touches it for a minute, and says so before', async () => {
    const code = await studio.aBucket({ name: 'Kelp', sg: 1.46 });
    const visitor = await door(site, TABLET, await aTablet(studio));
    await visitor.page.clock.install();
    await visitor.open(`/tablet/buckets/${code}`);
    await visitor.heading(`Kelp ${code}`);
    const warning = visitor.page.getByText('Back to the wall in a few seconds.');
    await visitor.page.clock.runFor(40_000);
    expect(await warning.isVisible()).toBe(false);
    await visitor.page.clock.runFor(8_000);
    await warning.waitFor();
    await visitor.page.mouse.click(5, 300);
    await visitor.page.clock.runFor(30_000);
    expect(await warning.isVisible()).toBe(false);
    expect(visitor.page.url()).toContain(code);
    await visitor.page.clock.runFor(31_000);
    await visitor.heading('Glaze wall');
  });
});
