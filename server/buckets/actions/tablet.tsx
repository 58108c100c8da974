import type { VNode } from 'preact';
import { WhoPage } from '../../../views/buckets/tablet-who.tsx';
import type { Read, Studio } from '../../core/actor.ts';
import type { Device } from '../../core/device.ts';
import { NotFound, Unauthorised } from '../../core/errors.ts';
import type { FormSetting } from '../../core/forms.ts';
import { type Answer, type Idle, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { type AtTablet, findAtTablet, findByScan, listNames } from '../../members/service/tablet.ts';
import type { BucketNow } from '../service/index.ts';
import type { ShownNotice } from '../service/safety-gate.ts';
import type { Reader } from './reader.ts';

/** A paired tablet as its pages are made for it. */
export interface Stand {
  device: Device;
  studio: Studio;
  /** Sees what a member sees; nobody acts with it. */
  read: Read;
  reader: Reader;
  /** How a form that is typed here is read. */
  formSetting: FormSetting;
}

export function standAt({ request, services, now }: Visit): Stand {
  const { device, studio } = request;
  if (!device || !studio) throw new Unauthorised('This is for a paired tablet.');
  const nobody = {
    id: 0,
    name: device.name,
    email: '',
    role: 'member',
    units: studio.units,
    tokenId: null,
    deviceId: device.id,
  } as const;
  return {
    device,
    studio,
    read: { tx: services.database.db, actor: nobody, now },
    reader: {
      technician: false,
      units: studio.units,
      timeZone: studio.timeZone,
      now,
      key: randomSecret(),
    },
    formSetting: { units: studio.units, timeZone: studio.timeZone, currency: studio.currency },
  };
}

/** Who a scanned card, or a tapped name in the form or the address, says that it is; null: nobody yet. */
export async function whoIsIt(
  { query, typed }: Visit,
  { device, studio, read }: Stand,
): Promise<AtTablet | null> {
  const place = { db: read.tx, device, studio };
  if (typeof typed.card === 'string' && typed.card.trim() !== '') return findByScan(place, typed.card);
  const handle = [typed.as ?? query.as ?? []].flat()[0];
  return handle ? findAtTablet(place, handle) : null;
}

/** Untouched, a page goes back to the wall after a minute. */
const AWAY: Idle = { to: '/tablet', seconds: 60 };
/** Without scripts the server cannot see that somebody is typing. */
export const TYPING: Idle = { ...AWAY, seconds: 180 };

export const tabletPage = (title: string, body: VNode, idle: Idle = AWAY): Answer => {
  const answer = page(title, 'wall', body);
  return answer.kind === 'page' ? { ...answer, page: { ...answer.page, idle } } : answer;
};

interface Wanted {
  bucket: BucketNow;
  /** What the person is about to do, in words. */
  title: string;
  /** Where their name leads; `records` where tapping it does the act. */
  path: string;
  records?: boolean;
  /** What is wrong with the card that was scanned. */
  refused?: string | null;
  /** What this person must read first. */
  toRead?: { notices: readonly ShownNotice[]; person: AtTablet };
}

/** Asks who it is. */
export async function askWho(visit: Visit, stand: Stand, wanted: Wanted): Promise<Answer> {
  const all = await listNames(visit.services.database.db, stand.device);
  const initial = typeof visit.query.initial === 'string' ? visit.query.initial : null;
  return tabletPage(
    'Who is it?',
    <WhoPage
      {...wanted}
      records={wanted.records ?? false}
      all={all}
      initial={initial}
      reader={stand.reader}
    />,
  );
}

/** The event that an address names by its number. */
export function numberIn(raw: string | undefined): number {
  if (raw === undefined || !/^\d{1,9}$/.test(raw)) throw new NotFound('There is no event with this number.');
  return Number(raw);
}
