import { z } from 'zod';
import { StrikeOutPage } from '../../../views/buckets/ledger.tsx';
import { NotFound } from '../../core/errors.ts';
import { text } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { findBucket, type LedgerEvent, listEvents, voidEvent } from '../service/index.ts';
import { readerOf } from './reader.ts';

const voidForm = z.object({ reason: text(500) });

export async function showStrikeOut(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const [bucket, event] = await Promise.all([findBucket(visit.read, visit.param('code')), eventOf(visit)]);
  return page(
    'Strike out',
    'wall',
    <StrikeOutPage bucket={bucket} event={event} form={form} reader={readerOf(visit)} />,
  );
}

export const strikeOut = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showStrikeOut(visit, form),
    async () => {
      const code = visit.param('code');
      const { reason } = visit.form(voidForm);
      const done = await visit.act(
        async (act) => (await voidEvent(act, code, numberOf(visit), reason)).event.number,
      );
      return go(`/buckets/${code}?did=${done}`);
    },
  );

function numberOf(visit: Visit): number {
  const raw = visit.param('number');
  if (!/^\d{1,9}$/.test(raw)) throw new NotFound('There is no event with this number.');
  return Number(raw);
}

async function eventOf(visit: Visit): Promise<LedgerEvent> {
  const number = numberOf(visit);
  const { events } = await listEvents(visit.read, visit.param('code'), { limit: 1, before: number + 1 });
  const [event] = events;
  if (event?.number !== number) throw new NotFound('There is no event with this number.');
  return event;
}
