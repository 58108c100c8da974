import { due as bucketDue, type Due } from '../buckets/service/index.ts';
import type { Read } from '../core/actor.ts';
import { mailTrouble } from '../core/outbox.ts';
import { mustBeAllowed } from '../core/policy.ts';
import { feesDue } from '../fees/service/due.ts';
import { type KilnDue, due as kilnDue } from '../kilns/service/index.ts';
import type { SafetyDue } from '../materials/due.ts';
import { safetyDue } from '../safety/service/due.ts';
import { type WareDue, due as wareDue } from '../ware/service/index.ts';

export interface Today {
  kilns: KilnDue[];
  safety: SafetyDue[];
  ware: WareDue[];
  buckets: Due[];
  fees: SafetyDue[];
  mail: SafetyDue[];
}

/** What needs somebody, gathered from every feature; each says for itself what is worst. */
export async function today(read: Read): Promise<Today> {
  mustBeAllowed(read.actor, 'today.see');
  const [kilns, safety, ware, buckets, fees, mail] = await Promise.all([
    kilnDue(read),
    safetyDue(read),
    wareDue(read),
    bucketDue(read),
    feesDue(read),
    mailDue(read),
  ]);
  return { kilns, safety, ware, buckets, fees, mail };
}

/** Mail that does not get through. */
async function mailDue(read: Read): Promise<SafetyDue[]> {
  const { givenUp, error } = await mailTrouble(read.tx, read.now);
  const act = { label: 'See the mail', href: '/mail' };
  return [
    ...(error === null ? [] : [{ title: 'Mail waits', what: `It does not go out: ${error}`, act }]),
    ...(givenUp === 0
      ? []
      : [
          {
            title: `${givenUp} ${givenUp === 1 ? 'mail' : 'mails'} given up`,
            what: 'Not taken by the mail server of whoever was to get it. An address may be wrong.',
            act,
          },
        ]),
  ];
}
