import type { Read } from '../../core/actor.ts';
import { DAY, type Instant } from '../../core/clock.ts';
import type { Firing } from '../firing.ts';
import { type Gate, gatesFor } from '../gates.ts';
import { nextFiring } from '../next-firing.ts';
import type { WareSettings } from '../settings.ts';
import { type Alike, waitingAlike } from '../store/due.ts';

interface Standing {
  /** The firing they wait for. */
  next: Firing | null;
  /** The gates that keep them out of it. */
  open: Gate['gate'][];
}

/** All that waits, what is alike in one, with the numbers of the `first` of each; those that wait longest first. */
export async function waitingNow(
  { tx, now }: Read,
  settings: WareSettings,
  first: number,
): Promise<(Alike & Standing)[]> {
  const { thickAboveMm, thickWaitDays } = settings;
  const alike = await waitingAlike(tx, { thickAboveMm, dryBefore: now - thickWaitDays * DAY, first });
  return alike.map((group) => ({ ...group, ...standingOf(group, settings, now) }));
}

/** The firing that pieces which are alike wait for, and the gates that keep them out of it. */
function standingOf(alike: Alike, settings: WareSettings, now: Instant): Standing {
  const { stage, kind, cone, atmosphere, clay, isBisqued, isOnce } = alike;
  const next = nextFiring({ stage, isBisqued, isOnce, final: { kind, cone, atmosphere } }, clay, settings);
  if (next === null) return { next, open: [] };
  // Of a time the gates ask whether there is one, but how long it has been dry: that was asked with the count.
  const given = (is: boolean): Instant | null => (is ? 0 : null);
  const gates = gatesFor(
    {
      isBisqued,
      dryAt: given(alike.isDry),
      thickestMm: 0,
      isClosed: alike.needsHole,
      hasHole: false,
      footAt: given(alike.isWiped),
      clay: clay && { ...clay, name: '' },
      ownClay: null,
      glazes: alike.glazes.map(({ coneFrom, coneTo, isOwn, isFired }) => ({
        bucket: null,
        own: isOwn ? { name: '' } : null,
        coneFrom,
        coneTo,
        isRunny: false,
        load: given(isFired),
      })),
      yesAt: given(alike.hasYes),
      flag: alike.isFlagged ? '' : null,
    },
    next,
    settings,
    now,
  );
  return { next, open: gates.flatMap(({ gate, ok }) => (ok ? [] : [gate])) };
}
