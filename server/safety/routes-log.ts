import { get, post, postWithFiles, type Route } from '../core/routes.ts';
import { addAllUsual, backToDuties, finishDuty, saveDuty, showDuties, stopDuty } from './actions/duties.tsx';
import { showHub } from './actions/hub.tsx';
import {
  amendEntry,
  bringPhoto,
  closeEntry,
  followEntryUp,
  showAmend,
  showClose,
  showEntry,
  showFollowUp,
} from './actions/log-entry.tsx';
import { downloadLog, showLog, showRegister } from './actions/log-list.tsx';
import { saveEntry, showNewEntry } from './actions/log-new.tsx';

export const logRoutes: Route[] = [
  get('/safety', 'safety.see', showHub),
  get('/safety/log', 'safety.see', showLog),
  get('/safety/log.csv', 'log.keep', downloadLog),
  get('/safety/register', 'log.keep', showRegister),
  get('/safety/log/new', 'log.write', showNewEntry),
  post('/safety/log/new', 'log.write', saveEntry),
  get('/safety/log/:number', 'safety.see', showEntry),
  get('/safety/log/:number/amend', 'log.write', showAmend),
  post('/safety/log/:number/amend', 'log.write', amendEntry),
  get('/safety/log/:number/follow-up', 'log.keep', showFollowUp),
  post('/safety/log/:number/follow-up', 'log.keep', followEntryUp),
  get('/safety/log/:number/close', 'log.keep', showClose),
  post('/safety/log/:number/close', 'log.keep', closeEntry),
  get('/safety/log/:number/photo', 'log.write', showEntry),
  postWithFiles('/safety/log/:number/photo', 'log.write', bringPhoto),
  get('/safety/duties', 'safety.see', showDuties),
  post('/safety/duties', 'duties.edit', saveDuty),
  get('/safety/duties/usual', 'safety.see', backToDuties),
  post('/safety/duties/usual', 'duties.edit', addAllUsual),
  get('/safety/duties/:number/done', 'safety.see', backToDuties),
  post('/safety/duties/:number/done', 'log.write', finishDuty),
  get('/safety/duties/:number/end', 'safety.see', backToDuties),
  post('/safety/duties/:number/end', 'duties.edit', stopDuty),
];
