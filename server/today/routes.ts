import { get, post, type Route } from '../core/routes.ts';
import { endHook, makeHook, pauseHook, resumeHook, showHooks, testHook } from './actions/hooks.tsx';
import { showToday } from './actions/today.tsx';

export const todayRoutes: Route[] = [
  get('/today', 'today.see', showToday),

  get('/hooks', 'hooks.edit', (visit) => showHooks(visit)),
  post('/hooks', 'hooks.edit', makeHook),
  post('/hooks/test', 'hooks.edit', testHook),
  post('/hooks/pause', 'hooks.edit', pauseHook),
  post('/hooks/resume', 'hooks.edit', resumeHook),
  post('/hooks/end', 'hooks.edit', endHook),
];
