import { CardPage } from '../../../views/members/own-card.tsx';
import { printedAddress } from '../../core/address.ts';
import { Conflict } from '../../core/errors.ts';
import { type Answer, go, page, type Visit } from '../../core/routes.ts';
import { pinForm } from '../forms.ts';
import { endCard, endPin, makeCard, setPin } from '../service/tablet.ts';
import { actInSecret } from '../visit.ts';
import { showMe } from './me.tsx';

/** Setting the same PIN twice changes nothing, so that it takes no idempotency key. */
export async function saveOwnPin(visit: Visit): Promise<Answer> {
  const { services, caller: actor, now } = visit;
  return visit.submit(
    (form) => showMe(visit, { which: 'pin', form }),
    async () => {
      await setPin(services, { actor, now }, visit.form(pinForm).pin);
      return go('/me?done=pin');
    },
  );
}

export async function endOwnPin(visit: Visit): Promise<Answer> {
  await visit.act(endPin);
  return go('/me?done=no-pin');
}

export async function makeOwnCard(visit: Visit): Promise<Answer> {
  const { config } = visit.services;
  if (printedAddress(config, '/card/') === null)
    throw new Conflict('A card needs an address that a tablet can open: set PUBLIC_URL first.');
  const secret = await actInSecret(visit, makeCard);
  const address = printedAddress(config, `/card/${secret}`) as string;
  const { caller, studio } = visit;
  return page('Your card', 'me', <CardPage name={caller.name} studio={studio.name} address={address} />);
}

export async function endOwnCard(visit: Visit): Promise<Answer> {
  await visit.act(endCard);
  return go('/me?done=no-card');
}
