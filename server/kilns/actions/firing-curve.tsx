import { FaultsPage } from '../../../views/kilns/faults.tsx';
import { CurvePage } from '../../../views/kilns/firing-curve.tsx';
import { type Answer, emptyForm, page, type Visit } from '../../core/routes.ts';
import { faultsForm, faultTables, judgeFiring, kilnSettings } from '../service/index.ts';
import { doneIn, loadNumber, loadReaderOf } from './load-reader.ts';

const DONE = { log: 'The log is in.', cones: 'The cones are kept.' };

export async function showCurve(visit: Visit): Promise<Answer> {
  const number = loadNumber(visit);
  const [judged, { scheduleWord }] = await Promise.all([
    judgeFiring(visit.read, number),
    kilnSettings(visit.read),
  ]);
  return page(
    `How load ${number} was fired`,
    'kilns',
    <CurvePage
      judged={judged}
      scheduleWord={scheduleWord}
      done={doneIn(visit, emptyForm(), DONE)}
      reader={loadReaderOf(visit)}
    />,
  );
}

/** What an address asks for that is no filter is as good as not asked. */
export async function showFaults(visit: Visit): Promise<Answer> {
  const { outcome, kind, days } = visit.query;
  const read = faultsForm.safeParse({
    ...(outcome && { outcome }),
    ...(kind && { kind }),
    ...(days && { days: Number(days) }),
  });
  const asked = read.success ? read.data : {};
  return page(
    'Faults',
    'kilns',
    <FaultsPage tables={await faultTables(visit.read, asked)} asked={asked} reader={loadReaderOf(visit)} />,
  );
}
