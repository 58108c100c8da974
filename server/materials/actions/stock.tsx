import { z } from 'zod';
import { MaterialStockPage, StockPageView, StockVoidPage } from '../../../views/materials/stock.tsx';
import { StockLotPage } from '../../../views/materials/stock-lot.tsx';
import { questioned } from '../../../views/materials/stock-parts.tsx';
import type { Act } from '../../core/actor.ts';
import type { Typed } from '../../core/forms.ts';
import { numberIn } from '../../core/param.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import {
  countBody,
  countStock,
  deliver,
  deliveryBody,
  disposalBody,
  disposeStock,
  findStockRow,
  liftRecall,
  listStock,
  lotTrace,
  recallBody,
  recallLot,
  reorderBody,
  setReorderLevel,
  showStock,
  stockVoidBody,
  takeStock,
  useBody,
  voidStock,
} from '../service/index.ts';
import { materialIn, stockReader } from './stock-reader.ts';

const ROWS = 50;

export async function showAllStock(visit: Visit): Promise<Answer> {
  const stock = await listStock(visit.read);
  return page('Stock', 'safety', <StockPageView stock={stock} reader={stockReader(visit)} />);
}

function rowsAsked({ query: { before } }: Visit): { limit: number; before: number | null } {
  return {
    limit: ROWS,
    before: typeof before === 'string' && /^\d{1,9}$/.test(before) ? Number(before) : null,
  };
}

export async function showMaterialStock(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const from = rowsAsked(visit);
  const stock = await showStock(visit.read, materialIn(visit), from);
  return page(
    `Stock of ${stock.name}`,
    'safety',
    <MaterialStockPage
      stock={stock}
      isNewest={from.before === null}
      did={typeof visit.query.did === 'string' ? visit.query.did : null}
      form={form}
      reader={stockReader(visit)}
    />,
  );
}

const lotNumber = (visit: Visit): number => numberIn(visit, 'number', 'There is no such lot.');

export async function showLot(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const from = rowsAsked(visit);
  const { stock, lot, batches } = await lotTrace(visit.read, materialIn(visit), lotNumber(visit), from);
  return page(
    `Lot ${lot.lot} of ${stock.name}`,
    'safety',
    <StockLotPage
      stock={stock}
      lot={lot}
      batches={batches}
      isNewest={from.before === null}
      did={typeof visit.query.did === 'string' ? visit.query.did : null}
      form={form}
      reader={stockReader(visit)}
    />,
  );
}

const is = <const W extends string>(what: W) => ({ what: z.literal(what) });

/** What a form about stock does, by its hidden `what`. */
const stockForm = z.discriminatedUnion('what', [
  deliveryBody.extend(is('delivery')),
  useBody.extend(is('use')),
  countBody.extend(is('count')),
  disposalBody.extend(is('disposal')),
  recallBody.extend(is('recall')),
  recallBody.extend(is('recall-lifted')),
  reorderBody.extend(is('reorder')),
]);

async function carryOut(act: Act, id: number, command: z.output<typeof stockForm>): Promise<void> {
  switch (command.what) {
    case 'delivery':
      await deliver(act, id, command);
      return;
    case 'use':
      await takeStock(act, id, command);
      return;
    case 'count':
      await countStock(act, id, command);
      return;
    case 'disposal':
      await disposeStock(act, id, command);
      return;
    case 'recall':
      await recallLot(act, id, command);
      return;
    case 'recall-lifted':
      await liftRecall(act, id, command);
      return;
    case 'reorder':
      await setReorderLevel(act, id, command);
  }
}

/** A yes counts for the figures that were asked about. */
function answered(typed: Typed): Typed {
  const { confirm, ...rest } = typed;
  return confirm !== undefined && confirm === questioned(rest) ? { ...rest, confirm: 'yes' } : rest;
}

const recording =
  (show: (visit: Visit, form: FormState) => Promise<Answer>, back: (visit: Visit) => string) =>
  (visit: Visit): Promise<Answer> =>
    visit.submit(
      (form) => show(visit, form),
      async () => {
        const command = visit.form(stockForm, answered(visit.typed));
        await visit.act((act) => carryOut(act, materialIn(visit), command));
        return go(`${back(visit)}?did=${command.what}`);
      },
    );

export const recordStock = recording(showMaterialStock, (visit) => `/materials/${materialIn(visit)}/stock`);

export const recordLot = recording(
  showLot,
  (visit) => `/materials/${materialIn(visit)}/lots/${lotNumber(visit)}`,
);

const rowNumber = (visit: Visit): number => numberIn(visit, 'number', 'There is no row with this number.');

export async function showStockVoid(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const id = materialIn(visit);
  const number = rowNumber(visit);
  const [stock, row] = await Promise.all([
    showStock(visit.read, id, { limit: 1, before: null }),
    findStockRow(visit.read, id, number),
  ]);
  return page(
    'Strike out',
    'safety',
    <StockVoidPage stock={stock} row={row} form={form} reader={stockReader(visit)} />,
  );
}

export const strikeStockOut = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showStockVoid(visit, form),
    async () => {
      const command = visit.form(stockVoidBody);
      await visit.act((act) => voidStock(act, materialIn(visit), rowNumber(visit), command));
      return go(`/materials/${materialIn(visit)}/stock?did=void`);
    },
  );
