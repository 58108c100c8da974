import { beforeAll, expect, test } from 'vitest';
import { addCup, recordAct } from '../../server/buckets/service/index.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';
import { inBrowser, serve, WAYS } from './browser.ts';

// A cup of 200.36 mL: 100 g empty, 300 g brim-full of water at 20 °C (0.99821 g/mL).
const CUP = { code: 'C1', name: 'Enamel cup', tareG: 100, waterG: 300, waterC: 20, resolutionG: 1 };
/** Cup and glaze together, at SG 1.52 and 1.46: 100 g + SG × 200.36 g. */
const GRAMS_TOO_THICK = 404.5;
const GRAMS_AT_AIM = 392.5;

inBrowser('a member at the wall', (door) => {
  let studio: Studio;
  let site: string;
  beforeAll(async () => {
    studio = await aStudio();
    site = await serve(studio.app);
    await studio.as(studio.people.technician, (act) => addCup(act, CUP));
  });

  test.for(WAYS)('thins a bucket that is too thick, checks it and dips: $name', async (way) => {
    const member = await studio.aPerson('member');
    const code = await studio.aBucket({ name: 'Harbour Grey' });
    const tooThick = { method: 'weighed', vessel: CUP.code, grams: GRAMS_TOO_THICK } as const;
    await studio.as(studio.people.technician, (act) =>
      recordAct(act, code, 'readings', { ...tooThick, stirred: true, confirm: true }),
    );
    const visitor = await door(site, way);
    await visitor.open('/');
    await visitor.signIn(member);

    await visitor.heading('Glaze wall');
    const card = visitor.page.getByRole('article').filter({ hasText: code });
    await card.getByText('Too thick').waitFor();
    await visitor.press('Harbour Grey', card);

    await visitor.heading(`Harbour Grey ${code}`);
    await visitor.sees('Too thick', /SG 1\.520? ± 0\.0\d+, wanted 1\.44 to 1\.48/);
    // 18 L × 0.06 / (1.46 − 0.998) is 2.34 L in all; three quarters first.
    await visitor.press(/^Add 1\.75 L of water, stir, check again/);
    await visitor.sees('Recorded: added 1.75 L of water.', 'Needs a reading');

    const before = visitor.taps;
    await visitor.press(/^Stir to the bottom, then check SG/);
    await visitor.fill({ 'Cup and glaze together': String(GRAMS_AT_AIM) });
    await visitor.press('Record');
    expect(visitor.taps - before, 'taps for a reading').toBe(2);
    await visitor.sees(/^SG 1\.460 ± 0\.00\d recorded\.$/, 'Ready to dip');

    await visitor.press(/^Stirred, dipping/);
    await visitor.sees('Recorded: stirred, dipped 1 piece');
    await visitor.press('Say how many pieces');
    await visitor.heading('How many pieces?');
    await visitor.fill({ Cups: '2', Bowls: '1' });
    await visitor.press('That is how many');
    // Two cups of 0.05 L and a bowl of 0.1 L.
    await visitor.sees('Recorded: stirred, dipped 3 pieces, about 0.2 L.', 'Ready to dip');

    await visitor.press('Undo');
    await visitor.sees('Struck out: Stirred, dipped 3 pieces, about 0.2 L.', 'Ready to dip');
    expect(await visitor.control('Undo').count(), 'a correction is not taken back').toBe(0);
    await visitor.press('The whole ledger');
    await visitor.sees('Nothing is ever erased');
    const struck = visitor.page.getByRole('row').filter({ hasText: '(struck out)' });
    expect(await struck.count()).toBe(2);
  });

  test.for(WAYS)('stops a bucket that a sponge fell into: $name', async (way) => {
    const code = await studio.aBucket({ name: 'Copper Fern', sg: 1.46 });
    const visitor = await door(site, way, studio.people.member);
    await visitor.open(`/buckets/${code}`);
    await visitor.sees('Ready to dip');
    await visitor.press('Problem');
    await visitor.fill({ 'In your words': 'The blue sponge' });
    await visitor.press(/^Sponge or wrong glaze fell in/);

    await visitor.heading('Do not use');
    await visitor.sees('Copper Fern', 'The blue sponge', /^Ida, since/);
    await visitor.press('Tag hung on the bucket');
    await visitor.sees('Recorded: tag hung on the bucket.', 'Do not use');
    expect(await visitor.control(/^Stirred, dipping/).count(), 'ways to dip').toBe(0);
    await visitor.press('Glaze wall');
    const card = visitor.page.getByRole('article').filter({ hasText: code });
    await card.getByText('Do not use').waitFor();
    await card.getByText('The blue sponge').waitFor();
  });

  test.for(WAYS)('measures in US customary units by preference: $name', async (way) => {
    const member = await studio.aPerson('member', 'Quill');
    const code = await studio.aBucket({ sg: 1.52 });
    const visitor = await door(site, way, member);
    await visitor.open('/me');
    await visitor.pick('US customary');
    await visitor.press('Save');
    await visitor.sees('Saved');
    await visitor.open(`/buckets/${code}`);
    // 18 L are 19.0 quarts of 0.946 L, 1.75 L are 1.85 quarts: 7.4 cups, so a quart and three and a half cups.
    await visitor.sees(/about 19\.?0?\sqt of 26\.4\sqt/, /^Add 1\.85 qt of water/, /1 quart and 3½ cups/);
    await visitor.press(/^Add 1\.85 qt of water/);
    await visitor.sees('Recorded: added 1.85 qt of water.');
    const { litres } = (await studio.api(member, 'GET', `/buckets/${code}`)).json();
    expect(litres.value).toBeCloseTo(19.75, 2);
  });
});
