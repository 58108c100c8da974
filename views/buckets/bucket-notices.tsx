import type { ShownNotice } from '../../server/buckets/service/safety-gate.ts';
import type { AtTablet } from '../../server/members/service/tablet.ts';
import { NoticeBody, taskWords } from '../safety/notice-parts.tsx';
import { Act, PlainAct } from '../ui/verdict.tsx';

interface UnreadProps {
  notices: readonly ShownNotice[];
  /** Where somebody goes on once it is read. */
  next: string;
  /** Of this rendering of the page. */
  idempotencyKey: string;
}

const linesOf = ({ lines }: ShownNotice) =>
  lines.map(({ task, words }) => ({ task: taskWords('bucket', task), words }));

/** What must be read before the next dipping, one below the other, each with its button. */
export function UnreadNotices({ notices, next, idempotencyKey }: UnreadProps) {
  const unread = notices.filter((notice) => notice.unread);
  if (unread.length === 0) return null;
  return (
    <div id="to-read">
      {unread.map((notice) => (
        <section key={notice.number} class="notice to-read">
          <h2>{notice.title}</h2>
          <NoticeBody {...notice} lines={linesOf(notice)} />
          <Act
            post={`/notices/${notice.number}/read`}
            idempotencyKey={`${idempotencyKey}-read-${notice.number}`}
            fields={{ read: 'yes', version: notice.version, next }}
            label="I have read this"
            small="You are asked once. Then you can dip."
          />
          <p>
            <a href={`/notices/${notice.number}`}>The whole notice</a>
          </p>
        </section>
      ))}
    </div>
  );
}

/** At a tablet a tapped name cannot read for somebody: that takes the PIN. */
export function NoticesAtTablet({
  notices,
  code,
  person,
}: {
  notices: readonly ShownNotice[];
  code: string;
  person: AtTablet | null;
}) {
  if (notices.length === 0) return null;
  return (
    <>
      {notices.map((notice) => (
        <section key={notice.number} class="notice">
          <h2>{notice.title}</h2>
          <NoticeBody {...notice} lines={linesOf(notice)} />
          {(person === null || notice.unread) && (
            <PlainAct
              href={`/tablet/buckets/${code}/notices/${notice.number}${person ? `?as=${person.handle}` : ''}`}
              label="I have read this"
              small="With your PIN, once; or on your phone. Then you can dip."
            />
          )}
        </section>
      ))}
    </>
  );
}

/** Those that were read, in one line; whether children may use it stays in the open. */
export function ReadNotices({ notices }: { notices: readonly ShownNotice[] }) {
  const read = notices.filter((notice) => !notice.unread);
  if (read.length === 0) return null;
  return (
    <p>
      {read.some((notice) => notice.notForChildren) && (
        <>
          <b>Not for children.</b>{' '}
        </>
      )}
      Read:{' '}
      {read.map(({ number, title }, at) => (
        <>
          {at > 0 && ', '}
          <a href={`/notices/${number}`}>{title}</a>
        </>
      ))}
    </p>
  );
}
