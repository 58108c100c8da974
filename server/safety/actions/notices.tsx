import { z } from 'zod';
import { isGhsSize } from '../../../views/safety/ghs-label.tsx';
import { NoticePrintPage } from '../../../views/safety/notice-print.tsx';
import { NoticePage, NoticeReadersPage, NoticesPage } from '../../../views/safety/notices.tsx';
import { printedAddress } from '../../core/address.ts';
import { Invalid } from '../../core/errors.ts';
import { count, flag, text } from '../../core/forms.ts';
import { numberIn } from '../../core/param.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { ownPath } from '../../members/own-path.ts';
import {
  listNotices,
  readersOf,
  readNotice,
  remindReaders,
  showNotice,
  withdrawNotice,
} from '../service/notices.ts';
import { noticeReader } from './notice-reader.ts';

const A_PAGE = 60;

export const noticeNumber = (visit: Visit): number =>
  numberIn(visit, 'number', 'There is no notice with this number.');

export async function showNotices(visit: Visit): Promise<Answer> {
  const { before } = visit.query;
  const from = typeof before === 'string' && /^[1-9]\d{0,8}$/.test(before) ? Number(before) : null;
  const contents = await listNotices(visit.read, { limit: A_PAGE, before: from });
  return page('Notices', 'safety', <NoticesPage {...contents} reader={noticeReader(visit)} />);
}

export async function showNoticePage(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const contents = await showNotice(visit.read, noticeNumber(visit));
  const { done } = visit.query;
  return page(
    contents.notice.title,
    'safety',
    <NoticePage
      {...contents}
      done={typeof done === 'string' ? done : null}
      form={form}
      reader={noticeReader(visit)}
    />,
  );
}

const readForm = z.object({
  read: flag(),
  /** The version that was shown. */
  version: count(1, 2 ** 31 - 1).optional(),
  next: text(300).optional(),
});

/** Somebody says that they have read a notice, and goes on to where they were. */
export const acknowledge = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showNoticePage(visit, form),
    async () => {
      const number = noticeNumber(visit);
      const { read, version, next } = visit.form(readForm);
      if (!read) throw new Invalid([{ path: 'read', message: 'Tick it once you have read it.' }]);
      await visit.act((act) => readNotice(act, number, version));
      return go(next === undefined ? `/notices/${number}?done=read` : ownPath(next));
    },
  );

export const takeDown = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showNoticePage(visit, form),
    async () => {
      const number = noticeNumber(visit);
      await visit.act((act) => withdrawNotice(act, number));
      return go(`/notices/${number}?done=withdrawn`);
    },
  );

export async function showReaders(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const contents = await readersOf(visit.read, noticeNumber(visit));
  const { reminded } = visit.query;
  return page(
    'Who has read it',
    'safety',
    <NoticeReadersPage
      {...contents}
      reminded={typeof reminded === 'string' && /^\d{1,5}$/.test(reminded) ? Number(reminded) : null}
      form={form}
      reader={noticeReader(visit)}
    />,
  );
}

export const remind = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showReaders(visit, form),
    async () => {
      const number = noticeNumber(visit);
      const told = await visit.act((act) => remindReaders(act, number));
      return go(`/notices/${number}/readers?reminded=${told}`);
    },
  );

/** As a label or a wall sheet. */
export async function showNoticePrint(visit: Visit): Promise<Answer> {
  const { notice, supplement } = await showNotice(visit.read, noticeNumber(visit));
  const { size } = visit.query;
  return page(
    `Print notice ${notice.number}`,
    'safety',
    <NoticePrintPage
      notice={notice}
      supplement={supplement}
      size={isGhsSize(size) ? size : 'a4'}
      address={printedAddress(visit.services.config, `/notices/${notice.number}`)}
      studio={visit.studio.name}
    />,
  );
}

/** The address a form is sent to, opened by itself, leads to the notice. */
export const backToNotice = async (visit: Visit): Promise<Answer> => go(`/notices/${noticeNumber(visit)}`);
