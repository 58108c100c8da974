import { get, post, type Route } from '../core/routes.ts';
import { saveNewNotice, saveNotice, showEditNotice, showNewNotice } from './actions/notice-form.tsx';
import { readTabletNotice, showTabletNotice } from './actions/notice-tablet.tsx';
import {
  acknowledge,
  backToNotice,
  remind,
  showNoticePage,
  showNoticePrint,
  showNotices,
  showReaders,
  takeDown,
} from './actions/notices.tsx';

export const noticeRoutes: Route[] = [
  get('/notices', 'notices.read', showNotices),
  get('/notices/new', 'notices.post', (visit) => showNewNotice(visit)),
  post('/notices/new', 'notices.post', saveNewNotice),
  get('/notices/:number', 'notices.read', (visit) => showNoticePage(visit)),
  get('/notices/:number/read', 'notices.read', backToNotice),
  post('/notices/:number/read', 'notices.read', acknowledge),
  get('/notices/:number/print', 'notices.read', showNoticePrint),
  get('/notices/:number/edit', 'notices.post', (visit) => showEditNotice(visit)),
  post('/notices/:number/edit', 'notices.post', saveNotice),
  get('/notices/:number/withdraw', 'notices.post', backToNotice),
  post('/notices/:number/withdraw', 'notices.post', takeDown),
  get('/notices/:number/readers', 'notices.post', (visit) => showReaders(visit)),
  post('/notices/:number/readers', 'notices.post', remind),

  get('/tablet/buckets/:code/notices/:number', 'tablet.pin', (visit) => showTabletNotice(visit)),
  post('/tablet/buckets/:code/notices/:number', 'tablet.pin', readTabletNotice),
];
