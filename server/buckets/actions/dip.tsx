import { z } from 'zod';
import { DipPage } from '../../../views/buckets/dip.tsx';
import { count } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { KINDS } from '../kinds.ts';
import { asMade, countPieces, findBucket, safetyOf } from '../service/index.ts';
import { readerOf } from './reader.ts';

/** The dipping that was recorded in one tap and is now being counted. */
const counting = z.object({ instead: count(1, 2 ** 31 - 1).optional() });

export async function showDip(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const bucket = await findBucket(visit.read, visit.param('code'));
  const raw = form.typed.instead ?? visit.query.instead;
  const instead = typeof raw === 'string' && /^\d{1,9}$/.test(raw) ? Number(raw) : undefined;
  return page(
    `Dip from ${bucket.name}`,
    'wall',
    <DipPage
      bucket={bucket}
      safety={await safetyOf(visit.read, bucket)}
      instead={instead}
      form={form}
      reader={readerOf(visit)}
    />,
  );
}

/** Records a dipping; one that counts the pieces of an earlier one strikes that out in the same act. */
export const recordDip = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showDip(visit, form),
    async () => {
      const code = visit.param('code');
      const { instead } = visit.form(counting);
      const body = visit.form(KINDS.dippings.body);
      const { late } = visit;
      const number = await visit.act(async (act) => {
        const made = await asMade(act, code, 'dippings', body, late);
        return (await countPieces(act, code, instead, made)).event.number;
      });
      return go(`/buckets/${code}?did=${number}`);
    },
  );
