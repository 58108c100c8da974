export * from './recipes.ts';
export * from './register.ts';
export * from './stock.ts';
export {
  examineStock,
  fillLotTrace,
  findStockRow,
  type LotBatch,
  type LotBucket,
  type LotNow,
  listStock,
  lotsOf,
  lotTrace,
  type StockNow,
  type StockPage,
  type StockRow,
  showStock,
  stockDue,
} from './stock-read.ts';
