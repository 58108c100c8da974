import { z } from 'zod';
import { TabletNoticePage } from '../../../views/safety/notice-tablet.tsx';
import { askWho, numberIn, standAt, TYPING, tabletPage, whoIsIt } from '../../buckets/actions/tablet.tsx';
import { findBucket, safetyOf } from '../../buckets/service/index.ts';
import { NotFound } from '../../core/errors.ts';
import { count, readForm } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, go, type Visit } from '../../core/routes.ts';
import { pinForm } from '../../members/forms.ts';
import { provePin } from '../../members/service/tablet.ts';
import { readNotice } from '../service/notices.ts';

const readForms = z.object({ ...pinForm.shape, version: count(1, 2 ** 31 - 1).optional() });

/** A notice of a bucket at the wall tablet; a tapped name alone reads for nobody, so it asks for the PIN. */
export async function showTabletNotice(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const stand = standAt(visit);
  const bucket = await findBucket(stand.read, visit.param('code'));
  const number = numberIn(visit.param('number'));
  const path = `/tablet/buckets/${bucket.code}/notices/${number}`;
  const refused = form.errors.find((e) => e.path === 'card')?.message ?? null;
  const person = refused === null ? await whoIsIt(visit, stand) : null;
  if (!person) return askWho(visit, stand, { bucket, title: 'Read the notice', path, refused });
  const { notices } = await safetyOf({ ...stand.read, actor: person.actor }, bucket);
  const notice = notices.find((one) => one.number === number);
  if (!notice) throw new NotFound('No notice of this number hangs at this bucket.');
  return tabletPage(
    `${notice.title}: ${bucket.name}`,
    <TabletNoticePage {...{ bucket, notice, path, person, form }} reader={stand.reader} />,
    TYPING,
  );
}

export const readTabletNotice = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showTabletNotice(visit, form),
    async () => {
      const stand = standAt(visit);
      const person = await whoIsIt(visit, stand);
      const number = numberIn(visit.param('number'));
      const bucket = `/tablet/buckets/${encodeURIComponent(visit.param('code'))}`;
      if (!person) return go(`${bucket}/notices/${number}`);
      const as = `?as=${person.handle}`;
      if (visit.typed.card !== undefined) return go(`${bucket}/notices/${number}${as}`);
      const { pin, version } = readForm(readForms, visit.typed, stand.formSetting);
      const actor = await provePin(visit.services, person, stand.device, pin, visit.now);
      await visit.act((act) => readNotice(act, number, version), actor);
      return go(`${bucket}${as}`);
    },
  );
