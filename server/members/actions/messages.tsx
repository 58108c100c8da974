import { z } from 'zod';
import { MessagesPage } from '../../../views/members/messages.tsx';
import { Unread } from '../../../views/ui/layout.tsx';
import { count } from '../../core/forms.ts';
import { ownMessages, readAllMessages } from '../../core/messages.ts';
import { type Answer, go, page, type Visit, wantsFragment } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';

const MOST = 200;

/** What whoever asks was told, the newest first. */
export async function showMessages({ read, now, studio, query }: Visit): Promise<Answer> {
  const found = await ownMessages(read, MOST + 1);
  return page(
    'Messages',
    'me',
    <MessagesPage
      messages={found.slice(0, MOST)}
      isMore={found.length > MOST}
      isDone={query.done === 'read'}
      now={now}
      timeZone={studio.timeZone}
      newKey={randomSecret()}
    />,
  );
}

/** What the bar at the bottom says of messages, for a page that is open. */
export const showUnread = async ({ caller, request }: Visit): Promise<Answer> =>
  wantsFragment(request) ? page('Messages', 'me', <Unread count={caller.unread} />) : go('/messages');

/** The newest message of the page, as an instant to the millisecond. */
const readForm = z.strictObject({ upTo: count(0, Number.MAX_SAFE_INTEGER) });

/** All that the page showed counts as read; what came meanwhile does not. */
export async function readMessages(visit: Visit): Promise<Answer> {
  const { upTo } = visit.form(readForm);
  // A form may say any time; none that is to come is a message's.
  await visit.act((act) => readAllMessages(act, Math.min(upTo, visit.now)));
  return go('/messages?done=read');
}
