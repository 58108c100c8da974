import { HOUR, type Instant } from '../core/clock.ts';
import { shownTime } from '../core/wall-time.ts';
import { type CoolingSettings, mayOpen, type OpeningStep } from './cooling.ts';
import type { LoadState } from './load-fold.ts';

/** What a kiln is, as it is read across the room. */
export const BOARD_WORDS = {
  firing: 'FIRING',
  hot: 'HOT',
  cooling: 'COOLING',
  cold: 'COLD',
  loaded: 'LOADED',
  empty: 'EMPTY',
  'out-of-service': 'OUT OF SERVICE',
} as const;
export type BoardState = keyof typeof BOARD_WORDS;

interface InKiln {
  state: 'loaded' | 'firing' | 'cooling';
}

/** °C that somebody typed. */
interface Read {
  c: number;
  at: Instant;
}

/**
 * What a kiln's board says. Heat goes before everything: a kiln that is hot says so, in service or not. While it
 * cools only a typed reading from after it was shut off makes it anything but hot; no forecast does.
 */
export function boardState(
  kiln: { service: 'in-service' | 'out-of-service' },
  load: InKiln | null,
  read: Read | null,
  settings: Pick<CoolingSettings, 'lidShutAboveC' | 'handsBelowC'>,
): BoardState {
  if (load?.state === 'firing') return 'firing';
  if (load?.state === 'cooling') {
    if (!read || !(read.c < settings.lidShutAboveC)) return 'hot';
    return read.c < settings.handsBelowC ? 'cold' : 'cooling';
  }
  if (kiln.service === 'out-of-service') return 'out-of-service';
  return load ? 'loaded' : 'empty';
}

/**
 * Who may open a kiln that fires or cools, as a sentence.
 * @param firers names of who may fire it, which everybody may know
 */
export function whoOpens(
  load: InKiln,
  read: Read | null,
  settings: CoolingSettings,
  firers: readonly string[],
): string {
  const whoFires = firers.length === 0 ? 'whoever fires this kiln' : orList(firers);
  const { lidShutAboveC, openBelowC } = settings;
  if (load.state === 'firing') return 'Nobody opens it while it fires.';
  const step: OpeningStep = read ? mayOpen(read.c, settings).step : 'shut';
  const first = 'Read the pyrometer first';
  switch (step) {
    case 'shut':
      return `Nobody opens it above ${lidShutAboveC} °C. ${first}.`;
    case 'crack-by-firer':
      return `May be cracked by ${whoFires}. Otherwise shut until ${openBelowC} °C. ${first}.`;
    case 'open':
    case 'unload-with-gloves':
      return `Opened by ${orList([...firers, 'a technician'])}. ${first}.`;
  }
}

const orList = (names: readonly string[]): string =>
  names.length < 2 ? names.join('') : `${names.slice(0, -1).join(', ')} or ${names.at(-1)}`;

/** A load on its way, for whoever's ware is in it. */
interface OnItsWay {
  state: LoadState;
  /** By plan or, once it fires, by forecast. */
  place: { startsAt: Instant; freeAt: Instant } | null;
}

/** 'firing now, out about Saturday 09:30', 'fires Thursday 18:00': goes on inside a sentence. */
export function loadWayWords({ state, place }: OnItsWay, now: Instant, timeZone: string): string {
  const at = (instant: Instant) => shownTime(instant, now, timeZone);
  const isLate = place !== null && place.startsAt < now - HOUR;
  const fires =
    place === null ? 'not on the calendar yet' : isLate ? 'to be fired soon' : `fires ${at(place.startsAt)}`;
  switch (state) {
    case 'proposed':
    case 'approved':
      return fires;
    case 'loaded':
      return `in the kiln, ${fires}`;
    case 'firing':
      return place ? `firing now, out about ${at(place.freeAt)}` : 'firing now';
    case 'cooling':
      return place ? `cooling, out about ${at(place.freeAt)}` : 'cooling';
    case 'unloaded':
      return 'out of the kiln';
    case 'cancelled':
      return 'cancelled';
  }
}
