import { CheckPage, METHODS, type Method } from '../../../views/buckets/check.tsx';
import { type Answer, emptyForm, type FormState, page, type Visit } from '../../core/routes.ts';
import type { Entry } from '../kinds.ts';
import { isCalibrated, listCups, listFloats, listInstruments, showBucket } from '../service/index.ts';
import { readerOf } from './reader.ts';
import { recording } from './record.tsx';

export async function showCheck(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const [{ bucket, ledger, trend }, cups, instruments, allFloats] = await Promise.all([
    showBucket(visit.read, visit.param('code')),
    listCups(visit.read),
    listInstruments(visit.read),
    listFloats(visit.read),
  ]);
  const floats = allFloats.filter(isCalibrated);
  const mine = ledger.events.filter((e) => e.byId === visit.caller.id).map((e) => e.entry);
  const last = [...mine, ...trend.events.map((e) => e.entry).reverse()].find((e) => e.kind === 'reading');
  const asked = typedMethod(form) ?? METHODS.find((m) => m === visit.query.how);
  const method = asked ?? lastMethod(last) ?? 'cup';
  const isMissing = (method === 'cup' && cups.length === 0) || (method === 'float' && floats.length === 0);
  return page(
    `Check ${bucket.name}`,
    'wall',
    <CheckPage
      bucket={bucket}
      cups={cups}
      scales={instruments.filter(({ kind }) => kind === 'scale')}
      hydrometers={instruments.filter(({ kind }) => kind === 'hydrometer')}
      floats={floats}
      method={isMissing ? 'weighed' : method}
      another={isAnother(form, visit.query.with)}
      last={typedBefore(last)}
      form={form}
      reader={readerOf(visit)}
    />,
  );
}

/** Records a reading; a yes to "is this right?" counts for the figure that was asked about alone. */
export function recordCheck(visit: Visit): Promise<Answer> {
  const { typed } = visit;
  const stands =
    typed.confirm !== undefined && typed.confirm === (typed.grams ?? typed.value ?? typed.millimetres);
  return recording('readings', showCheck, { ...typed, confirm: stands ? 'yes' : undefined })(visit);
}

/** Which of the forms came back. */
function typedMethod({ typed }: FormState): Method | undefined {
  if (typed.method === undefined) return undefined;
  if (typed.method === 'hydrometer' || typed.method === 'float') return typed.method;
  return typed.vessel === undefined ? 'weighed' : 'cup';
}

/** A hydrometer that is none of the studio's was asked for, or comes back in a refused form. */
const isAnother = ({ typed }: FormState, asked: unknown): boolean =>
  typed.method === 'hydrometer' ? typed.instrument === undefined : asked === 'another';

/** People measure the same way as last time. */
function lastMethod(last: Entry | undefined): Method | undefined {
  return last?.kind === 'reading' ? METHODS.find((m) => m === last.method) : undefined;
}

const typedBefore = (last: Entry | undefined): Record<string, unknown> => last?.typed ?? {};
