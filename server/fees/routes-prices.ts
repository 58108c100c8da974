import { get, post, type Route } from '../core/routes.ts';
import { backToDues, saveCharge, saveEnd, savePutDown, showDues } from './actions/dues.tsx';
import { saveFeeSettings, showFeeSettings } from './actions/fee-settings.tsx';
import {
  saveFactors,
  saveItems,
  saveLines,
  saveRules,
  showFactors,
  showItems,
  showLines,
  showRules,
} from './actions/price-edit.tsx';
import {
  backToPrices,
  beginPrices,
  dropPrices,
  saveInForce,
  showAllPrices,
  showInForce,
  showNewPrices,
  showPreview,
  showPriceList,
  showPrices,
} from './actions/prices.tsx';

export const priceRoutes: Route[] = [
  get('/fees/prices', 'fees.own', showPrices),
  get('/fees/prices/all', 'fees.own', showAllPrices),
  get('/fees/prices/new', 'tariffs.edit', (visit) => showNewPrices(visit)),
  post('/fees/prices/new', 'tariffs.edit', beginPrices),
  get('/fees/prices/:number', 'fees.own', showPriceList),
  get('/fees/prices/:number/edit', 'tariffs.edit', (visit) => showRules(visit)),
  post('/fees/prices/:number/edit', 'tariffs.edit', saveRules),
  get('/fees/prices/:number/edit/lines', 'tariffs.edit', (visit) => showLines(visit)),
  post('/fees/prices/:number/edit/lines', 'tariffs.edit', saveLines),
  get('/fees/prices/:number/edit/factors', 'tariffs.edit', (visit) => showFactors(visit)),
  post('/fees/prices/:number/edit/factors', 'tariffs.edit', saveFactors),
  get('/fees/prices/:number/edit/items', 'tariffs.edit', (visit) => showItems(visit)),
  post('/fees/prices/:number/edit/items', 'tariffs.edit', saveItems),
  get('/fees/prices/:number/drop', 'tariffs.edit', backToPrices),
  post('/fees/prices/:number/drop', 'tariffs.edit', dropPrices),
  get('/fees/prices/:number/preview', 'tariffs.edit', showPreview),
  get('/fees/prices/:number/in-force', 'tariffs.edit', (visit) => showInForce(visit)),
  post('/fees/prices/:number/in-force', 'tariffs.edit', saveInForce),

  get('/fees/settings', 'fees.settings', (visit) => showFeeSettings(visit)),
  post('/fees/settings', 'fees.settings', saveFeeSettings),

  get('/fees/dues', 'fees.see-all', (visit) => showDues(visit)),
  post('/fees/dues', 'fees.charge', savePutDown),
  get('/fees/dues/charge', 'fees.see-all', backToDues),
  post('/fees/dues/charge', 'fees.close', saveCharge),
  get('/fees/dues/:id/end', 'fees.see-all', backToDues),
  post('/fees/dues/:id/end', 'fees.charge', saveEnd),
];
