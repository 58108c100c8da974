import { beforeAll, expect, test } from 'vitest';
import { aStudio, type Studio } from '../helpers/studio.ts';
import { inBrowser, serve, WAYS } from './browser.ts';

/** 1/SG = 0.55 + 0.0012 mm. */
const gravityAt = (mm: number) => (1 / (0.55 + 0.0012 * mm)).toFixed(3);

inBrowser('a float', (door) => {
  let studio: Studio;
  let site: string;
  beforeAll(async () => {
    studio = await aStudio();
    site = await serve(studio.app);
  });

  test.for(WAYS)('is made, calibrated, gives every bucket its lines and reads: $name', async (way) => {
    const { technician, member } = studio.people;
    const number = WAYS.indexOf(way);
    const code = `F${number}`;
    const bucket = await studio.aBucket({ name: `Reed Green ${number}`, sg: 1.46 });
    const visitor = await door(site, way, technician);
    await visitor.open('/today');
    await visitor.press('Gear');
    await visitor.press(/^(Add a float|Floats: add)/);
    await visitor.fill({ Code: code, Name: 'Bottle with a thin neck' });
    await visitor.press('Add this float');
    await visitor.sees('Not calibrated yet');

    visitor.expectRefusals(422);
    await visitor.fill({ 'Mark 1': '60', 'SG 1': gravityAt(60) });
    await visitor.fill({ 'Mark 2': '60', 'SG 2': gravityAt(150) });
    await visitor.press('Calibrate');
    await visitor.sees(/Two pairs have the same mark, 60 mm/);
    await visitor.fill({ 'Mark 2': '150' });
    await visitor.press('Calibrate');
    await visitor.sees('Bottle with a thin neck is calibrated', /a third would show/);
    await visitor.fill({ 'Mark 3': '110', 'SG 3': gravityAt(110) });
    await visitor.press('Calibrate');
    await visitor.sees(/^0\.000\d SG off the line$/);
    expect(await visitor.count(/a third would show/)).toBe(0);

    await visitor.press("Every bucket's lines, to print");
    const line = visitor.page.getByRole('row').filter({ hasText: `Reed Green ${number}` });
    // (1/SG − 0.55) / 0.0012 for 1.48, 1.46 and 1.44
    for (const mm of ['104.5 mm', '112.5 mm', '120.5 mm'])
      await line.getByText(mm, { exact: true }).waitFor();

    const dipper = await door(site, way, member);
    await dipper.open(`/buckets/${bucket}/check`);
    await dipper.press('Float');
    if (number > 0) await dipper.pick(`(${code})`);
    await dipper.fill({ 'mm under, rising': '109', 'mm under, sinking': '107' });
    await dipper.press('Record');
    // 1 / (0.55 + 0.0012 · 108)
    await dipper.sees(/^SG 1\.47\d? ± 0\.0\d+ recorded\.$/, `float ${code} at 109 and 107 mm`);
  });
});
