import { get, post, postWithFiles, type Route } from '../core/routes.ts';
import { backToMaterial, retire, showMaterial } from './actions/material.tsx';
import {
  showMaterialEdit,
  showNewMaterial,
  writeMaterial,
  writeNewMaterial,
} from './actions/material-form.tsx';
import { backToMaterials, fillInCommon, showMaterials } from './actions/material-list.tsx';
import { recordSheet, showSheets } from './actions/material-sheets.tsx';

export const registerRoutes: Route[] = [
  get('/materials', 'materials.see', showMaterials),
  get('/materials/new', 'materials.edit', (visit) => showNewMaterial(visit)),
  post('/materials/new', 'materials.edit', writeNewMaterial),
  get('/materials/common', 'materials.edit', backToMaterials),
  post('/materials/common', 'materials.edit', fillInCommon),
  get('/materials/:id', 'materials.see', showMaterial),
  get('/materials/:id/edit', 'materials.edit', (visit) => showMaterialEdit(visit)),
  post('/materials/:id/edit', 'materials.edit', writeMaterial),
  get('/materials/:id/sheets', 'materials.see', (visit) => showSheets(visit)),
  postWithFiles('/materials/:id/sheets', 'materials.edit', recordSheet),
  get('/materials/:id/retire', 'materials.edit', backToMaterial),
  post('/materials/:id/retire', 'materials.edit', retire),
];
