import { get, post, type Route } from '../core/routes.ts';
import { showKilns } from './actions/board.tsx';
import {
  endOwnFeed,
  makeOwnFeed,
  placeLoad,
  sendFeed,
  showCalendarPage,
  showFeed,
  showPlanPage,
  takeOffCalendar,
} from './actions/calendar.tsx';

export const calendarRoutes: Route[] = [
  get('/kilns', 'kilns.see', showKilns),

  get('/kilns/calendar', 'loads.see', showCalendarPage),
  get('/kilns/calendar/feed', 'loads.see', showFeed),
  post('/kilns/calendar/feed', 'loads.see', makeOwnFeed),
  post('/kilns/calendar/feed/end', 'loads.see', endOwnFeed),
  /** The link itself is the permission: 160 random bits, of which only a hash is kept. */
  get('/calendar/:secret.ics', 'public', sendFeed),

  get('/kilns/loads/:number/plan', 'loads.plan', (visit) => showPlanPage(visit)),
  post('/kilns/loads/:number/plan', 'loads.plan', placeLoad),
  post('/kilns/loads/:number/unplan', 'loads.plan', takeOffCalendar),
];
