import { beforeAll, expect, test } from 'vitest';
import { bucketBody, createBucketWithRecipe, recordAct } from '../../server/buckets/service/index.ts';
import { type HazardEntry, UNKNOWN } from '../../server/materials/facts.ts';
import { saveMaterial } from '../../server/materials/service/index.ts';
import { createContainer, newContainerBody } from '../../server/safety/service/containers.ts';
import { logEntry } from '../../server/safety/service/log.ts';
import { entryBody } from '../../server/safety/service/log-forms.ts';
import { draftFor, findTarget, noticeBody, postNotice } from '../../server/safety/service/notices.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';
import { DESKTOP, inBrowser, serve, WAYS, type Way } from './browser.ts';

/** A desktop without scripts sends the same forms as a phone without them. */
const THREE_WAYS = WAYS.slice(0, 3);

const A_PDF = Buffer.from('%PDF-1.4\nMade up for a test.\n%%EOF\n');

inBrowser('safety', (door) => {
  let studio: Studio;
  let site: string;
  beforeAll(async () => {
    studio = await aStudio();
    site = await serve(studio.app);
    await register('Whiting', []);
    await register('Ball clay', []);
    await register('Shelf manganese', [{ hazardClass: 'STOT RE 1', hCode: 'H372' }]);
  });

  const register = (name: string, hazards: HazardEntry[]) =>
    studio.as(studio.people.technician, (act) =>
      saveMaterial(act, null, {
        name,
        density: 2.7,
        facts: { ...UNKNOWN, classification: hazards.length > 0 ? 'classified' : 'none', hazards },
      }),
    );

  /** A bucket in band and just stirred, of two materials that are not classified and whatever else. */
  const aGlaze = (code: string, name: string, more: { material: string; parts: number }[] = []) =>
    studio.as(studio.people.technician, async (act) => {
      const plain = [
        { material: 'Whiting', parts: 56 },
        { material: 'Ball clay', parts: 40 },
      ];
      const recipe = [...plain, ...more].map((line) => ({ ...line, density: 2.7 }));
      const body = { code, name, capacityLitres: 25, target: { low: 1.44, aim: 1.46, high: 1.48 }, recipe };
      await createBucketWithRecipe(act, bucketBody.parse(body));
      await recordAct(act, code, 'setup', { litres: 18, specificGravity: 1.46 });
      await recordAct(act, code, 'readings', {
        method: 'hydrometer',
        value: 1.46,
        stirred: true,
        confirm: true,
      });
    });
  const codeFor = (way: Way, letter: string) => `${letter}${WAYS.indexOf(way)}`;

  test.for(THREE_WAYS)(
    'a technician takes a new material into a glaze, sees its class come, posts and prints the notice: $name',
    async (way) => {
      const code = codeFor(way, 'A');
      const manganese = `Weir manganese ${code}`;
      await aGlaze(code, `Kelp ${code}`);
      const wren = await door(site, way, studio.people.technician);

      await wren.open(`/buckets/${code}/hazards`);
      await wren.sees(
        'No hazard class comes out of what is known.',
        'No class shown does not mean harmless.',
      );
      await wren.open('/safety');
      await wren.press('Materials');
      await wren.press('New material');
      await wren.fill({ Name: manganese, 'Density of its particles': '5.03' });
      await wren.fill({ 'Substance 1': 'Manganese dioxide', 'CAS number 1': '1313-13-8', 'Share 1': '98' });
      await wren.page.locator('.choice label:has([value=classified])').click();
      await wren.fill({ 'Where this was read': 'Sheet of 4 May 2025, section 2', 'Class 1': 'STOT RE 1' });
      await wren.fill({ 'H code 1': 'H372', 'Note 1': 'brain, by inhalation' });
      wren.expectRefusals(422);
      await wren.press('Save material');
      await wren.sees('One thing needs another look', /Not a CAS number/);
      await wren.fill({ 'CAS number 1': '1313-13-9' });
      await wren.press('Save material');
      await wren.heading(manganese);
      await wren.sees('H372', 'No class shown does not mean harmless.');

      await wren.press(/^Sheets: add/);
      const sheet = wren.page.locator('[name=sheet]');
      await sheet.setInputFiles({
        name: 'a.pdf',
        mimeType: 'application/pdf',
        buffer: Buffer.from('<html>'),
      });
      await wren.fill({ Supplier: 'Weir Lane Minerals', 'Its date': '2025-05-04' });
      await wren.press('Keep this sheet');
      await wren.sees('This is not a PDF.');
      await sheet.setInputFiles({ name: 'a.pdf', mimeType: 'application/pdf', buffer: A_PDF });
      await wren.press('Keep this sheet');
      await wren.sees('Weir Lane Minerals', /4 May 2025/);

      await wren.open(`/buckets/${code}`);
      await wren.press(`Kelp ${code} (${code})`, wren.page.locator('main'));
      await wren.press('Write version 2');
      await wren.fill({ 'Material 3': manganese });
      await wren.page.locator('[name=parts3]').fill('4');
      await wren.press('Save version 2');
      await wren.sees(/^Version 2 is saved/);
      await wren.open(`/buckets/${code}/edit`);
      await wren.choose('Recipe', `Kelp ${code} (${code}), version 2`);
      await wren.press('Save');

      await wren.press('what it is classified as, and why');
      await wren.heading(`Hazards of Kelp ${code}`);
      await wren.sees('STOT RE 2', 'H373');
      await wren.sees(`${manganese} (STOT RE 1) 4 %, from 1 % to below 10 % → STOT RE 2`);
      await wren.press('Draft a notice from this');
      await wren.sees(/STOT RE 2/, 'No class shown does not mean harmless.');
      expect(await wren.field('Mixing or spraying').inputValue()).toContain('respirator');
      await wren.press('Preview');
      await wren.sees('A preview: not posted yet.');
      await wren.fill({ 'Cleaning up': 'Wet the dried splashes first.' });
      await wren.press(/^Post it/);
      await wren.sees('Posted. Whoever it concerns is asked to read it.', 'Wet the dried splashes first.');
      await wren.press('Print');
      await wren.heading(/^Print notice/);
      await wren.sees(/May cause damage to organs/, 'H373');
      await wren.page.emulateMedia({ media: 'print' });
      expect(await wren.page.getByRole('heading', { name: /^Print notice/ }).isVisible()).toBe(false);
      await wren.page.getByText('H373').first().waitFor();
    },
  );

  test.for(THREE_WAYS)(
    'a member is stopped before dipping, reads, acknowledges and dips: $name',
    async (way) => {
      const code = codeFor(way, 'B');
      await aGlaze(code, `Heron ${code}`, [{ material: 'Shelf manganese', parts: 4 }]);
      const number = await studio.as(studio.people.technician, async (act) => {
        const { words } = await draftFor(act, await findTarget(act, { scope: 'bucket', bucket: code }));
        const said = Object.fromEntries(Object.entries(words).filter(([, line]) => line !== ''));
        return postNotice(act, noticeBody.parse({ scope: 'bucket', bucket: code, ...said }));
      });
      const ida = await door(site, way, await studio.aPerson('member', `Quill ${code}`));
      await ida.open('/wall');
      const lid = ida.page
        .getByRole('link')
        .filter({ hasText: `Heron ${code}` })
        .first();
      await ida.sees('A notice to read');
      await lid.click();
      await ida.heading(/may harm organs over time/);
      await ida.sees('Warning', 'Mixing or spraying');
      expect(await ida.control('Stirred, dipping').count(), 'ways past the notice').toBe(0);

      ida.expectRefusals(409);
      await ida.open(`/buckets/${code}/dip`);
      await ida.fill({ Cups: '3' });
      await ida.press('Record the dipping');
      await ida.sees(new RegExp(`Read notice ${number} first`));
      const before = ida.taps;
      await ida.press(/^I have read this/);
      await ida.heading('How many pieces?');
      await ida.page.locator('#to-read').waitFor({ state: 'detached' });
      await ida.fill({ Cups: '3' });
      await ida.press('Record the dipping');
      await ida.sees(/^Recorded: /);
      expect(ida.taps - before, 'taps from the notice to the dipping').toBe(2);
      await ida.sees('Read:');
      await ida.open(`/notices/${number}`);
      await ida.heading(/may harm organs over time/);

      const wren = await door(site, way, studio.people.technician);
      await wren.open(`/notices/${number}/readers`);
      await wren.sees(`Quill ${code}`);
    },
  );

  test.for(THREE_WAYS)('a spill is logged, followed up and closed: $name', async (way) => {
    const { technician, manager } = studio.people;
    const place = `Glaze sink ${WAYS.indexOf(way)}`;
    const ida = await door(site, way, await studio.aPerson('member', `Quill ${place}`));
    await ida.open('/safety');
    await ida.press(/^Something happened/);
    await ida.heading('What was it?');
    await ida.press(/^Spill/);
    await ida.sees('Help first, write later');
    ida.expectRefusals(422);
    await ida.press(/^Put it into the log/);
    await ida.sees('2 things need another look');
    await ida.fill({ Where: place, 'What was spilled, how much': 'Two litres, over the rim' });
    await ida.press(/^Put it into the log/);
    await ida.heading(/^Spill entry/);
    await ida.sees('Open: nobody has taken it on', 'Two litres, over the rim');
    const entry = new URL(ida.page.url()).pathname;

    const wren = await door(site, way, technician);
    await wren.open('/safety');
    const due = wren.page.getByRole('article').filter({ hasText: place });
    await wren.press('Look at it', due);
    await wren.press(/^Follow it up/);
    await wren.fill({ 'What is to be done': 'A rim guard for the big buckets' });
    await wren.choose('Who sees to it', manager.name);
    await wren.press('Hand it over');
    await wren.sees(/^Followed up: Maro by /, 'A rim guard for the big buckets');

    const maro = await door(site, way, manager);
    await maro.open(entry);
    await maro.press(/^Close it/);
    await maro.fill({ 'What came of it': 'Two rim guards hang there now' });
    await maro.press('Close it');
    await maro.sees('Closed', 'Two rim guards hang there now');
    expect(await maro.control(/^Close it/).count()).toBe(0);
    await ida.open(entry);
    await ida.sees('Closed', 'Two rim guards hang there now', 'Two litres, over the rim');
  });

  test.for(THREE_WAYS)('rinse is sieved back and its bucket asks for a reading: $name', async (way) => {
    const code = codeFor(way, 'D');
    await aGlaze(code, `Sedge ${code}`);
    await studio.as(studio.people.technician, (act) =>
      createContainer(
        act,
        newContainerBody.parse({
          kind: 'rinse',
          code: `R${code}`,
          name: `Pail ${code}`,
          capacityLitres: 10,
          bucket: code,
        }),
      ),
    );
    const ida = await door(site, way, await studio.aPerson('member', `Quill ${code}`));
    await ida.open(`/buckets/${code}`);
    await ida.sees('Ready to dip');
    await ida.open(`/buckets/${code}/rinse`);
    await ida.heading(`Pail ${code}`);
    await ida.press(/^Tools rinsed|^Rinse/);
    await ida.fill({ 'How much': '3' });
    await ida.press('Record what went in');
    await ida.heading(`Pail ${code}`);
    await ida.sees(/3 L/);

    const wren = await door(site, way, studio.people.technician);
    await wren.open(`/containers/R${code}`);
    await wren.press(/^Sieve/);
    await wren.fill({ 'How much went back': '2' });
    await wren.press(/^Record both/);
    await wren.sees('Sieved back. Stir that bucket to the bottom and check its SG.');
    await ida.open(`/buckets/${code}`);
    await ida.sees('Needs a reading', /^Own rinse back, 2 L/);
    await ida.open(`/containers/R${code}`);
    await ida.sees(/1 L/);
  });

  test('the register of the safety log prints, from screen to paper', async () => {
    const { technician, member } = studio.people;
    for (let n = 0; n < 45; n++)
      await studio.as(n % 3 ? technician : member, (act) =>
        logEntry(
          act,
          entryBody.parse({
            kind: n % 2 ? 'spill' : 'wet-cleaning',
            place: `Bench ${n} ${'Tidewater'.repeat(6)}`,
            what: `${'Wiped up wet, rim to floor. '.repeat(n % 7)}${'Tidewater'.repeat(6)}`,
          }),
        ),
      );
    const wren = await door(site, DESKTOP, technician);
    await wren.open('/safety');
    await wren.press('Register to print');
    await wren.sees(/entries\. Printed/);
    await wren.page.emulateMedia({ media: 'print' });
    expect(await wren.control('Print it').isVisible(), 'buttons on paper').toBe(false);
    // A4 upright without 15 mm on either side, at 96 px an inch.
    await wren.page.setViewportSize({ width: 680, height: 1000 });
    const out = await wren.page.evaluate(() => {
      const { scrollWidth, clientWidth } = document.documentElement;
      return scrollWidth - clientWidth;
    });
    expect(out, 'px beyond the paper').toBeLessThanOrEqual(0);
    const pdf = (await wren.page.pdf({ format: 'A4' })).toString('latin1');
    const pages = pdf.match(/\/Type\s*\/Page\b(?!s)/g)?.length ?? 0;
    expect(pages).toBeGreaterThan(1);
    expect(pages).toBeLessThan(15);
  });
});
