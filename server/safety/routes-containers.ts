import { get, go, post, type Route } from '../core/routes.ts';
import { record, showRecord, showStrikeOut, strikeOut } from './actions/container-record.tsx';
import {
  findRinse,
  makeContainer,
  saveContainer,
  savePermission,
  showContainer,
  showContainers,
  showEditContainer,
  showNewContainer,
  showPermission,
  takeContainerOut,
} from './actions/containers.tsx';

export const containerRoutes: Route[] = [
  get('/containers', 'containers.see', showContainers),
  get('/containers/new', 'containers.edit', (visit) => showNewContainer(visit)),
  post('/containers/new', 'containers.edit', makeContainer),
  get('/containers/:code', 'containers.see', (visit) => showContainer(visit)),
  get('/containers/:code/record', 'containers.see', (visit) => showRecord(visit)),
  post('/containers/:code/record', 'containers.see', record),
  get('/containers/:code/events/:number/void', 'containers.see', (visit) => showStrikeOut(visit)),
  post('/containers/:code/events/:number/void', 'containers.see', strikeOut),
  get('/containers/:code/edit', 'containers.edit', (visit) => showEditContainer(visit)),
  post('/containers/:code/edit', 'containers.edit', saveContainer),
  get('/containers/:code/retire', 'containers.edit', async (visit) =>
    go(`/containers/${encodeURIComponent(visit.param('code'))}`),
  ),
  post('/containers/:code/retire', 'containers.edit', takeContainerOut),
  get('/containers/:code/permission', 'containers.permit-drain', (visit) => showPermission(visit)),
  post('/containers/:code/permission', 'containers.permit-drain', savePermission),
  get('/buckets/:code/rinse', 'containers.see', findRinse),
];
