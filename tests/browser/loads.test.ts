import { beforeAll, expect, test } from 'vitest';
import { HOUR } from '../../server/core/clock.ts';
import { type LoadPiece, writeUsualSchedules } from '../../server/kilns/service/index.ts';
import { movePieces } from '../../server/ware/service/index.ts';
import { aKiln } from '../helpers/kilns.ts';
import { aClay, aProposal, nothingIsWrong, ownGroup, pageOf, readyPieces } from '../helpers/loads.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';
import { aPhoto } from '../helpers/upload.ts';
import { somePieces } from '../helpers/ware.ts';
import { DESKTOP, inBrowser, serve, type Visitor, WAYS } from './browser.ts';

/** What a controller wrote: 10 h up, then down, with a line that is none. */
const LOG = [
  'Time;Zone 1 (°C)',
  ...Array.from({ length: 41 }, (_, i) => `${Math.floor(i / 4)}:${(i % 4) * 15 || '00'};${20 + i * 30},5`),
  'power lost',
  ...Array.from({ length: 20 }, (_, i) => `${11 + i}:00;${1200 - i * 55},0`),
].join('\n');

inBrowser('a technician at the kilns', (door) => {
  let studio: Studio;
  let site: string;
  let kiln: string;
  let clay: string;
  let photo: Buffer;
  beforeAll(async () => {
    studio = await aStudio();
    site = await serve(studio.app);
    await studio.as(studio.people.technician, (act) => writeUsualSchedules(act));
    await aKiln(studio, { name: 'Brook' });
    // Full shelves only, and too cool for what the others hand in.
    kiln = (await aKiln(studio, { name: 'Anvil', halfShelves: 0, maxCone: '05' })).code;
    clay = await aClay(studio);
    photo = await aPhoto(600, 400);
  });

  /** Five pieces of each of these people that were glazed and handed in. */
  async function handedIn(
    people: Person[],
    forms: ('cup' | 'beaker' | 'bowl' | 'plate' | 'vase')[],
  ): Promise<number[]> {
    const numbers: number[] = [];
    for (const person of people)
      for (const form of forms)
        numbers.push(...(await readyPieces(studio, person, { for: 'glaze', clay, form })));
    return numbers;
  }

  /** Opens what is folded away. */
  async function unfold(visitor: Visitor, summary: RegExp): Promise<void> {
    await visitor.page.locator('summary').filter({ hasText: summary }).first().click();
  }

  async function fillLevels(visitor: Visitor): Promise<void> {
    for (;;) {
      await visitor.page
        .locator('h1')
        .getByText(/^(Level|Every level)/)
        .waitFor();
      const heading = (await visitor.page.locator('h1').textContent()) ?? '';
      if (heading.startsWith('Every level')) return;
      const level = /^(Level \d+(?:, (?:left|right) half)?)/.exec(heading)?.[1] ?? '';
      await visitor
        .field(/^Photo of this level/)
        .setInputFiles({ name: 'level.jpg', mimeType: 'image/jpeg', buffer: photo });
      await visitor.press(new RegExp(`^${level} is in`));
      await visitor.page.locator('.wishes').getByText(`${level}, all of it`).waitFor();
    }
  }

  test.for(WAYS)('brings ware from the rack to its owner: $name', { timeout: 120_000 }, async (way) => {
    const { technician } = studio.people;
    const isFull = way === DESKTOP;
    const people = await Promise.all(
      Array.from({ length: isFull ? 8 : 2 }, (_, i) =>
        studio.aPerson('member', `Member ${i + 1} ${way.name}`),
      ),
    );
    const [ida] = people as [Person];
    const numbers = await handedIn(
      people,
      isFull ? ['cup', 'cup', 'beaker', 'beaker', 'bowl'] : ['bowl', 'bowl', 'plate', 'vase', 'vase'],
    );
    const damp = await somePieces(studio, ida, { clay, howMany: 3, begins: 'drying' });
    await studio.as(ida, (act) => movePieces(act, 'ask-dry', damp, {}));
    const visitor = await door(site, way, technician);

    await visitor.open('/ware/desk');
    await visitor.press(/^Feel and confirm/);
    await visitor.page.getByRole('checkbox', { name: new RegExp(`^${damp[0]} `) }).check();
    await visitor.press(/^All but the ticked ones are bone dry/);
    await visitor.sees('2 pieces bone dry: they wait for the kiln now.');
    await visitor.press(/^It is bone dry/);
    await visitor.sees('1 piece bone dry: they wait for the kiln now.', 'Nothing to feel');

    await visitor.press('Kilns');
    await visitor.press('Loads');
    const glaze = visitor.page.getByRole('listitem').filter({ hasText: 'Glaze, cone 6 oxidation' });
    await glaze.getByText(`${numbers.length} ready`).waitFor();
    // Where nothing asks for a load yet, the kilns that could be filled are folded away.
    const kilns = glaze.getByText('The kilns', { exact: true });
    if (await kilns.isVisible()) await kilns.click();
    await visitor.press(/^Propose a load/, glaze);
    await visitor.page.getByRole('heading', { name: /^Load \d+ proposed/ }).waitFor({ timeout: 30_000 });
    const load = Number(/loads\/(\d+)/.exec(visitor.page.url())?.[1]);
    const { pieces, levels } = await pageOf(studio, load);
    await visitor.sees(
      `${pieces.length} pieces of ${people.length} owners on`,
      'Every clay and every glaze takes cone 6.',
    );
    if (isFull) expect(pieces.length, 'pieces of eight people').toBe(40);
    expect(await visitor.page.getByRole('img', { name: /^Plan from above/ }).count()).toBeGreaterThan(0);

    const top = levels.at(-1);
    const [moved, other] = pieces.filter(({ part, level }) => part === top?.part && level === top?.level);
    if (!moved || !other) throw new Error('two pieces stand on the topmost level');
    await unfold(visitor, new RegExp(`^Who stands on level ${moved.level}`));
    await visitor.press(String(moved.number));
    await visitor.heading(`Piece ${moved.number}`);
    await unfold(visitor, /^Type the place/);
    visitor.expectRefusals(409, 422);
    // On the other piece, a little towards the middle of the shelf, so that the edge is not what speaks against it.
    await visitor.fill({
      'To the right': String(Math.round(other.xMm * 0.85)),
      'To the back': String(Math.round(other.yMm * 0.85)),
    });
    await visitor.press('Move it there');
    await visitor.sees(/It would stand in the place of piece \d+/);
    await visitor.press(/^A\b/);
    await visitor.sees(`Piece ${moved.number} moved.`);

    await visitor.press(/^Approve this load/);
    await visitor.sees('Approved. Its pieces are reserved, and their owners were told.');
    await visitor.press('Load sheet');
    await visitor.heading(`Load ${load}`);
    await visitor.open(`/kilns/loads/${load}`);
    await visitor.press('Find a time for it');
    await visitor.press(/^Start /);
    await visitor.sees('It is on the calendar.');
    // It is started when the calendar says so: at another time that would be asked about.
    const slot = (await pageOf(studio, load)).load.startsAt ?? 0;
    studio.clock.forward(slot - studio.clock.now());
    await visitor.press(`Back to load ${load}`);
    await visitor.press(/^Load it/);
    await fillLevels(visitor);
    await visitor.press(/^The kiln is loaded/);
    await visitor.sees('The kiln is loaded.');

    await visitor.press(/^The list before firing/);
    await visitor.heading('Before firing');
    for (const tick of await visitor.page.getByRole('checkbox').all()) await tick.check();
    await visitor.fill({ 'Who is on call': 'Maro, studio line' });
    await visitor.press(/^Keep this list/);
    await visitor.sees('The list is kept.', 'All of it is ticked.');
    await visitor.press(new RegExp(`^Start load ${load}`));
    await visitor.heading('Pyrometer');
    studio.clock.forward(10 * HOUR);
    await visitor.press('It is shut off');
    await visitor.fill({ 'The pyrometer says': '1221' });
    await visitor.press(/^It is off/);
    await visitor.heading('Cooling');

    studio.clock.forward(20 * HOUR);
    await visitor.press('Bring in the log');
    await visitor.page
      .locator('[name=log]')
      .setInputFiles({ name: 'log.csv', mimeType: 'text/csv', buffer: Buffer.from(LOG) });
    await visitor.press(/^Look at it/);
    await visitor.heading('Columns of the log');
    await visitor.press('Try these columns first');
    await visitor.heading('What comes of it');
    await visitor.sees(/^61 readings over 30\.0 h/, '1 line left out');
    await visitor.press('Bring it in');
    await visitor.sees('The log is in.', '573 °C');

    await visitor.open(`/kilns/loads/${load}/open`);
    await visitor.fill({ 'The pyrometer says': '165' });
    await visitor.page.getByLabel('Opened').check();
    await visitor.press('Write it down');
    await visitor.sees(/^Shut it\. Do not reach in\. At 165 °C: .* Was it opened all the same\? Say why\.$/);
    // It was not: it cooled on, and a colder reading needs no second yes.
    await visitor.fill({ 'The pyrometer says': '62' });
    await visitor.press('Write it down');
    await visitor.sees(/^Opened at 62\s°C/);
    await visitor.press(/^Unload it/);
    await visitor.heading('Unload it');
    await visitor.fill({ 'The pyrometer says': '38' });
    await unfold(visitor, new RegExp(`^All ${pieces.length} pieces$`));
    await unfold(visitor, new RegExp(`^${moved.number} ·`));
    await visitor.page.locator(`[name=outcome-${moved.number}]`).selectOption({ label: 'Cracked' });
    await visitor.press(/^It is empty/);
    await visitor.sees(`${pieces.length} pieces, 1 of them not good.`);
    await nothingIsWrong(studio);

    const owner = people.find(({ name }) => name === moved.owner);
    const member = await door(site, way, owner);
    await member.open('/ware');
    await member.sees(
      `Piece ${moved.number} came out of the kiln: cracked. Have a look.`,
      'Ready to pick up',
    );
  });

  /** A bowl alone in a load of its own, with its place. */
  async function aLoneBowl(): Promise<{ load: number; bowl: LoadPiece }> {
    const firing = ownGroup();
    await readyPieces(studio, studio.people.member, { for: 'glaze', clay, cone: firing.cone });
    const load = await aProposal(studio, { kiln, firing });
    return { load, bowl: await bowlIn(load) };
  }
  const bowlIn = async (load: number): Promise<LoadPiece> => {
    const [bowl] = (await pageOf(studio, load)).pieces;
    if (!bowl) throw new Error('the load holds a bowl');
    return bowl;
  };

  test('drags a piece with a mouse', async () => {
    const { load, bowl } = await aLoneBowl();
    const visitor = await door(site, DESKTOP, studio.people.technician);
    await visitor.open(`/kilns/loads/${load}`);
    const { mouse } = visitor.page;
    const plan = visitor.page.locator('svg[data-plan="1"]');
    await plan.scrollIntoViewIfNeeded();
    /** Where a place on the shelf is on the screen, px; y mm go to the back, which is up. */
    const onScreen = (at: { xMm: number; yMm: number }) =>
      plan.evaluate((svg: SVGSVGElement, { xMm, yMm }) => {
        const { x, y } = new DOMPoint(xMm, -yMm).matrixTransform(svg.getScreenCTM() ?? undefined);
        return { x, y };
      }, at);
    const drag = async (to: { xMm: number; yMm: number }) => {
      const [from, there] = [await onScreen(await bowlIn(load)), await onScreen(to)];
      await mouse.move(from.x, from.y);
      await mouse.down();
      await mouse.move(there.x, there.y, { steps: 5 });
      await mouse.up();
    };

    const wanted = { xMm: -bowl.xMm / 2, yMm: -bowl.yMm / 2 };
    await drag(wanted);
    await visitor.sees(`Piece ${bowl.number} moved.`);
    const moved = await bowlIn(load);
    // A pixel is about a millimetre.
    expect(Math.hypot(moved.xMm - wanted.xMm, moved.yMm - wanted.yMm)).toBeLessThan(3);

    visitor.expectRefusals(422);
    await drag({ xMm: 270, yMm: 0 });
    await visitor.sees(/^It would stand \d+ mm out over the edge of the shelf\.$/);
    expect(await bowlIn(load)).toMatchObject({ xMm: moved.xMm, yMm: moved.yMm });
  });

  test('moves a piece with the arrow keys', async () => {
    const { load, bowl } = await aLoneBowl();
    const visitor = await door(site, DESKTOP, studio.people.technician);
    const { keyboard } = visitor.page;
    await visitor.open(`/kilns/loads/${load}/pieces/${bowl.number}`);
    await visitor.control(/^Move \d+ with the arrow keys/).focus();
    // Towards the middle there is room.
    const [across, along] = [
      bowl.xMm > 0 ? 'ArrowLeft' : 'ArrowRight',
      bowl.yMm > 0 ? 'ArrowDown' : 'ArrowUp',
    ] as const;
    await keyboard.press(across);
    await keyboard.press('Escape');
    for (const key of [across, across, `Shift+${along}`, 'Enter']) await keyboard.press(key);
    await visitor.sees(`Piece ${bowl.number} moved.`);
    const moved = await bowlIn(load);
    expect(Math.abs(moved.xMm - bowl.xMm)).toBeCloseTo(10, 1);
    expect(Math.abs(moved.yMm - bowl.yMm)).toBeCloseTo(1, 1);
  });
});
