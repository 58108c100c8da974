import { get, post, postWithFiles, type Route } from '../core/routes.ts';
import {
  approveLoad,
  cancelLoad,
  changeSchedule,
  dragPiece,
  leavePieceOut,
  movePieceTo,
  pinPiece,
  putPieceIn,
  repackLoad,
  takePieceOut,
  unpinFromLoad,
  unpinPiece,
} from './actions/load-change.tsx';
import { proposeLoad, showLoads } from './actions/load-list.tsx';
import { finishLoad, showLoading, takeTickBack, tickLevel } from './actions/load-loading.tsx';
import { backTo, backToPiece } from './actions/load-reader.ts';
import { showLoadPage, showLoadPiece, showLoadSheet } from './actions/load-show.tsx';

const ON_LOAD = ['approve', 'cancel', 'repack', 'schedule', 'move', 'unpin'];
const ON_PIECE = ['move', 'put-in', 'take-out', 'leave-out', 'pin', 'unpin'];
const ON_LOADING = ['reopen', 'finish'];

export const loadRoutes: Route[] = [
  get('/kilns/loads', 'loads.see', (visit) => showLoads(visit)),
  post('/kilns/loads', 'loads.plan', proposeLoad),

  get('/kilns/loads/:number', 'loads.see', (visit) => showLoadPage(visit)),
  get('/kilns/loads/:number/sheet', 'loads.see', showLoadSheet),
  post('/kilns/loads/:number/approve', 'loads.plan', approveLoad),
  post('/kilns/loads/:number/cancel', 'loads.plan', cancelLoad),
  post('/kilns/loads/:number/repack', 'loads.plan', repackLoad),
  post('/kilns/loads/:number/schedule', 'loads.plan', changeSchedule),
  post('/kilns/loads/:number/move', 'loads.plan', dragPiece),
  post('/kilns/loads/:number/unpin', 'loads.plan', unpinFromLoad),

  get('/kilns/loads/:number/pieces/:piece', 'loads.plan', (visit) => showLoadPiece(visit)),
  post('/kilns/loads/:number/pieces/:piece/move', 'loads.plan', movePieceTo),
  post('/kilns/loads/:number/pieces/:piece/put-in', 'loads.plan', putPieceIn),
  post('/kilns/loads/:number/pieces/:piece/take-out', 'loads.plan', takePieceOut),
  post('/kilns/loads/:number/pieces/:piece/leave-out', 'loads.plan', leavePieceOut),
  post('/kilns/loads/:number/pieces/:piece/pin', 'loads.plan', pinPiece),
  post('/kilns/loads/:number/pieces/:piece/unpin', 'loads.plan', unpinPiece),

  get('/kilns/loads/:number/load', 'loads.load', (visit) => showLoading(visit)),
  postWithFiles('/kilns/loads/:number/load', 'loads.load', tickLevel),
  post('/kilns/loads/:number/load/reopen', 'loads.load', takeTickBack),
  post('/kilns/loads/:number/load/finish', 'loads.load', finishLoad),

  ...ON_LOAD.map((act) => get(`/kilns/loads/:number/${act}`, 'loads.plan', backTo())),
  ...ON_PIECE.map((act) => get(`/kilns/loads/:number/pieces/:piece/${act}`, 'loads.plan', backToPiece)),
  ...ON_LOADING.map((act) => get(`/kilns/loads/:number/load/${act}`, 'loads.load', backTo('/load'))),
];
