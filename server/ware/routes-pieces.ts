import { get, post, postWithFiles, type Route } from '../core/routes.ts';
import { backToFound, claim, putOnShelf, showFound, showNewFound } from './actions/found.tsx';
import { backToMine, readNews, showMine } from './actions/mine.tsx';
import { moveRoutes } from './actions/moves.tsx';
import { showPiece } from './actions/piece.tsx';
import {
  backToRegister,
  register,
  saveChange,
  showChange,
  showPrice,
  showRegister,
} from './actions/register.tsx';

export const pieceRoutes: Route[] = [
  get('/ware', 'ware.own', showMine),
  get('/ware/messages', 'ware.own', backToMine),
  post('/ware/messages', 'ware.own', readNews),
  get('/ware/new', 'ware.own', (visit) => showRegister(visit)),
  postWithFiles('/ware/new', 'ware.own', register),
  get('/ware/new/price', 'ware.own', backToRegister),
  post('/ware/new/price', 'ware.own', showPrice),

  get('/ware/found', 'ware.own', (visit) => showFound(visit)),
  get('/ware/found/new', 'ware.decide', (visit) => showNewFound(visit)),
  postWithFiles('/ware/found/new', 'ware.decide', putOnShelf),
  get('/ware/:number/claim', 'ware.own', backToFound),
  post('/ware/:number/claim', 'ware.own', claim),

  get('/ware/:number', 'ware.own', (visit) => showPiece(visit)),
  get('/ware/:number/edit', 'ware.own', (visit) => showChange(visit)),
  postWithFiles('/ware/:number/edit', 'ware.own', saveChange),
  ...moveRoutes,
];
