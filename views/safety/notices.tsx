import type { FormState } from '../../server/core/routes.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import { H_TEXTS, P_TEXTS } from '../../server/materials/hazards.ts';
import type { NoticeReader } from '../../server/safety/actions/notice-reader.ts';
import { changeWords } from '../../server/safety/notice.ts';
import type {
  NoticePage as Contents,
  NoticeNow,
  NoticeReader as ReaderRow,
} from '../../server/safety/service/notices.ts';
import { Check, Form, Submit } from '../ui/field.tsx';
import { Empty, Facts, Flash, More, Notice, Pages, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { linesOf, NoticeBody, SCOPE_WORDS, STANDING_WORDS, validWords, WorkedOut } from './notice-parts.tsx';
import { Caution, NotHarmless } from './parts.tsx';

interface ListProps {
  notices: NoticeNow[];
  next: number | null;
  reader: NoticeReader;
}

export function NoticesPage({ notices, next, reader }: ListProps) {
  const unread = notices.filter((notice) => notice.unread).length;
  return (
    <>
      <h1>Notices</h1>
      {notices.length === 0 ? (
        <Empty title="No notice yet">
          {reader.mayPost ? (
            <>
              <p>Choose a bucket: its notice is drafted from what its recipe is classified as.</p>
              <a class="do" href="/notices/new">
                Write the first notice
              </a>
            </>
          ) : (
            <p>
              A technician posts them. What you must read before dipping also stands on the bucket’s page.
            </p>
          )}
        </Empty>
      ) : (
        <>
          {unread > 0 && (
            <p>
              <b>{unread === 1 ? 'One waits' : `${unread} wait`} for you to read.</b>
            </p>
          )}
          <Table
            columns={[
              { label: 'Notice', main: true, wraps: true },
              { label: 'On', wraps: true },
              { label: 'Stands' },
              { label: 'Valid', keepLabel: true },
              { label: 'You' },
              ...(reader.mayPost ? [{ label: 'Readers' }] : []),
            ]}
            rows={notices.map((notice) => ({
              key: notice.number,
              cells: [
                <a href={`/notices/${notice.number}`}>
                  {notice.number}. {notice.title}
                </a>,
                <Where notice={notice} />,
                STANDING_WORDS[notice.standing],
                validWords(notice),
                !notice.asked ? '' : notice.unread ? <b>To read</b> : 'Read',
                ...(reader.mayPost ? [<ReadersLink notice={notice} />] : []),
              ],
            }))}
          />
          <Pages
            newest={null}
            older={next === null ? null : `/notices?before=${next}`}
            olderWords="Older notices"
          />
          {reader.mayPost && (
            <p>
              <a class="do" href="/notices/new">
                Write a notice
              </a>
            </p>
          )}
        </>
      )}
      <p>
        <a href="/safety">Back to safety</a>
      </p>
      <Caution />
    </>
  );
}

const ReadersLink = ({ notice }: { notice: NoticeNow }) => (
  <a href={`/notices/${notice.number}/readers`}>
    Who has read it<span class="hidden-text">, notice {notice.number}</span>
  </a>
);

function Where({ notice: { target } }: { notice: NoticeNow }) {
  if (target.scope === 'everywhere') return <>{SCOPE_WORDS.everywhere}</>;
  return (
    <>
      {SCOPE_WORDS[target.scope]}:{' '}
      {target.href === null ? target.name : <a href={target.href}>{target.name}</a>}
    </>
  );
}

const DONE: Record<string, string> = {
  posted: 'Posted. Whoever it concerns is asked to read it.',
  revised: 'The new version is posted; the ones before stay in the history.',
  withdrawn: 'Taken down. Nobody is asked to read it any more.',
  read: 'Noted: you have read it.',
};

interface PageProps extends Contents {
  done: string | null;
  form: FormState;
  reader: NoticeReader;
}

export function NoticePage({ notice, versions, change, unknown, done, form, reader }: PageProps) {
  const at = `/notices/${notice.number}`;
  const said = done === null ? undefined : DONE[done];
  const refused = form.errors.filter(({ path }) => path !== 'read').map(({ message }) => message);
  return (
    <>
      {said && <Flash words={said} />}
      {refused.length > 0 && <Flash words={refused.join(' ')} tone="refused" />}
      <h1>{notice.title}</h1>
      <p class="soft">
        Notice {notice.number} · <Where notice={notice} /> · {STANDING_WORDS[notice.standing]},{' '}
        {validWords(notice)}
      </p>
      {change !== null && notice.standing !== 'withdrawn' && (
        <Notice title="To be reviewed" tone="ask-technician">
          <p>Its classification changed since it was posted: {changeWords(change)}.</p>
          {reader.mayPost && (
            <p>
              <a href={`${at}/edit`}>Look it over and post it anew</a>
            </p>
          )}
        </Notice>
      )}
      <Panel>
        <NoticeBody {...notice} lines={linesOf(notice)} />
        <Statements notice={notice} />
        {notice.basis !== null && (
          <>
            <p>
              <b>Classified as</b>{' '}
              {notice.basis.classes.length > 0 ? notice.basis.classes.join(', ') : 'nothing that is known'}.
            </p>
            {unknown.map((words) => (
              <p key={words}>{words}</p>
            ))}
            <WorkedOut {...notice.target} />
            <NotHarmless />
          </>
        )}
      </Panel>
      {notice.unread ? (
        <Form
          action={`${at}/read`}
          form={form}
          idempotencyKey={`${reader.key}-read`}
          hidden={{ version: notice.version }}
        >
          <Check name="read" label="I have read it" />
          <Submit
            label="That is so"
            small={`You are asked once.${notice.scope === 'kiln' ? '' : ' Then you can dip.'}`}
          />
        </Form>
      ) : (
        notice.asked && <p>You have read it, or one of the same classes.</p>
      )}
      <div class="row">
        <PlainAct href={`${at}/print`} label="Print" />
        {reader.mayPost && <PlainAct href={`${at}/readers`} label="Who has read it" />}
        {reader.mayPost && (
          <PlainAct href={`${at}/edit`} label={notice.kind === 'withdrawn' ? 'Post it again' : 'Change it'} />
        )}
        {reader.mayPost && notice.kind === 'posted' && (
          <PlainAct post={`${at}/withdraw`} idempotencyKey={`${reader.key}-withdraw`} label="Take it down" />
        )}
      </div>
      <History versions={versions} reader={reader} />
      <p>
        <a href="/notices">All notices</a>
      </p>
      <Caution />
    </>
  );
}

function History({ versions, reader }: Pick<PageProps, 'versions' | 'reader'>) {
  return (
    <More summary={versions.length === 1 ? 'History: one version' : `History: ${versions.length} versions`}>
      <Table
        columns={[
          { label: 'Version', main: true },
          { label: 'What', wraps: true },
          { label: 'When' },
          { label: 'By' },
        ]}
        rows={versions.map((version) => ({
          key: version.version,
          cells: [
            `Version ${version.version}`,
            version.kind === 'withdrawn' ? (
              'Taken down'
            ) : (
              <>
                {version.title}
                {linesOf(version).map(({ task, words }) => (
                  <>
                    <br />
                    {task}: {words}
                  </>
                ))}
              </>
            ),
            shownTime(version.at, reader.now, reader.timeZone),
            version.by,
          ],
        }))}
      />
    </More>
  );
}

const texts = (codes: readonly string[], known: Readonly<Record<string, string>>): [string, string][] =>
  codes.map((code) => [code, known[code] ?? '']);

function Statements({ notice: { hCodes, pCodes } }: { notice: NoticeNow }) {
  if (hCodes.length + pCodes.length === 0) return null;
  return (
    <More summary="Statements of the label">
      <Facts items={[...texts(hCodes, H_TEXTS), ...texts(pCodes, P_TEXTS)]} />
    </More>
  );
}

interface ReadersProps {
  notice: NoticeNow;
  readers: ReaderRow[];
  reminded: number | null;
  form: FormState;
  reader: NoticeReader;
}

export function NoticeReadersPage({ notice, readers, reminded, form, reader }: ReadersProps) {
  const late = readers.filter(({ readAt }) => readAt === null);
  const at = `/notices/${notice.number}`;
  return (
    <>
      {reminded !== null && (
        <Flash words={reminded === 0 ? 'Nobody was left to remind.' : `Reminded: ${reminded}.`} />
      )}
      {form.errors.length > 0 && (
        <Flash words={form.errors.map(({ message }) => message).join(' ')} tone="refused" />
      )}
      <h1>Who has read it</h1>
      <p>
        <a href={at}>{notice.title}</a>
      </p>
      <p>
        <b>
          {readers.length - late.length} of {readers.length}
        </b>{' '}
        have read it, or one of the same classes.
      </p>
      {late.length > 0 && notice.asked && (
        <PlainAct
          post={`${at}/readers`}
          idempotencyKey={`${reader.key}-remind`}
          label={`Remind ${late.length === 1 ? late[0]?.name : `those ${late.length}`}`}
        />
      )}
      <Table
        columns={[{ label: 'Who', main: true, wraps: true }, { label: 'Read' }]}
        rows={readers.map(({ id, name, readAt }) => ({
          key: id,
          cells: [name, readAt === null ? <b>Not yet</b> : shownTime(readAt, reader.now, reader.timeZone)],
        }))}
      />
      <p>
        <a href={at}>Back to the notice</a>
      </p>
      <Caution />
    </>
  );
}
