import type { Read } from '../../core/actor.ts';
import { DAY, type Instant } from '../../core/clock.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import type { Firing } from '../firing.ts';
import { asksYes, type Gate, gatesFor } from '../gates.ts';
import { nextFiring } from '../next-firing.ts';
import type { WareSettings } from '../settings.ts';
import { asPacked, type Size } from '../size.ts';
import { type Alike, waitingAlike, waitingOfASize } from '../store/due.ts';
import { footprintOf, type RunsWith, runsWithIn } from './now.ts';
import { wareSettings } from './settings.ts';

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
  const [alike, runsWith] = await Promise.all([
    waitingAlike(tx, { ...dryFrom(settings, now), first }),
    runsWithIn({ tx }),
  ]);
  return alike.map((group) => ({ ...group, ...standingOf(group, settings, runsWith, now) }));
}

const dryFrom = ({ thickAboveMm, thickWaitDays }: WareSettings, now: Instant) => ({
  thickAboveMm,
  dryBefore: now - thickWaitDays * DAY,
});

/** A waiting piece as far as it says whether a kiln can be filled. */
export interface WaitingSize {
  number: number;
  next: Firing | null;
  isReady: boolean;
  waitingSince: Instant | null;
  wantedBy: string | null;
  /** In the firing it waits for, mm. */
  asPacked: Size;
}

/**
 * All that waits for a firing, oldest first, ready or not, with nothing of it but its size and its times: of thousands
 * whole pieces take seconds to read.
 */
export async function listWaitingSizes(read: Read): Promise<WaitingSize[]> {
  mustBeAllowed(read.actor, 'ware.own');
  const settings = await wareSettings(read);
  const [alike, runsWith] = await Promise.all([
    waitingOfASize(read.tx, dryFrom(settings, read.now)),
    runsWithIn(read),
  ]);
  const all = alike.flatMap((group) => {
    const { next, open } = standingOf(group, settings, runsWith, read.now);
    const { heightMm, measured, clay } = group;
    const size = asPacked({ footprint: footprintOf(group), heightMm }, measured, clay);
    return group.pieces.map(([number, waitingSince, wantedBy]) => ({
      number,
      next,
      isReady: open.length === 0,
      waitingSince,
      wantedBy,
      asPacked: size,
    }));
  });
  return all.sort(
    (a, b) => (a.waitingSince ?? Infinity) - (b.waitingSince ?? Infinity) || a.number - b.number,
  );
}

/** Whether a technician's yes is what keeps pieces out, or one of the things. */
export const asksForYes = ({ open }: Standing): boolean => asksYes(open.map((gate) => ({ gate })));

/** The firing that pieces which are alike wait for, and the gates that keep them out of it. */
function standingOf(
  alike: Omit<Alike, 'count' | 'oldest' | 'named'>,
  settings: WareSettings,
  runsWith: RunsWith,
  now: Instant,
): Standing {
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
      glazes: alike.glazes.map(({ coneFrom, coneTo, isOwn, isFired, over }) => ({
        bucket: over?.code ? { code: over.code, name: '' } : null,
        own: isOwn ? { name: '' } : null,
        coneFrom,
        coneTo,
        isRunny: false,
        face: over?.face ?? 'all',
        coatMm: over?.mm ?? null,
        scratchMm: null,
        runsWith: over?.code ? runsWith(over.code) : [],
        load: given(isFired),
      })),
      yesAt: given(alike.hasYes),
      trayMm: Math.max(0, ...alike.glazes.map(({ over }) => over?.trayMm ?? 0)),
      flag: alike.isFlagged ? '' : null,
    },
    next,
    settings,
    now,
  );
  return { next, open: gates.flatMap(({ gate, ok }) => (ok ? [] : [gate])) };
}
