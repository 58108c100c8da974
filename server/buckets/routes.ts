import { get, post, type Route } from '../core/routes.ts';
import { showAdd } from './actions/add.tsx';
import { showBucketPage } from './actions/bucket.tsx';
import { showCalculator } from './actions/calculator.tsx';
import { recordCheck, showCheck } from './actions/check.tsx';
import { recordDip, showDip } from './actions/dip.tsx';
import { showDrawOff } from './actions/draw-off.tsx';
import { showLedger } from './actions/ledger.tsx';
import { showLevel } from './actions/level.tsx';
import { reportProblem, showProblem } from './actions/problem.tsx';
import { recording, tap } from './actions/record.tsx';
import { changeService, showService } from './actions/service.tsx';
import { showSieve } from './actions/sieve.tsx';
import { showTag } from './actions/tag.tsx';
import { showStrikeOut, strikeOut } from './actions/void.tsx';
import { showFirst, showWall } from './actions/wall.tsx';
import { technicianRoutes } from './routes-technician.ts';

export const bucketRoutes: Route[] = [
  get('/', 'buckets.see', showFirst),
  get('/wall', 'buckets.see', showWall),
  get('/calculator', 'buckets.see', showCalculator),

  get('/buckets/:code', 'buckets.see', showBucketPage),
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

  get('/buckets/:code/problem', 'buckets.see', (visit) => showProblem(visit)),
  post('/buckets/:code/problem', 'buckets.record', reportProblem),
  ...tap('notes', showProblem),
  get('/buckets/:code/tag', 'buckets.see', (visit) => showTag(visit)),
  ...tap('tags', showTag),

  get('/buckets/:code/ledger', 'buckets.see', showLedger),
  get('/buckets/:code/events/:number/void', 'buckets.see', (visit) => showStrikeOut(visit)),
  post('/buckets/:code/events/:number/void', 'buckets.void-own', strikeOut),

  get('/buckets/:code/service', 'buckets.see', (visit) => showService(visit)),
  post('/buckets/:code/service', 'buckets.stop-use', changeService),
  get('/buckets/:code/draw-off', 'buckets.take-out', (visit) => showDrawOff(visit)),
  post('/buckets/:code/draw-off', 'buckets.take-out', recording('draw-offs', showDrawOff)),
  get('/buckets/:code/sieve', 'buckets.sieve', (visit) => showSieve(visit)),
  post('/buckets/:code/sieve', 'buckets.sieve', recording('sievings', showSieve)),

  ...technicianRoutes,
];
