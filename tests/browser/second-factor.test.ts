import { expect, test } from 'vitest';
import { phoneShows } from '../helpers/second-factor.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';
import { audit } from './audit.ts';
import { inBrowser, PHONE, serve, type Visitor, type Way } from './browser.ts';

const WITHOUT: Way = { ...PHONE, name: 'phone without scripts', scripts: false };

inBrowser('a second factor', (door) => {
  test.for([PHONE, WITHOUT])(
    'is set up, asked for, lost and ended: $name',
    { timeout: 120_000 },
    async (way) => {
      const studio = await aStudio();
      const site = await serve(studio.app);
      const { manager, technician } = studio.people;
      const looked = async (visitor: Visitor) => {
        // The same pages come either way, and the looking itself takes scripts.
        if (way.scripts) expect(await audit(visitor)).toEqual([]);
      };

      const maro = await door(site, way);
      await maro.open('/');
      await maro.signIn(manager);
      await maro.press(/^Me\b/);
      await maro.press('Set up a second factor');
      await maro.heading('Your second factor');
      const { key, codes } = await setUp(maro, studio, manager, looked);
      expect(codes).toHaveLength(10);
      await maro.press('I have kept them');
      await maro.sees('10 of ten are left.');
      await looked(maro);

      await maro.press('People');
      await maro.press('The studio');
      await maro.field(/^Technicians and managers sign in with a code/).check();
      await maro.press('Save');
      await maro.sees('Saved.');
      await looked(maro);

      const wren = await door(site, way);
      await wren.open('/today');
      await wren.signIn(technician);
      await wren.heading('Your second factor');
      await wren.sees('Set it up to go on');
      await looked(wren);
      await wren.press('Glaze wall');
      await wren.heading('Glaze wall');
      await wren.page.getByText('You see this as a member does').waitFor();
      expect(await wren.control('Today').count(), 'what a member does not see').toBe(0);
      await looked(wren);
      await wren.press('set up your second factor');
      await setUp(wren, studio, technician, looked);
      await wren.press('Today');
      await wren.heading('Today');

      await maro.press(/^Me\b/);
      await maro.press('Sign out');
      studio.clock.forward(30_000);
      maro.expectRefusals(422);
      await maro.open('/wall');
      await maro.signIn(manager);
      await maro.heading('Your code');
      await looked(maro);
      await maro.field(/^Code$/).fill('12345');
      await maro.press('Sign in');
      await maro.sees('This is not the code that your phone shows now.');
      await looked(maro);
      await maro.field(/^Code$/).fill(phoneShows(key, studio.clock.now()));
      await maro.press('Sign in');
      await maro.heading('Glaze wall');

      await maro.press(/^Me\b/);
      await maro.press('Sign out everywhere');
      await maro.sees('Signed out in this browser, the only one.');
      await looked(maro);
      await maro.signIn(manager);
      await maro.heading('Your code');
      await maro.press('Type a recovery code instead');
      await maro.heading('Your recovery code');
      await looked(maro);
      const [first = '', second = ''] = codes;
      await maro.fill({ 'Recovery code': first.toLowerCase() });
      await maro.press('Sign in');
      await maro.sees('You are in by a recovery code', '9 of ten are left.');

      await maro.press('People');
      const row = maro.page.getByRole('row').filter({ hasText: technician.email });
      await row.getByText(`Change ${technician.name}`).click();
      wren.expectRefusals(401);
      await maro.press(/^End the second factor/, row);
      await maro.sees('That second factor has ended.');
      // Her open page is told at once.
      if (way.scripts) await wren.heading('Sign in');
      await wren.open('/wall');
      await wren.signIn(technician);
      await wren.heading('Your second factor');

      await maro.open('/me/second-factor');
      const end = maro.page.locator('form[action="/me/second-factor/end"]');
      await end.getByLabel('Current password').fill(manager.password);
      await end.getByLabel('Code', { exact: true }).fill(second);
      await maro.press('End the second factor', end);
      await maro.sees('Your second factor has ended');
    },
  );
});

/** From the page that asks for the password to the recovery codes; once with a code that is wrong. */
async function setUp(
  visitor: Visitor,
  { clock }: Studio,
  person: Person,
  looked: (visitor: Visitor) => Promise<void>,
): Promise<{ key: string; codes: string[] }> {
  await visitor.fill({ 'Current password': person.password });
  await visitor.press(/^Show me the key/);
  await visitor.heading('Set up your second factor');
  await visitor.page.getByRole('img', { name: /^QR code with the key/ }).waitFor();
  await looked(visitor);
  const groups = (await visitor.page.locator('.factor-key').textContent()) ?? '';
  expect(groups).toMatch(/^([A-Z2-7]{4} ){7}[A-Z2-7]{4}$/);
  const key = groups.replaceAll(' ', '');
  visitor.expectRefusals(422);
  await visitor.field(/^Code$/).fill('none');
  await visitor.press(/^Turn it on/);
  await visitor.sees('This is not the code that goes with the key.');
  await looked(visitor);
  visitor.expectRefusals();
  await visitor.field(/^Code$/).fill(phoneShows(key, clock.now()));
  await visitor.press(/^Turn it on/);
  await visitor.heading('Your recovery codes');
  await looked(visitor);
  return { key, codes: await visitor.page.locator('.recovery-codes code').allTextContents() };
}
