import type { Route } from '../core/routes.ts';
import { benchRoutes } from './routes-bench.ts';
import { deskRoutes } from './routes-desk.ts';
import { pieceRoutes } from './routes-pieces.ts';

export const wareRoutes: Route[] = [...benchRoutes, ...pieceRoutes, ...deskRoutes];
