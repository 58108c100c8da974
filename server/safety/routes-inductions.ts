import { get, post, type Route } from '../core/routes.ts';
import {
  saveBriefing,
  saveStrikeOutBriefing,
  showBriefing,
  showBriefings,
  showNewBriefing,
  showStrikeOutBriefing,
} from './actions/briefings.tsx';
import {
  saveInductions,
  saveStrikeOut,
  showInductions,
  showNewInductions,
  showOwnInductions,
  showRules,
  showStrikeOut,
} from './actions/inductions.tsx';
import { saveSettingsForm, showSafetySettings } from './actions/safety-settings.tsx';

export const inductionRoutes: Route[] = [
  get('/safety/rules', 'safety.see', (visit) => showRules(visit)),
  get('/safety/inductions', 'inductions.give', (visit) => showInductions(visit)),
  get('/safety/inductions/own', 'safety.see', (visit) => showOwnInductions(visit)),
  get('/safety/inductions/new', 'inductions.give', (visit) => showNewInductions(visit)),
  post('/safety/inductions/new', 'inductions.give', saveInductions),
  get('/safety/inductions/:id/void', 'inductions.give', (visit) => showStrikeOut(visit)),
  post('/safety/inductions/:id/void', 'inductions.give', saveStrikeOut),

  get('/safety/briefings', 'safety.see', showBriefings),
  get('/safety/briefings/new', 'briefings.hold', (visit) => showNewBriefing(visit)),
  post('/safety/briefings/new', 'briefings.hold', saveBriefing),
  get('/safety/briefings/:number', 'safety.see', showBriefing),
  get('/safety/briefings/:number/strike-out', 'briefings.hold', (visit) => showStrikeOutBriefing(visit)),
  post('/safety/briefings/:number/strike-out', 'briefings.hold', saveStrikeOutBriefing),

  get('/safety/settings', 'safety.settings', (visit) => showSafetySettings(visit)),
  post('/safety/settings', 'safety.settings', saveSettingsForm),
];
