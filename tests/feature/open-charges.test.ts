import fc from 'fast-check';
import { expect, test } from 'vitest';
import { DAY } from '../../server/core/clock.ts';
import { allocate } from '../../server/fees/allocation.ts';
import { payersFor, post } from '../../server/fees/service/ledger.ts';
import { toAllocate } from '../../server/fees/store/entries.ts';
import { openByMonth } from '../../server/fees/store/open-charges.ts';
import { aStudio } from '../helpers/studio.ts';

/** One thing done to one of three accounts, some days ago; `target` chooses among what was charged before. */
const acts = fc.array(
  fc.record({
    what: fc.constantFrom('charge' as const, 'pay' as const, 'credit' as const, 'strike' as const),
    account: fc.nat(2),
    minor: fc.integer({ min: 1, max: 900 }),
    daysAgo: fc.nat(100),
    target: fc.nat(1000),
  }),
  { minLength: 1, maxLength: 40 },
);

test('what is open, by account and month, in one question is what allocating each account says', async () => {
  const s = await aStudio();
  const { tx } = { tx: s.database.db };
  let run = 0;
  await fc.assert(
    fc.asyncProperty(acts, async (done) => {
      run++;
      const people = await Promise.all([0, 1, 2].map((i) => s.aPerson('member', `Payer ${run} ${i}`)));
      const ids = await s.as(s.people.manager, async (act) => {
        const payers = await payersFor(
          act,
          people.map(({ id }) => ({ kind: 'person' as const, id })),
        );
        const posted: { id: number; account: number; net: bigint; struck: boolean }[] = [];
        for (const { what, account, minor, daysAgo, target } of done) {
          const own = posted.filter((one) => one.account === account && !one.struck);
          const chosen = own[target % Math.max(1, own.length)];
          const accountId = payers[account]?.id as number;
          const net = BigInt(what === 'charge' ? minor : -minor);
          const entry = {
            accountId,
            against: 'income:other' as const,
            netMinor: net,
            taxMinor: 0n,
            happenedAt: act.now - daysAgo * DAY,
          };
          if (what === 'strike') {
            if (!chosen) continue;
            await post(act, [{ ...entry, kind: 'void', netMinor: -chosen.net, voids: chosen.id }]);
            chosen.struck = true;
            continue;
          }
          const about = what === 'credit' && chosen ? chosen.id : undefined;
          const kind = what === 'pay' ? 'payment' : what;
          const [row] = await post(act, [{ ...entry, kind, about }]);
          posted.push({ id: row?.id as number, account, net, struck: false });
        }
        return payers.map(({ id }) => id);
      });
      const together = await openByMonth(tx, ids);
      for (const id of ids) {
        const alone = new Map<string, bigint>();
        for (const { period, openMinor } of allocate(await toAllocate(tx, id)).open)
          alone.set(period, (alone.get(period) ?? 0n) + openMinor);
        const found = new Map(together.get(id)?.map(({ period, openMinor }) => [period, openMinor]));
        expect(found).toEqual(alone);
      }
    }),
    { numRuns: 40 },
  );
}, 120_000);
