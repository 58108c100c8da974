import { type Faulty, MePage } from '../../../views/members/me.tsx';
import { printedAddress } from '../../core/address.ts';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { ownPage } from '../service/own.ts';

const DONE = new Map([
  ['saved', 'Saved.'],
  ['password', 'Your password is changed. You are signed out everywhere else, and your tokens have ended.'],
  ['pin', 'Your PIN is set.'],
  ['no-pin', 'Your PIN has ended.'],
  ['no-card', 'Your card has ended. Nothing happens any more when it is scanned.'],
  ['revoked', 'The token is revoked. Nothing can use it any more.'],
]);

/** The page of one's own, with one of its forms as it was refused. */
export async function showMe(visit: Visit, faulty: Faulty | null = null): Promise<Answer> {
  const { caller: person, now, query } = visit;
  const own = await ownPage(visit.read);
  const done = DONE.get(String(query.done));
  const cards = printedAddress(visit.services.config, '/card/') !== null;
  return page('You', 'me', <MePage {...{ person, now, own, done, faulty, cards }} newKey={randomSecret()} />);
}
