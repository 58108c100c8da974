import type { Route } from '../core/routes.ts';
import { deskRoutes } from './routes-desk.ts';
import { pieceRoutes } from './routes-pieces.ts';

export const wareRoutes: Route[] = [...pieceRoutes, ...deskRoutes];
