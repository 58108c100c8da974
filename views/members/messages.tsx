import type { Instant } from '../../server/core/clock.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import { Empty, Flash } from '../ui/panel.tsx';

interface Message {
  id: number;
  at: Instant;
  words: string;
  href: string;
  readAt: Instant | null;
}

interface Props {
  /** The newest first. */
  messages: Message[];
  /** There are older ones. */
  isMore: boolean;
  isDone: boolean;
  now: Instant;
  timeZone: string;
  newKey: string;
}

/** Everything a person was told; what is new is said in words. */
export function MessagesPage({ messages, isMore, isDone, now, timeZone, newKey }: Props) {
  const unread = messages.filter(({ readAt }) => readAt === null).length;
  const [newest] = messages;
  return (
    <>
      {isDone && <Flash words="Marked as read." />}
      <h1>Messages</h1>
      {newest === undefined ? (
        <Empty title="No messages yet">
          <p>You are told here when something of yours goes into a kiln, comes out, or needs you.</p>
        </Empty>
      ) : (
        <>
          <p class="soft">{unread === 0 ? 'Nothing new.' : `${unread} new.`}</p>
          <ul class="news">
            {messages.map(({ id, at, words, href, readAt }) => (
              <li key={id}>
                <a href={href}>
                  <span>
                    {readAt === null && <b class="new-mark">New</b>}
                    {words}
                  </span>
                </a>
                <span class="soft">{shownTime(at, now, timeZone)}</span>
              </li>
            ))}
          </ul>
          {isMore && <p class="soft">Older messages are not shown.</p>}
          {unread > 0 && (
            <form method="post" action="/messages" hx-sync="drop">
              <input type="hidden" name="key" value={newKey} />
              <input type="hidden" name="upTo" value={newest.at} />
              <button class="plain" type="submit">
                Mark all as read
              </button>
            </form>
          )}
        </>
      )}
      <p>
        <a href="/me">Back to your page</a>
      </p>
    </>
  );
}
