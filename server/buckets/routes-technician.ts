import { get, post, type Route } from '../core/routes.ts';
import { saveBucket, showEdit } from './actions/edit-bucket.tsx';
import { saveCup, showGear, takeOutOfUse } from './actions/gear.tsx';
import { makeBucket, showNewBucket } from './actions/new-bucket.tsx';
import { showRetired } from './actions/retired.tsx';
import { recordSetUp, showSetUp } from './actions/setup.tsx';

export const technicianRoutes: Route[] = [
  get('/buckets/new', 'buckets.edit', (visit) => showNewBucket(visit)),
  post('/buckets/new', 'buckets.edit', makeBucket),
  get('/buckets/retired', 'buckets.edit', showRetired),
  get('/buckets/:code/edit', 'buckets.edit', (visit) => showEdit(visit)),
  post('/buckets/:code/edit', 'buckets.edit', saveBucket),
  get('/buckets/:code/setup', 'buckets.set-up', (visit) => showSetUp(visit)),
  post('/buckets/:code/setup', 'buckets.set-up', recordSetUp),
  get('/gear', 'gear.edit', (visit) => showGear(visit)),
  post('/gear', 'gear.edit', saveCup),
  post('/gear/:code/retire', 'gear.edit', takeOutOfUse),
];
