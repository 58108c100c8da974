import { expect, test } from 'vitest';
import { anApp, PASSWORD } from '../helpers/studio.ts';
import { inBrowser, serve, WAYS } from './browser.ts';

inBrowser('a studio on its first day', (door) => {
  test.for(WAYS)('is set up, and a first member joins: $name', async (way) => {
    const { app, services, clock } = await anApp();
    const site = await serve(app);
    const manager = { email: 'maro@millrace.example', password: PASSWORD };
    const visitor = await door(site, way);

    await visitor.open('/');
    await visitor.heading('Set up your studio');
    await visitor.fill({
      'One-time key': 'not the key',
      'Name of the studio': 'Millrace Clay Commons',
      'Your name': 'Maro',
      'Your e-mail address': manager.email,
      'Your password': manager.password,
    });
    await visitor.choose('Time zone', 'Europe/London');
    await visitor.choose('Currency', 'GBP · British Pound');
    visitor.expectRefusals(422);
    await visitor.press('Set up the studio');
    await visitor.sees('One thing needs another look');
    expect(await visitor.field('Name of the studio').inputValue()).toBe('Millrace Clay Commons');
    expect(await visitor.field('Your password').inputValue(), 'a password never comes back').toBe('');
    await visitor.fill({ 'One-time key': services.setupKey, 'Your password': manager.password });
    await visitor.press('Set up the studio');
    await visitor.heading('Today');
    await visitor.sees('Nothing needs you');

    await visitor.press('People');
    await visitor.press('Invite somebody');
    await visitor.fill({ 'Their e-mail address': 'ida@millrace.example' });
    await visitor.press('Make the invitation');
    const link = await visitor.field(/^Link for/).inputValue();
    expect(link).toMatch(`${site}/welcome/`);
    await visitor.press('I have copied it');
    await visitor.heading('People');

    const newcomer = await door(site, way);
    newcomer.expectRefusals(422);
    await newcomer.open(link);
    await newcomer.heading('Welcome to Millrace Clay Commons');
    await newcomer.fill({ 'Your name': 'Ida', Password: 'short' });
    await newcomer.press('Join the studio');
    await newcomer.sees('One thing needs another look');
    await newcomer.fill({ Password: 'slow kiln amber gate' });
    await newcomer.press('Join the studio');
    await newcomer.heading('Glaze wall');
    await newcomer.sees('No bucket yet');
    expect(await newcomer.control('People').count(), 'what a member may not see').toBe(0);

    await newcomer.press('Me');
    await newcomer.press('Sign out');
    await newcomer.heading('Sign in');
    await newcomer.open('/wall');
    await newcomer.heading('Sign in');

    newcomer.expectRefusals(422, 429);
    const wrong = { email: 'ida@millrace.example', password: 'slow kiln amber door' };
    const again = {
      payload: new URLSearchParams(wrong).toString(),
      headers: { 'content-type': 'application/x-www-form-urlencoded' },
    };
    for (let attempt = 1; attempt <= 4; attempt++)
      await app.inject({ method: 'POST', url: '/sign-in', ...again });
    await newcomer.signIn(wrong);
    await newcomer.sees('is not right');
    await newcomer.open('/sign-in');
    const right = { ...wrong, password: 'slow kiln amber gate' };
    await newcomer.signIn(right);
    await newcomer.sees('Too many wrong passwords. Wait 1 second, then try again.');
    clock.forward(1000);
    await newcomer.signIn(right);
    await newcomer.heading('Glaze wall');
  });
});
