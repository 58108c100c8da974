import { get, go, post, type Route } from '../core/routes.ts';
import { saveCare, showCare, showVoidCare, strikeOutCare } from './actions/care.tsx';
import { showKiln, takeOutOrBack } from './actions/kiln.tsx';
import { makeKiln, saveKiln, showEditKiln, showNewKiln } from './actions/kiln-form.tsx';
import { saveKilnSettings, showKilnSettings } from './actions/kiln-settings.tsx';
import {
  addUsualSchedules,
  saveNewSchedule,
  saveSchedule,
  showEditSchedule,
  showNewSchedule,
  showSchedule,
  showSchedules,
  takeScheduleOut,
} from './actions/schedules.tsx';

export const kilnPageRoutes: Route[] = [
  get('/kilns/new', 'kilns.edit', (visit) => showNewKiln(visit)),
  post('/kilns/new', 'kilns.edit', makeKiln),
  get('/kilns/settings', 'kilns.edit', (visit) => showKilnSettings(visit)),
  post('/kilns/settings', 'kilns.edit', saveKilnSettings),

  get('/kilns/schedules', 'kilns.see', showSchedules),
  get('/kilns/schedules/new', 'kilns.edit', (visit) => showNewSchedule(visit)),
  post('/kilns/schedules/new', 'kilns.edit', saveNewSchedule),
  get('/kilns/schedules/usual', 'kilns.edit', async () => go('/kilns/schedules')),
  post('/kilns/schedules/usual', 'kilns.edit', addUsualSchedules),
  get('/kilns/schedules/:number', 'kilns.see', showSchedule),
  get('/kilns/schedules/:number/edit', 'kilns.edit', (visit) => showEditSchedule(visit)),
  post('/kilns/schedules/:number/edit', 'kilns.edit', saveSchedule),
  get('/kilns/schedules/:number/retire', 'kilns.edit', async () => go('/kilns/schedules')),
  post('/kilns/schedules/:number/retire', 'kilns.edit', takeScheduleOut),

  get('/kilns/:code', 'kilns.see', showKiln),
  get('/kilns/:code/edit', 'kilns.edit', (visit) => showEditKiln(visit)),
  post('/kilns/:code/edit', 'kilns.edit', saveKiln),
  get('/kilns/:code/retire', 'kilns.edit', async (visit) =>
    go(`/kilns/${encodeURIComponent(visit.param('code'))}`),
  ),
  post('/kilns/:code/retire', 'kilns.edit', takeOutOrBack),
  get('/kilns/:code/care', 'kilns.care', (visit) => showCare(visit)),
  post('/kilns/:code/care', 'kilns.care', saveCare),
  get('/kilns/:code/care/:number/void', 'kilns.care', (visit) => showVoidCare(visit)),
  post('/kilns/:code/care/:number/void', 'kilns.care', strikeOutCare),
];
