import { z } from 'zod';
import { KilnPage } from '../../../views/kilns/kiln.tsx';
import { choice } from '../../core/forms.ts';
import { type Answer, go, page, type Visit } from '../../core/routes.ts';
import { findKiln, listCare, newestLoads, newestOhms, retireKiln, showBoard } from '../service/index.ts';
import { noticesAtKiln } from '../service/safety-gate.ts';
import { kilnReader } from './kiln-reader.ts';
import { loadReaderOf } from './load-reader.ts';

const DONE: Record<string, string> = {
  made: 'Made. Its drawing shows what the packer will work with.',
  saved: 'Saved.',
  noted: 'Noted.',
  'struck-out': 'Struck out.',
  retire: 'Retired. Its loads and its care log stay.',
  return: 'It is back.',
};

export async function showKiln(visit: Visit): Promise<Answer> {
  const { read, query } = visit;
  const kiln = await findKiln(read, visit.param('code'));
  const before = /^[1-9]\d{0,8}$/.test(String(query.before)) ? Number(query.before) : undefined;
  const [care, ohms, loads, { kilns, settings }, notices] = await Promise.all([
    listCare(read, kiln.code, before === undefined ? {} : { before }),
    newestOhms(read, kiln.id),
    newestLoads(read, kiln.id),
    showBoard(read),
    noticesAtKiln(read, kiln.id),
  ]);
  return page(
    kiln.name,
    'kilns',
    <KilnPage
      kiln={kiln}
      care={care}
      ohms={ohms}
      loads={loads}
      notices={notices}
      settings={settings}
      board={kilns.find((one) => one.kiln.id === kiln.id) ?? null}
      reader={{ ...loadReaderOf(visit), ...kilnReader(visit) }}
      done={visit.done(DONE)}
    />,
  );
}

const retireForm = z.object({ what: choice(['retire', 'return']) });

export async function takeOutOrBack(visit: Visit): Promise<Answer> {
  const code = visit.param('code');
  const { what } = visit.form(retireForm);
  await visit.act((act) => retireKiln(act, code, what === 'retire'));
  return go(`/kilns/${code}?done=${what}`);
}
