import { get, post, type Route } from '../core/routes.ts';
import { showPoster } from './actions/bench-poster.tsx';
import { saveTest, showBisque, showStrikeTest, strikeTest } from './actions/bisque.tsx';
import { saveTile, showCoat, showNewTile, showStrikeTile, takeTileOut } from './actions/coat.tsx';
import { showGlazing } from './actions/glazing.tsx';
import { showRacks } from './actions/racks.tsx';
import { addRun, backToRuns, showRuns, takeRunAway } from './actions/runs.tsx';

export const benchRoutes: Route[] = [
  get('/bench', 'ware.own', showRacks),
  get('/bench/poster', 'ware.own', showPoster),
  get('/bench/coat', 'ware.own', showCoat),
  get('/bench/tiles/new', 'ware.decide', (visit) => showNewTile(visit)),
  post('/bench/tiles/new', 'ware.decide', saveTile),
  get('/bench/tiles/:id/strike', 'ware.decide', (visit) => showStrikeTile(visit)),
  post('/bench/tiles/:id/strike', 'ware.decide', takeTileOut),

  get('/clays/:id/bisque', 'ware.own', (visit) => showBisque(visit)),
  post('/clays/:id/bisque', 'ware.decide', saveTest),
  get('/clays/:id/bisque/:test/strike', 'ware.decide', (visit) => showStrikeTest(visit)),
  post('/clays/:id/bisque/:test/strike', 'ware.decide', strikeTest),

  get('/ware/runs', 'ware.own', (visit) => showRuns(visit)),
  post('/ware/runs', 'ware.edit', addRun),
  get('/ware/runs/remove', 'ware.edit', backToRuns),
  post('/ware/runs/remove', 'ware.edit', takeRunAway),

  get('/ware/:number/glazing', 'ware.own', (visit) => showGlazing(visit)),
];
