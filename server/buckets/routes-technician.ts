import { get, post, postWithFiles, type Route } from '../core/routes.ts';
import {
  backToSheet,
  countersignBatch,
  giveUpBatch,
  pourIntoBucket,
  showBatchSheet,
  takeLineBack,
  tickLine,
} from './actions/batch.tsx';
import { showBatches } from './actions/batches.tsx';
import { showChart } from './actions/chart.tsx';
import { saveBucket, showEdit } from './actions/edit-bucket.tsx';
import { saveCalibration, showFloat } from './actions/float.tsx';
import { showFloatSheet } from './actions/float-sheet.tsx';
import { saveGear, showGear, showGearKind, takeOutOfUse } from './actions/gear.tsx';
import { downloadHistory } from './actions/history.tsx';
import { showLabel, showLabels } from './actions/label.tsx';
import { planBatchFromForm, showNewBatch } from './actions/new-batch.tsx';
import { makeBucket, showNewBucket } from './actions/new-bucket.tsx';
import { recordTile, showNewTile } from './actions/new-tile.tsx';
import { showRetired } from './actions/retired.tsx';
import { showRound, showRoundDone, showRoundSheet } from './actions/round.tsx';
import { recordRoundCheck, showRoundCheck } from './actions/round-check.tsx';
import { recordRoundEntry, showRoundEntry } from './actions/round-entry.tsx';
import { recordSetUp, showSetUp } from './actions/setup.tsx';
import { acceptByTile, backToTiles, takeTileOff } from './actions/tiles.tsx';

export const technicianRoutes: Route[] = [
  get('/buckets/new', 'buckets.edit', (visit) => showNewBucket(visit)),
  post('/buckets/new', 'buckets.edit', makeBucket),
  get('/buckets/retired', 'buckets.edit', showRetired),
  get('/labels', 'buckets.edit', showLabels),
  get('/buckets/:code/label', 'buckets.edit', showLabel),
  get('/buckets/:code/edit', 'buckets.edit', (visit) => showEdit(visit)),
  post('/buckets/:code/edit', 'buckets.edit', saveBucket),
  get('/buckets/:code/chart', 'buckets.edit', showChart),
  get('/buckets/:code/setup', 'buckets.set-up', (visit) => showSetUp(visit)),
  post('/buckets/:code/setup', 'buckets.set-up', recordSetUp),
  get('/buckets/:code/tiles/new', 'tiles.edit', (visit) => showNewTile(visit)),
  postWithFiles('/buckets/:code/tiles/new', 'tiles.edit', recordTile),
  get('/buckets/:code/tiles/:number/accept', 'tiles.edit', backToTiles),
  post('/buckets/:code/tiles/:number/accept', 'tiles.edit', acceptByTile),
  get('/buckets/:code/tiles/:number/withdraw', 'tiles.edit', backToTiles),
  post('/buckets/:code/tiles/:number/withdraw', 'tiles.edit', takeTileOff),

  get('/batches', 'batches.edit', showBatches),
  get('/batches/new', 'batches.edit', (visit) => showNewBatch(visit)),
  post('/batches/new', 'batches.edit', planBatchFromForm),
  get('/batches/:number', 'batches.edit', (visit) => showBatchSheet(visit)),
  ...(
    [
      ['weigh', tickLine],
      ['take-back', takeLineBack],
      ['countersign', countersignBatch],
      ['use', pourIntoBucket],
      ['abandon', giveUpBatch],
    ] as const
  ).flatMap(([step, action]) => [
    get(`/batches/:number/${step}`, 'batches.edit', backToSheet),
    post(`/batches/:number/${step}`, 'batches.edit', action),
  ]),

  get('/gear', 'gear.edit', showGear),
  get('/gear/:kind', 'gear.edit', (visit) => showGearKind(visit)),
  post('/gear/:kind', 'gear.edit', saveGear),
  post('/gear/:kind/:code/retire', 'gear.edit', takeOutOfUse),
  get('/gear/floats/:code', 'gear.edit', (visit) => showFloat(visit)),
  post('/gear/floats/:code', 'gear.edit', saveCalibration),
  get('/gear/floats/:code/sheet', 'buckets.see', showFloatSheet),

  get('/round', 'buckets.round', showRound),
  get('/round/check', 'buckets.round', (visit) => showRoundCheck(visit)),
  post('/round/check', 'buckets.round', recordRoundCheck),
  get('/round/done', 'buckets.round', showRoundDone),
  get('/round/sheet', 'buckets.round', showRoundSheet),
  get('/round/entry', 'buckets.round', (visit) => showRoundEntry(visit)),
  post('/round/entry', 'buckets.round', recordRoundEntry),
  get('/history.csv', 'buckets.export', downloadHistory),
];
