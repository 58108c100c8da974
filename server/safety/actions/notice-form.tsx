import { z } from 'zod';
import { NoticeFormPage, WhereFormPage } from '../../../views/safety/notice-form.tsx';
import { listBuckets } from '../../buckets/service/index.ts';
import { Invalid } from '../../core/errors.ts';
import { code, count, type Typed, text } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { toWallTime } from '../../core/wall-time.ts';
import { listKilns } from '../../kilns/service/index.ts';
import {
  draftFor,
  findTarget,
  listMaterialNames,
  noticeBody,
  postNotice,
  reviseNotice,
  showNotice,
  type TargetNames,
  wordsBody,
} from '../service/notices.ts';
import { noticeReader } from './notice-reader.ts';
import { noticeNumber } from './notices.tsx';

const where = z.object({
  bucket: code().optional(),
  material: count(1, 2 ** 31 - 1).optional(),
  kiln: code().optional(),
  room: text(60).optional(),
});

/** What the address, or the form that came back, says that the notice hangs on; null: nobody chose yet. */
function namedIn(visit: Visit, typed: Typed): TargetNames | null {
  const all = { ...visit.query, ...typed };
  if (all.everywhere !== undefined || all.scope === 'everywhere') return { scope: 'everywhere' };
  const named = visit.form(where, all);
  const scope = (['bucket', 'material', 'kiln', 'room'] as const).find((one) => named[one] !== undefined);
  return scope ? { scope, ...named } : null;
}

/** First what it hangs on, then its words as they are drafted from the classes. */
export async function showNewNotice(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  try {
    const named = namedIn(visit, form.typed);
    if (named) return await drafted(visit, named, form);
  } catch (error) {
    if (!(error instanceof Invalid)) throw error;
    return choose(visit, { typed: { ...visit.query, ...form.typed }, errors: error.errors });
  }
  return choose(visit, form);
}

async function choose(visit: Visit, form: FormState): Promise<Answer> {
  const [buckets, kilns, materials] = await Promise.all([
    listBuckets(visit.read),
    listKilns(visit.read),
    listMaterialNames(visit.read),
  ]);
  return page(
    'New notice',
    'safety',
    <WhereFormPage buckets={buckets} kilns={kilns} materials={materials} form={form} />,
    form.errors.length > 0 ? 422 : 200,
  );
}

const today = (visit: Visit): string => toWallTime(visit.now, visit.studio.timeZone).slice(0, 10);

async function drafted(visit: Visit, named: TargetNames, form: FormState): Promise<Answer> {
  const target = await findTarget(visit.read, named);
  const { words, classified } = await draftFor(visit.read, target);
  return page(
    'New notice',
    'safety',
    <NoticeFormPage
      target={target}
      classified={classified}
      words={{ ...words, validFrom: today(visit), validTo: null, notForChildren: false }}
      action="/notices/new"
      hidden={{
        scope: target.scope,
        bucket: named.bucket,
        material: named.material,
        kiln: named.kiln,
        room: named.room,
      }}
      form={form}
      reader={noticeReader(visit)}
    />,
  );
}

/** What a preview shows is what was typed: a tick that is not there was taken away. */
const previewed = (visit: Visit): FormState =>
  emptyForm({ ...visit.typed, notForChildren: visit.typed.notForChildren ?? 'no' });

export const saveNewNotice = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showNewNotice(visit, form),
    async () => {
      const command = visit.form(noticeBody, sent(visit));
      if (visit.typed.preview !== undefined) return showNewNotice(visit, previewed(visit));
      const number = await visit.act((act) => postNotice(act, command));
      return go(`/notices/${number}?done=posted`);
    },
  );

/** The words without what only the form needs. */
function sent({ typed }: Visit): Typed {
  const { key: _, preview: __, ...fields } = typed;
  return fields;
}

export async function showEditNotice(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const number = noticeNumber(visit);
  const { notice, change } = await showNotice(visit.read, number);
  const { words: fresh, classified } = await draftFor(visit.read, notice.target);
  const { title, dipping, mixing, cleaning, validFrom, validTo, notForChildren } = notice;
  return page(
    `Change notice ${number}`,
    'safety',
    <NoticeFormPage
      target={notice.target}
      classified={classified}
      words={{ title, dipping, mixing, cleaning, validFrom, validTo, notForChildren }}
      fresh={change === null ? null : fresh}
      change={change}
      number={number}
      action={`/notices/${number}/edit`}
      form={form}
      reader={noticeReader(visit)}
    />,
  );
}

export const saveNotice = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showEditNotice(visit, form),
    async () => {
      const number = noticeNumber(visit);
      const command = visit.form(wordsBody, sent(visit));
      if (visit.typed.preview !== undefined) return showEditNotice(visit, previewed(visit));
      await visit.act((act) => reviseNotice(act, number, command));
      return go(`/notices/${number}?done=revised`);
    },
  );
