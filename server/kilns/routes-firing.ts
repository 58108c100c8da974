import { get, post, postWithFiles, type Route } from '../core/routes.ts';
import { showCurve, showFaults } from './actions/firing-curve.tsx';
import {
  saveGas,
  saveOpen,
  saveReading,
  saveShutOff,
  showGas,
  showOpen,
  showReadings,
  showShutOff,
  strikeOut,
} from './actions/firing-during.tsx';
import { importLog, sendFile, showLog } from './actions/firing-log.tsx';
import { saveCheck, saveStart, showCheck, showStart } from './actions/firing-start.tsx';
import {
  saveCones,
  saveOutcome,
  saveUnload,
  showCones,
  showOutcome,
  showOutcomes,
  showUnload,
} from './actions/firing-unload.tsx';

export const firingRoutes: Route[] = [
  get('/kilns/loads/:number/check', 'loads.see', (visit) => showCheck(visit)),
  post('/kilns/loads/:number/check', 'loads.fire', saveCheck),
  get('/kilns/loads/:number/start', 'loads.see', (visit) => showStart(visit)),
  post('/kilns/loads/:number/start', 'loads.fire', saveStart),

  get('/kilns/loads/:number/readings', 'loads.see', (visit) => showReadings(visit)),
  post('/kilns/loads/:number/readings', 'loads.fire', saveReading),
  get('/kilns/loads/:number/gas', 'loads.see', (visit) => showGas(visit)),
  post('/kilns/loads/:number/gas', 'loads.fire', saveGas),
  get('/kilns/loads/:number/shut-off', 'loads.see', (visit) => showShutOff(visit)),
  post('/kilns/loads/:number/shut-off', 'loads.fire', saveShutOff),
  get('/kilns/loads/:number/open', 'loads.see', (visit) => showOpen(visit)),
  post('/kilns/loads/:number/open', 'loads.fire', saveOpen),
  get('/kilns/loads/:number/strike-out', 'loads.see', (visit) => showReadings(visit)),
  post('/kilns/loads/:number/strike-out', 'loads.fire', strikeOut),

  get('/kilns/loads/:number/cones', 'firings.record', (visit) => showCones(visit)),
  post('/kilns/loads/:number/cones', 'firings.record', saveCones),
  get('/kilns/loads/:number/unload', 'firings.record', (visit) => showUnload(visit)),
  post('/kilns/loads/:number/unload', 'firings.record', saveUnload),
  get('/kilns/loads/:number/outcomes', 'firings.record', showOutcomes),
  get('/kilns/loads/:number/outcomes/:piece', 'firings.record', (visit) => showOutcome(visit)),
  postWithFiles('/kilns/loads/:number/outcomes/:piece', 'firings.record', saveOutcome),

  get('/kilns/loads/:number/log', 'firings.record', (visit) => showLog(visit)),
  postWithFiles('/kilns/loads/:number/log', 'firings.record', sendFile),
  get('/kilns/loads/:number/log/import', 'firings.record', (visit) => showLog(visit)),
  post('/kilns/loads/:number/log/import', 'firings.record', importLog),
  get('/kilns/loads/:number/curve', 'loads.see', showCurve),

  get('/kilns/faults', 'faults.see', showFaults),
];
