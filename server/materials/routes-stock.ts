import { get, post, type Route } from '../core/routes.ts';
import {
  recordLot,
  recordStock,
  showAllStock,
  showLot,
  showMaterialStock,
  showStockVoid,
  strikeStockOut,
} from './actions/stock.tsx';

export const stockRoutes: Route[] = [
  get('/stock', 'materials.see', showAllStock),
  get('/materials/:id/stock', 'materials.see', (visit) => showMaterialStock(visit)),
  post('/materials/:id/stock', 'stock.edit', recordStock),
  get('/materials/:id/stock/:number/void', 'stock.edit', (visit) => showStockVoid(visit)),
  post('/materials/:id/stock/:number/void', 'stock.edit', strikeStockOut),
  get('/materials/:id/lots/:number', 'materials.see', (visit) => showLot(visit)),
  post('/materials/:id/lots/:number', 'stock.edit', recordLot),
];
