import { beforeAll, describe, expect, test } from 'vitest';
import { DEMO_PEOPLE, seedDemo } from '../../seed/millrace.ts';
import { toWallTime } from '../../server/core/wall-time.ts';
import { monthAfter } from '../../server/fees/ledger.ts';
import { monthWords } from '../../server/fees/month-words.ts';
import { movePieces } from '../../server/ware/service/index.ts';
import { aLoadedKiln, emptied } from '../helpers/firing.ts';
import { aClay } from '../helpers/loads.ts';
import { aPriceList, line } from '../helpers/price-lists.ts';
import { anApp, aStudio, type Studio } from '../helpers/studio.ts';
import { DESKTOP, type Door, inBrowser, PHONE, serve, type Visitor, type Way } from './browser.ts';

const THESE_WAYS: Way[] = [PHONE, { ...PHONE, name: 'phone without scripts', scripts: false }, DESKTOP];

/** '£1,234.50' → 123450, '−£5.00' → −500 */
function pence(text: string | null): number {
  const [found = ''] = /[−-]?£[\d,]+\.\d\d/.exec(text ?? '') ?? [];
  expect(found, `an amount in ${text}`).not.toBe('');
  return Number(found.replaceAll(/\D/g, '')) * (/^[−-]/.test(found) ? -1 : 1);
}

/** The amount beside a word: in a list of facts or on the line of a table. */
const beside = async ({ page }: Visitor, word: string): Promise<number> => {
  const term = page.locator('main dl.facts dt').getByText(word, { exact: true });
  return pence(await term.locator('xpath=following-sibling::dd[1]').textContent());
};
const onLine = async ({ page }: Visitor, word: string): Promise<number> =>
  pence(
    await page
      .locator('main tr')
      .filter({ has: page.getByText(word, { exact: true }) })
      .locator('.num')
      .last()
      .textContent(),
  );

inBrowser('fees', (door) => {
  for (const way of THESE_WAYS)
    describe(`the treasurer of the demo: ${way.name}`, () => treasurer(door, way));
  counter(door);
});

/** Five minutes of Maro's: the next price list, last month, one statement, the files; each reads what the others say. */
function treasurer(door: Door, way: Way): void {
  let site: string;
  let last: string;
  beforeAll(async () => {
    const { app, services, clock } = await anApp();
    await seedDemo(services);
    site = await serve(app);
    last = monthAfter(toWallTime(clock.now(), 'Europe/London').slice(0, 7), -1);
  }, 180_000);

  const enter = async (name: (typeof DEMO_PEOPLE)[number]['name']): Promise<Visitor> => {
    const visitor = await door(site, way);
    await visitor.open('/sign-in?next=/fees');
    await visitor.signIn(DEMO_PEOPLE.find((one) => one.name === name) as (typeof DEMO_PEOPLE)[number]);
    await visitor.heading('Fees');
    return visitor;
  };

  test('previews a price list, closes the month, prints a statement, exports; the totals agree', {
    timeout: 120_000,
  }, async () => {
    const maro = await enter('Maro');

    await maro.press('Versions of the price list');
    await maro.press('New price list');
    await maro.fill({ Name: 'Prices of summer' });
    await maro.press('Make a draft');
    await maro.sees('A new draft.');
    await maro.press('Firings');
    await maro.page.locator('[name=rate2]').fill('2.20');
    await maro.press('Save the firings');
    await maro.sees('Saved.', '£2.20 a litre');
    await maro.press(/^Preview on last month/);
    await maro.sees('Together', /▲ £[\d.]+ more/);
    const [before = 0, after = 0] = (
      (await maro.page.locator('.price-total').textContent())?.match(/£[\d,.]+\d/g) ?? []
    ).map(pence);
    expect(before).toBeGreaterThan(0);
    expect(after).toBeGreaterThan(before);
    await maro.press('Put in force');
    await maro.page.getByText('I have looked at the list and at its days.').click();
    await maro.press('Put it in force');
    await maro.sees('In force. From now on it stays as it is.');

    // What waits for a yes belongs to a month too.
    await maro.open('/fees');
    await maro.press('Requests');
    await maro.press(/^A ruined kiln shelf/);
    await maro.pick('Yes');
    await maro.press('Answer');
    await maro.sees('Answered. Whoever asked was told.');
    await maro.press('Fees');
    await maro.press('Months and statements');
    await maro.press('Look it over and close it');
    await maro.heading(monthWords(last));
    await maro.sees('✓ Every load that was emptied is charged.', '✓ No request waits.');
    await maro.press(`Close ${monthWords(last)}`);
    await maro.sees('Closed. Its payers were told that their statement is ready.');
    const month = {
      opening: await beside(maro, 'Owed when it began'),
      charged: await beside(maro, 'Charged'),
      credited: await beside(maro, 'Credited'),
      paid: await beside(maro, 'Paid'),
      closing: await beside(maro, 'Owed at its end'),
    };
    const moved = month.charged + month.credited + month.paid;
    expect(month.opening + moved).toBe(month.closing);
    // What was previewed is what the firings of this month were charged.
    await maro.page.locator('summary').getByText('By account').click();
    expect(Math.abs(await beside(maro, 'Income: firing'))).toBeLessThanOrEqual(before);

    await maro.press(/^All \d+ statements/);
    await maro.heading(/^All statements/);
    const sheets = await maro.page.locator('article.statement').all();
    expect(sheets.length).toBeGreaterThan(7);
    const sums = { opening: 0, closing: 0 };
    for (const sheet of sheets) {
      sums.opening += pence(await sheet.locator('.statement-line').first().textContent());
      sums.closing += pence(await sheet.locator('.statement-totals .whole').textContent());
    }
    expect(sums).toEqual({ opening: month.opening, closing: month.closing });

    await maro.open('/fees/accounts?words=Ida');
    await maro.press('Ida', maro.page.locator('main'));
    await maro.press('Statements');
    await maro.press(monthWords(last));
    await maro.heading(/^Statement for /);
    await maro.page.emulateMedia({ media: 'print' });
    // A4 upright without 15 mm on either side, at 96 px an inch.
    await maro.page.setViewportSize({ width: 680, height: 1000 });
    expect(await maro.control('Print').isVisible(), 'buttons on paper').toBe(false);
    for (const words of [
      'Balance when it began',
      'Firing',
      'Other charges',
      'Credits',
      'Payments',
      'Balance',
    ])
      expect(await maro.page.locator('.statement').getByText(words).first().isVisible(), words).toBe(true);
    await maro.sees(
      /bisque, cone 06|glaze, cone 6/,
      'Membership',
      /ruined or lost here/,
      'Payment, bank transfer',
    );
    expect(await maro.page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(680);
    await maro.page.emulateMedia({ media: 'screen' });
    await maro.page.setViewportSize(way);

    await maro.open('/fees/export');
    await maro.press('Last month');
    await maro.choose('Which entries', 'in the books of these months');
    await maro.press('Show these');
    await maro.sees(/^Yes: the three totals are the same/);
    for (const total of ['Fees, entry by entry', 'Summary by member', 'Ledger'])
      expect(await onLine(maro, total), total).toBe(moved);
    const href = await maro.page.locator('a[download]').first().getAttribute('href');
    const file = await maro.page.request.get(href ?? '');
    expect(file.headers()['content-type']).toContain('text/csv');
    expect((await file.text()).split('\r\n').length).toBeGreaterThan(20);
  });

  test('and Ida sees what each piece cost and why', async () => {
    const ida = await enter('Ida');
    await ida.sees(/^You owe £/, /^(Cup|Bowl), piece \d+: glaze, cone 6$/);
    await ida.press('Everything on this account', ida.page.locator('main'));
    const piece = ida.page
      .locator('.entries li')
      .filter({ hasText: /bisque, cone 06/ })
      .first();
    await piece.locator('summary').click();
    await piece
      .getByText(/^[\d.]+ L × £1\.20/)
      .first()
      .waitFor();
    await ida.sees(/credit, ruined or lost here$/);
  });
}

/** Somebody hands ware in, pays for it at the counter, and gets back what the studio spoilt. */
function counter(door: Door): void {
  let studio: Studio;
  let site: string;
  let clay: string;
  beforeAll(async () => {
    studio = await aStudio();
    site = await serve(studio.app);
    clay = await aClay(studio);
    await aPriceList(studio, {
      lines: [
        line(
          { by: 'volume', minorPer: '120', unit: 'litre' },
          { code: 'B', name: 'Bisque', kinds: ['bisque'] },
        ),
        line({ by: 'volume', minorPer: '190', unit: 'litre' }, { code: 'G', name: 'Glaze' }),
      ],
    });
  });

  test.for(THESE_WAYS)(
    'from the price that is said to the money that comes back: $name',
    {
      timeout: 120_000,
    },
    async (way) => {
      const { technician, manager } = studio.people;
      const quill = await studio.aPerson('member', `Quill ${way.name}`);
      const member = await door(site, way, quill);

      // 125 × 85 × 100 mm: 1.0625 L. Bisque 120 × 1.0625 = 127.5 → 128, glaze 190 × 1.0625 = 201.875 → 202.
      await member.open('/ware/new?form=cup');
      await member.fill({ 'How many of the same': '2', Cone: '6' });
      await member.field('Clay').selectOption(clay);
      await member.press('See the price');
      await member.sees(/£6\.60 for all 2: £3\.30 each/);
      await member.press('Register');
      await member.sees(/registered\. Cut each number/);
      const numbers = (await member.page.locator('.number').allTextContents()).map((text) =>
        Number(text.replace('Piece ', '')),
      );
      const [first = 0, second = 0] = numbers;
      await member.open(`/ware/${first}`);
      await member.sees(/^Firing it costs about £3\.30/);

      await studio.as(quill, (act) => movePieces(act, 'drying', numbers, {}));
      await studio.as(technician, (act) => movePieces(act, 'dry', numbers, {}));
      const { number } = await aLoadedKiln(studio, { kind: 'bisque', clay, howMany: 1 });
      await emptied(studio, number, [{ piece: second, outcome: 'crack' }]);
      await member.open('/fees');
      await member.sees('You owe £2.56', `Cup, piece ${first}: bisque, cone 06`);
      const entry = member.page.locator('.entries li').filter({ hasText: `piece ${first}:` });
      await entry.locator('summary').click();
      await entry
        .getByText(/1\.06.* litres? .*1\.20|£1\.20/)
        .first()
        .waitFor();
      await member.open(`/ware/${first}`);
      await member.sees(/^It has cost £1\.28 so far; said before: about £3\.30/);

      // Cracked, since the studio fired too fast: the technician says so at the load.
      const wren = await door(site, way, technician);
      await wren.open(`/kilns/loads/${number}`);
      await wren.press(/^What it cost/);
      await wren.heading(`What load ${number} cost`);
      await wren.press(new RegExp(`^The studio's doing\\? Piece ${second}$`));
      await wren.page.getByText("The studio's doing: credit it").click();
      await wren.press(/^Write it down/);
      await wren.page.waitForURL(/did=corrected/);
      await wren.open(`/fees/loads/${number}`);
      await wren.sees("The studio's doing.", 'credited £1.28');
      await member.open('/fees');
      await member.sees('You owe £1.28', `Cup, piece ${second}: credit, ruined or lost here`);

      // At the counter: more than is owed, then two credits, of which one is too large for a technician.
      await wren.open('/fees');
      await wren.fill({ 'Whose account': quill.name });
      await wren.press('Find');
      await wren.press(quill.name, wren.page.locator('main'));
      await wren.sees('Owes £1.28');
      await wren.press('Take a payment');
      await wren.fill({ Amount: '2' });
      await wren.pick('Cash');
      await wren.press('Record this payment');
      await wren.sees('Payment recorded.', '£0.72 in credit');
      await wren.press('Credit');
      await wren.fill({ Amount: '1.50', Why: 'It waited too long.' });
      await wren.press(/^Credit this/);
      await wren.sees('Credited.', '£2.22 in credit');
      await wren.press('Credit');
      await wren.fill({ Amount: '40', Why: 'The kiln was out for a month.' });
      await wren.press(/^Credit this/);
      await wren.sees('It waits for the manager’s yes. You will be told.', '£2.22 in credit');

      const maro = await door(site, way, manager);
      await maro.open('/fees/requests');
      await maro.press('Credit £40.00', maro.page.locator('tr').filter({ hasText: quill.name }));
      await maro.sees('The kiln was out for a month.');
      await maro.pick('Yes');
      await maro.press('Answer');
      await maro.sees('Answered. Whoever asked was told.');
      await member.open('/fees');
      await member.sees('You have £42.22 in credit');
    },
  );
}
