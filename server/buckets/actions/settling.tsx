import { z } from 'zod';
import { SettlingPage } from '../../../views/buckets/settling.tsx';
import { count, quantity } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { KINDS } from '../kinds.ts';
import { adoptStirInterval, completeSettling, recordAct, showSettling } from '../service/index.ts';
import { readerOf } from './reader.ts';

const second = z.object({
  first: count(1, 2 ** 31 - 1),
  later: quantity(1, 4),
  minutes: quantity(1, 240, 'min').optional(),
});
const adoption = z.object({ stirInterval: quantity(1, 1440, 'min') });

export async function showSettlingPage(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const settling = await showSettling(visit.read, visit.param('code'));
  const saved = [settling.open, ...settling.pairs].find((seen) => String(seen?.number) === visit.query.did);
  return page(
    `How fast ${settling.bucket.name} settles`,
    'wall',
    <SettlingPage {...settling} saved={saved ?? null} form={form} reader={readerOf(visit)} />,
  );
}

/** Both gravities at once, the first alone, or the second to a first that waits for it. */
export const recordSettling = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showSettlingPage(visit, form),
    async () => {
      const code = visit.param('code');
      const done =
        visit.typed.first === undefined
          ? await recordWhole(visit, code)
          : await visit.act(
              async (act) => (await completeSettling(act, code, visit.form(second))).event.number,
            );
      return go(`/buckets/${code}/settling?did=${done}`);
    },
  );

function recordWhole(visit: Visit, code: string): Promise<number> {
  const body = visit.form(KINDS.settlings.body);
  return visit.act(async (act) => (await recordAct(act, code, 'settlings', body)).event.number);
}

export const adoptInterval = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showSettlingPage(visit, form),
    async () => {
      const code = visit.param('code');
      const { stirInterval } = visit.form(adoption);
      await visit.act((act) => adoptStirInterval(act, code, stirInterval));
      return go(`/buckets/${code}/settling`);
    },
  );
