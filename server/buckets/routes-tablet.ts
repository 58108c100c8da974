import { get, post, type Route } from '../core/routes.ts';
import { CHECK, DIP, PROBLEM, recordVerb, showVerb, type Verb, WATER } from './actions/tablet-acts.tsx';
import { showTabletBucket } from './actions/tablet-bucket.tsx';
import { changeUse, keepNote, showNote, showTakeBack, showUse, takeBack } from './actions/tablet-pin.tsx';
import { enterByCard, showTabletWall } from './actions/tablet-wall.tsx';

const verb = (path: string, of: Verb): Route[] => [
  get(`/tablet/buckets/:code/${path}`, 'tablet.act', (visit) => showVerb(visit, of)),
  post(`/tablet/buckets/:code/${path}`, 'tablet.act', (visit) => recordVerb(visit, of)),
];

/** All that a paired tablet opens while nobody is signed in on it. */
export const tabletRoutes: Route[] = [
  get('/tablet', 'tablet.see', showTabletWall),
  get('/card/:secret', 'tablet.see', enterByCard),
  get('/tablet/buckets/:code', 'tablet.see', showTabletBucket),

  ...verb('dip', DIP),
  ...verb('check', CHECK),
  ...verb('water', WATER),
  ...verb('problem', PROBLEM),

  get('/tablet/buckets/:code/take-back/:number', 'tablet.pin', (visit) => showTakeBack(visit)),
  post('/tablet/buckets/:code/take-back/:number', 'tablet.pin', takeBack),
  get('/tablet/buckets/:code/note', 'tablet.pin', (visit) => showNote(visit)),
  post('/tablet/buckets/:code/note', 'tablet.pin', keepNote),
  get('/tablet/buckets/:code/use', 'tablet.pin', (visit) => showUse(visit)),
  post('/tablet/buckets/:code/use', 'tablet.pin', changeUse),
];
