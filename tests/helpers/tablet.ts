import { pairHere } from '../../server/members/service/devices.ts';
import { makeCard, setPin } from '../../server/members/service/tablet.ts';
import type { Person, Studio } from './studio.ts';

let serial = 0;

/** A paired tablet: what it sends instead of a person's cookie. */
export async function aTablet(
  studio: Studio,
  name = `Tablet ${++serial}`,
): Promise<{ name: string; cookie: string }> {
  const secret = await studio.as(studio.people.technician, (act) => pairHere(act, name, null));
  return { name, cookie: `wareboard-tablet=${secret}` };
}

/** Requests as a tablet sends them with nobody signed in on it. */
export function atTablet(studio: Studio, tablet: { cookie: string }) {
  const headers = { cookie: tablet.cookie };
  return {
    visit: (url: string, more = {}) => studio.visit(null, url, { ...headers, ...more }),
    submit: (url: string, fields: Record<string, string | string[]>, more = {}) =>
      studio.submit(null, url, fields, { ...headers, ...more }),
  };
}

/** What a tablet calls this person, read off the page that asks for a name. */
export async function handleOf(
  studio: Studio,
  tablet: { cookie: string },
  code: string,
  name: string,
): Promise<string> {
  const { body } = await atTablet(studio, tablet).visit(`/tablet/buckets/${code}/dip`);
  const found = [...body.matchAll(/name="as" value="([\w-]+)">([^<]*)/g)].find(
    ([, , shown]) => shown === name,
  );
  if (!found?.[1]) throw new Error(`${name} is not among the names.`);
  return found[1];
}

export const givePin = (studio: Studio, person: Person, pin: string): Promise<void> =>
  setPin(studio.services, { actor: person.caller, now: studio.clock.now() }, pin);

export const giveCard = (studio: Studio, person: Person): Promise<string> => studio.as(person, makeCard);

/** A tablet in use at a bucket: what it calls a member with a PIN, something they recorded there, and their card. */
export async function aUsedTablet(studio: Studio, code: string) {
  const { member } = studio.people;
  const tablet = await aTablet(studio);
  await givePin(studio, member, '4071');
  const card = await giveCard(studio, member);
  const as = await handleOf(studio, tablet, code, member.name);
  const { headers } = await atTablet(studio, tablet).submit(`/tablet/buckets/${code}/dip`, { as });
  return { ...tablet, as, card, number: Number(String(headers.location).split('.').at(-1)) };
}
