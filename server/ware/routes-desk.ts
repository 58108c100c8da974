import { get, post, postWithFiles, type Route } from '../core/routes.ts';
import {
  backToClays,
  bringClayBack,
  makeClay,
  saveClay,
  showClay,
  showClays,
  showNewClay,
  takeClayOut,
} from './actions/clays.tsx';
import {
  findByNumber,
  recordDry,
  recordOwner,
  recordPutAway,
  recordYes,
  showDesk,
  showDry,
  showFetch,
  showNoName,
  showYes,
} from './actions/desk.tsx';
import {
  backToGlazes,
  saveGlaze,
  saveRule,
  showGlaze,
  showGlazes,
  showRule,
  takeRuleAway,
} from './actions/glazes.tsx';
import {
  addPerson,
  backToGroup,
  classes,
  endGroup,
  household,
  removePerson,
  saveGroup,
  showGroup,
  showGroupEdit,
  showGroups,
} from './actions/groups.tsx';
import { backToMarks, saveMark, showAllMarks, showMarks, takeMarkOff } from './actions/marks.tsx';
import { saveWareSettings, showWareSettings } from './actions/settings.tsx';
import { showGridMat, showHeightStick, showSheets } from './actions/sheets.tsx';
import { showTags } from './actions/tags.tsx';

export const deskRoutes: Route[] = [
  get('/ware/desk', 'ware.see-all', (visit) => showDesk(visit)),
  get('/ware/desk/find', 'ware.see-all', findByNumber),
  get('/ware/desk/dry', 'ware.decide', (visit) => showDry(visit)),
  post('/ware/desk/dry', 'ware.decide', recordDry),
  get('/ware/desk/yes', 'ware.decide', (visit) => showYes(visit)),
  post('/ware/desk/yes', 'ware.decide', recordYes),
  get('/ware/desk/fetch', 'ware.decide', (visit) => showFetch(visit)),
  post('/ware/desk/fetch', 'ware.decide', recordPutAway),
  get('/ware/desk/no-name', 'ware.decide', (visit) => showNoName(visit)),
  post('/ware/desk/no-name', 'ware.decide', recordOwner),

  get('/clays', 'ware.own', showClays),
  get('/clays/new', 'ware.edit', () => showNewClay()),
  post('/clays/new', 'ware.edit', makeClay),
  get('/clays/:id', 'ware.edit', (visit) => showClay(visit)),
  post('/clays/:id', 'ware.edit', saveClay),
  get('/clays/:id/retire', 'ware.edit', backToClays),
  post('/clays/:id/retire', 'ware.edit', takeClayOut),
  get('/clays/:id/revive', 'ware.edit', backToClays),
  post('/clays/:id/revive', 'ware.edit', bringClayBack),

  get('/ware/glazes', 'ware.own', (visit) => showGlazes(visit)),
  get('/ware/glazes/rule', 'ware.edit', (visit) => showRule(visit)),
  post('/ware/glazes/rule', 'ware.edit', saveRule),
  get('/ware/glazes/rule/remove', 'ware.edit', backToGlazes),
  post('/ware/glazes/rule/remove', 'ware.edit', takeRuleAway),
  get('/ware/glazes/:code', 'ware.edit', (visit) => showGlaze(visit)),
  post('/ware/glazes/:code', 'ware.edit', saveGlaze),

  get('/ware/groups', 'ware.own', showGroups),
  get('/ware/groups/household', 'ware.own', (visit) => household.show(visit)),
  post('/ware/groups/household', 'ware.own', household.make),
  get('/ware/groups/class', 'ware.edit', (visit) => classes.show(visit)),
  post('/ware/groups/class', 'ware.edit', classes.make),
  get('/ware/groups/:id', 'ware.own', (visit) => showGroup(visit)),
  get('/ware/groups/:id/people', 'ware.own', backToGroup),
  post('/ware/groups/:id/people', 'ware.own', addPerson),
  get('/ware/groups/:id/remove', 'ware.own', backToGroup),
  post('/ware/groups/:id/remove', 'ware.own', removePerson),
  get('/ware/groups/:id/edit', 'ware.own', (visit) => showGroupEdit(visit)),
  post('/ware/groups/:id/edit', 'ware.own', saveGroup),
  get('/ware/groups/:id/end', 'ware.own', backToGroup),
  post('/ware/groups/:id/end', 'ware.own', endGroup),

  get('/ware/marks', 'ware.own', (visit) => showMarks(visit)),
  postWithFiles('/ware/marks', 'ware.own', saveMark),
  get('/ware/marks/all', 'ware.see-all', showAllMarks),
  get('/ware/marks/:id/off', 'ware.own', backToMarks),
  post('/ware/marks/:id/off', 'ware.own', takeMarkOff),

  get('/ware/sheets', 'ware.own', showSheets),
  get('/ware/sheets/grid', 'ware.own', showGridMat),
  get('/ware/sheets/height', 'ware.own', showHeightStick),
  get('/ware/tags', 'ware.own', showTags),

  get('/ware/settings', 'ware.edit', (visit) => showWareSettings(visit)),
  post('/ware/settings', 'ware.edit', saveWareSettings),
];
