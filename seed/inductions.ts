import { DAY, type Instant } from '../server/core/clock.ts';
import { toWallTime } from '../server/core/wall-time.ts';
import { holdBriefing } from '../server/safety/service/briefings.ts';
import { giveInductions } from '../server/safety/service/inductions.ts';
import { safetySettings, saveSafetySettings } from '../server/safety/service/settings.ts';
import { VERBS, type Verb } from '../server/safety/settings.ts';
import { DEMO_PEOPLE, type DemoName } from './people.ts';
import type { By } from './ware.ts';

const AT_BUCKETS: Verb[] = ['common', 'dip', 'add-water'];

/** What people were shown on one day, in days ago. */
interface Shown {
  by: DemoName;
  who: DemoName[];
  verbs: Verb[];
  daysAgo: number;
}

/** Everybody has theirs; Wren’s common rules end soon, Lowell’s spraying ran out, and Noor was never shown it. */
const SHOWN: Shown[] = [
  { by: 'Maro', who: ['Wren'], verbs: ['common'], daysAgo: 345 },
  { by: 'Maro', who: ['Wren'], verbs: VERBS.filter((verb) => verb !== 'common'), daysAgo: 190 },
  { by: 'Wren', who: ['Maro'], verbs: VERBS.filter((verb) => verb !== 'fire-gas'), daysAgo: 200 },
  { by: 'Maro', who: ['Maro'], verbs: ['fire-gas'], daysAgo: 190 },
  { by: 'Wren', who: ['Ida', 'Tomas', 'Petra', 'Lowell'], verbs: AT_BUCKETS, daysAgo: 150 },
  { by: 'Wren', who: ['Noor', 'Jory'], verbs: AT_BUCKETS, daysAgo: 95 },
  { by: 'Wren', who: ['Ida', 'Petra', 'Jory', 'Tomas'], verbs: ['spray'], daysAgo: 90 },
  { by: 'Wren', who: ['Lowell'], verbs: ['spray'], daysAgo: 380 },
  { by: 'Wren', who: ['Jory'], verbs: ['fire-electric', 'open-kiln'], daysAgo: 80 },
];

const GATED: Verb[] = ['dip', 'mix-dry', 'spray', 'load', 'fire-electric', 'fire-gas', 'open-kiln'];

const emailOf = (name: DemoName): string => DEMO_PEOPLE.find((one) => one.name === name)?.email ?? '';

/** Everybody was shown what they do here long before it was kept here; then it was asked for. */
export async function showEverybody(by: By, opened: Instant, timeZone: string): Promise<void> {
  for (const { by: who, who: people, verbs, daysAgo } of SHOWN)
    await giveInductions(by(who, opened), {
      people: people.map(emailOf),
      verbs,
      givenOn: toWallTime(opened - (daysAgo - 30) * DAY, timeZone).slice(0, 10),
    });
  const maro = by('Maro', opened);
  await saveSafetySettings(maro, { ...(await safetySettings(maro)), gated: GATED });
}

/** A class that came last week; call it once buckets and notices stand. */
export async function briefClass(by: By, now: Instant, timeZone: string): Promise<void> {
  const at = now - 6 * DAY;
  await holdBriefing(by('Petra', at), {
    className: 'Friday beginners',
    heads: 6,
    hasChildren: false,
    heldOn: toWallTime(at, timeZone).slice(0, 10),
    buckets: ['HG', 'OS', 'TB'],
    roster: ['Anselm', 'Bettine', 'Corwin', 'Delphine', 'Eskil', 'Fenna'],
  });
}
