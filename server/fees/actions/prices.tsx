import { z } from 'zod';
import { PreviewPage } from '../../../views/fees/price-preview.tsx';
import { AllPricesPage, InForcePage, NewPricesPage, PricesPage } from '../../../views/fees/prices.tsx';
import { Invalid, NotFound } from '../../core/errors.ts';
import { flag, text } from '../../core/forms.ts';
import { type Answer, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { toWallTime } from '../../core/wall-time.ts';
import { monthsToPreview, previewTariff } from '../service/preview.ts';
import { feeSettings } from '../service/settings.ts';
import {
  beginTariff,
  dayFaults,
  draftFingerprint,
  dropTariff,
  findTariff,
  listTariffs,
  putInForce,
  type Start,
  tariffOn,
} from '../service/tariffs.ts';
import { listNumber } from './price-edit.tsx';
import { feeReader, seenIn, sentBack } from './reader.ts';

const today = (visit: Visit) => toWallTime(visit.now, visit.studio.timeZone).slice(0, 10);

export async function showPrices(visit: Visit): Promise<Answer> {
  const [list, { classes }] = await Promise.all([
    tariffOn(visit.read, today(visit)),
    feeSettings(visit.read),
  ]);
  return page(
    'Price list',
    'fees',
    <PricesPage
      list={list}
      isCurrent
      studio={visit.studio.name}
      usualClass={classes[0] ?? null}
      done={null}
      reader={feeReader(visit)}
    />,
  );
}

const DONE = { saved: 'Saved.', 'in-force': 'In force. From now on it stays as it is.', new: 'A new draft.' };

export async function showPriceList(visit: Visit): Promise<Answer> {
  const [list, current, { classes }] = await Promise.all([
    findTariff(visit.read, listNumber(visit)),
    tariffOn(visit.read, today(visit)),
    feeSettings(visit.read),
  ]);
  return page(
    list.name,
    'fees',
    <PricesPage
      list={list}
      isCurrent={current?.number === list.number}
      studio={visit.studio.name}
      usualClass={classes[0] ?? null}
      done={visit.done(DONE)}
      reader={feeReader(visit)}
    />,
  );
}

export async function showAllPrices(visit: Visit): Promise<Answer> {
  return page(
    'All price lists',
    'fees',
    <AllPricesPage
      lists={await listTariffs(visit.read)}
      done={visit.done({ dropped: 'The draft is gone.' })}
      reader={feeReader(visit)}
    />,
  );
}

const newForm = z.object({ name: text(80), start: text(10) });
const STARTS: readonly string[] = ['volume', 'size', 'cost'] satisfies Start[];

export async function showNewPrices(visit: Visit, form?: FormState): Promise<Answer> {
  const lists = (await listTariffs(visit.read)).slice(0, 20);
  return page(
    'New price list',
    'fees',
    <NewPricesPage
      lists={lists}
      from={String(visit.query.from ?? '')}
      form={form}
      reader={feeReader(visit)}
    />,
  );
}

export const beginPrices = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showNewPrices(visit, form),
    async () => {
      const { name, start } = visit.form(newForm);
      const number = await visit.act((act) => beginTariff(act, name, startOf(start)));
      return go(`/fees/prices/${number}?done=new`);
    },
  );

function startOf(typed: string): Start {
  if (STARTS.includes(typed)) return typed as Start;
  if (/^[1-9]\d{0,8}$/.test(typed)) return Number(typed);
  throw new Invalid([{ path: 'start', message: 'One of the starts.' }]);
}

export const dropPrices = async (visit: Visit): Promise<Answer> => {
  await visit.act((act) => dropTariff(act, listNumber(visit)));
  return go('/fees/prices/all?done=dropped');
};

export const backToPrices = async (visit: Visit): Promise<Answer> => go(`/fees/prices/${listNumber(visit)}`);

const PERIOD = /^20\d{2}-(0[1-9]|1[0-2])$/;
const PAGE = 50;

export async function showPreview(visit: Visit): Promise<Answer> {
  const { month, page: asked } = visit.query;
  const [list, months] = await Promise.all([
    findTariff(visit.read, listNumber(visit)),
    monthsToPreview(visit.read),
  ]);
  const lastMonth = months.find((one) => one < today(visit).slice(0, 7)) ?? months[0] ?? null;
  if (month !== undefined && !PERIOD.test(String(month))) throw new NotFound('There is no such month.');
  const period = month === undefined ? lastMonth : String(month);
  const result = period === null ? null : await previewTariff(visit.read, list.number, period);
  const pages = Math.max(1, Math.ceil((result?.rows.length ?? 0) / PAGE));
  const at = Math.min(pages, /^[1-9]\d{0,4}$/.test(String(asked)) ? Number(asked) : 1);
  return page(
    `Preview of ${list.name}`,
    'fees',
    <PreviewPage
      list={list}
      period={period}
      months={months}
      result={result}
      rows={result?.rows.slice((at - 1) * PAGE, at * PAGE) ?? []}
      pages={{ at, count: pages }}
      reader={feeReader(visit)}
    />,
  );
}

const sureForm = z.object({ sure: flag().refine((ticked) => ticked, 'Tick this first.') });

export async function showInForce(visit: Visit, form?: FormState): Promise<Answer> {
  const list = await findTariff(visit.read, listNumber(visit));
  if (list.isInForce) return go(`/fees/prices/${list.number}`);
  const { classes } = await feeSettings(visit.read);
  return page(
    `Put ${list.name} in force`,
    'fees',
    <InForcePage
      list={list}
      seen={seenIn(form, draftFingerprint(list, classes))}
      current={await tariffOn(visit.read, today(visit))}
      faults={await dayFaults(visit.read, list)}
      form={form}
      reader={feeReader(visit)}
    />,
  );
}

export const saveInForce = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showInForce(visit, form),
    async () => {
      const number = listNumber(visit);
      visit.form(sureForm);
      try {
        await visit.act((act) => putInForce(act, number, sentBack(visit.typed)));
      } catch (error) {
        // Its fields are on another page.
        if (error instanceof Invalid) throw new Invalid(error.errors.map(({ message }) => message).join(' '));
        throw error;
      }
      return go(`/fees/prices/${number}?done=in-force`);
    },
  );
