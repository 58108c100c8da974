import { get, post, type Route } from '../core/routes.ts';
import { showAdd } from './actions/add.tsx';
import { showAdditive } from './actions/additive.tsx';
import { showBucketPage } from './actions/bucket.tsx';
import { showCalculator } from './actions/calculator.tsx';
import { recordCheck, showCheck } from './actions/check.tsx';
import { recordDip, showDip } from './actions/dip.tsx';
import { showDrawOff } from './actions/draw-off.tsx';
import { showFlow } from './actions/flow.tsx';
import { showAllHistory } from './actions/history.tsx';
import { showLedger } from './actions/ledger.tsx';
import { showLevel } from './actions/level.tsx';
import { showLots } from './actions/lots.tsx';
import { reportProblem, showProblem } from './actions/problem.tsx';
import { recording, tap } from './actions/record.tsx';
import { changeService, showService } from './actions/service.tsx';
import { adoptInterval, recordSettling, showSettlingPage } from './actions/settling.tsx';
import { showSieve } from './actions/sieve.tsx';
import { showTag } from './actions/tag.tsx';
import { showTiles } from './actions/tiles.tsx';
import { showStrikeOut, strikeOut } from './actions/void.tsx';
import { showWaiting } from './actions/waiting.tsx';
import { showFirst, showWall } from './actions/wall.tsx';
import { tabletRoutes } from './routes-tablet.ts';
import { technicianRoutes } from './routes-technician.ts';

export const bucketRoutes: Route[] = [
  get('/', 'buckets.see', showFirst, { atTablet: '/tablet' }),
  get('/wall', 'buckets.see', showWall, { atTablet: '/tablet' }),
  get('/waiting', 'buckets.see', showWaiting),
  get('/calculator', 'buckets.see', showCalculator),
  get('/history', 'buckets.see', showAllHistory),

  get('/buckets/:code', 'buckets.see', showBucketPage, { atTablet: '/tablet/buckets/:code' }),
  ...tap('stirs'),
  ...tap('dippings'),
  ...tap('top-ups'),
  ...tap('draw-offs'),
  ...tap('levels'),

  get('/buckets/:code/check', 'buckets.see', (visit) => showCheck(visit)),
  post('/buckets/:code/check', 'buckets.record', recordCheck),
  get('/buckets/:code/add', 'buckets.see', (visit) => showAdd(visit)),
  post('/buckets/:code/add', 'buckets.record', recording('top-ups', showAdd)),
  get('/buckets/:code/dip', 'buckets.see', (visit) => showDip(visit)),
  post('/buckets/:code/dip', 'buckets.record', recordDip),
  get('/buckets/:code/level', 'buckets.see', (visit) => showLevel(visit)),
  post('/buckets/:code/level', 'buckets.record', recording('levels', showLevel)),
  get('/buckets/:code/flow', 'buckets.see', (visit) => showFlow(visit)),
  post('/buckets/:code/flow', 'buckets.record', recording('flows', showFlow)),
  get('/buckets/:code/settling', 'buckets.see', (visit) => showSettlingPage(visit)),
  post('/buckets/:code/settling', 'buckets.record', recordSettling),
  get('/buckets/:code/additive', 'buckets.add-other', (visit) => showAdditive(visit)),
  post('/buckets/:code/additive', 'buckets.add-other', recording('additives', showAdditive)),

  get('/buckets/:code/problem', 'buckets.see', (visit) => showProblem(visit)),
  post('/buckets/:code/problem', 'buckets.record', reportProblem),
  ...tap('notes', showProblem),
  get('/buckets/:code/tag', 'buckets.see', (visit) => showTag(visit)),
  ...tap('tags', showTag),

  get('/buckets/:code/tiles', 'buckets.see', (visit) => showTiles(visit)),
  get('/buckets/:code/ledger', 'buckets.see', showLedger),
  get('/buckets/:code/lots', 'buckets.see', showLots),
  get('/buckets/:code/events/:number/void', 'buckets.see', (visit) => showStrikeOut(visit)),
  post('/buckets/:code/events/:number/void', 'buckets.void-own', strikeOut),

  get('/buckets/:code/service', 'buckets.see', (visit) => showService(visit)),
  post('/buckets/:code/service', 'buckets.stop-use', changeService),
  get('/buckets/:code/draw-off', 'buckets.take-out', (visit) => showDrawOff(visit)),
  post('/buckets/:code/draw-off', 'buckets.take-out', recording('draw-offs', showDrawOff)),
  get('/buckets/:code/sieve', 'buckets.sieve', (visit) => showSieve(visit)),
  post('/buckets/:code/sieve', 'buckets.sieve', recording('sievings', showSieve)),

  post('/buckets/:code/settling/adopt', 'buckets.edit', adoptInterval),

  ...technicianRoutes,
  ...tabletRoutes,
];
