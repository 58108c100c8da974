import type { Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { type BoardState, boardState, whoOpens } from '../board-words.ts';
import { coolingRead } from '../calendar.ts';
import { HAND_LOG_EVERY, lastChecked, standing } from '../firing-record.ts';
import type { KilnSettings } from '../settings.ts';
import * as store from '../store/calendar.ts';
import { eventsOfKinds } from '../store/firing.ts';
import { loadsOnCalendar, type OnCalendar } from './calendar.ts';
import { type KilnNow, listKilns } from './kilns.ts';
import { kilnSettings } from './settings.ts';

/** A kiln as its board says it, for whoever asks. */
export interface KilnOnBoard {
  kiln: KilnNow;
  state: BoardState;
  /** What stands in it: loaded, firing or not emptied yet. */
  load: OnCalendar | null;
  /** The newest reading that somebody typed, of this load or the one before. */
  measured: { c: number; at: Instant } | null;
  /** Who may open it, by name; null for a kiln that nobody has to wait for. */
  whoOpens: string | null;
  /** When the next line of a hand log is due, for a kiln with burners lit. */
  nextLineAt: Instant | null;
  /** When its burners were to be off at the latest, as it was agreed, once that is past and they are lit; else null. */
  offSince: Instant | null;
  /** What is put into it next: under loading, else the next by the calendar. */
  next: OnCalendar | null;
}

export interface Board {
  kilns: KilnOnBoard[];
  /** Every load that is not done with, by number. */
  loads: OnCalendar[];
  settings: KilnSettings;
}

/** Every kiln in use as it stands. */
export async function showBoard(read: Read): Promise<Board> {
  mustBeAllowed(read.actor, 'kilns.see');
  const [kilns, loads, settings, readings] = await Promise.all([
    listKilns(read),
    loadsOnCalendar(read),
    kilnSettings(read),
    store.newestReadings(read.tx),
  ]);
  const burning = await withBurnersLit(read, loads);
  const shown = kilns.map((kiln): KilnOnBoard => {
    const own = loads.filter((load) => load.kiln.id === kiln.id);
    const load = ['firing', 'cooling', 'loaded'].flatMap((state) =>
      own.filter((one) => one.state === state),
    )[0];
    const inKiln = load ? { state: load.state as 'loaded' | 'firing' | 'cooling' } : null;
    const cooled = load ? coolingRead(load) : null;
    const burners = load && burning.get(load.id);
    const isHot = load?.state === 'firing' || load?.state === 'cooling';
    return {
      kiln,
      state: boardState(kiln, inKiln, cooled, settings),
      load: load ?? null,
      measured: readings.find(({ kilnId }) => kilnId === kiln.id) ?? null,
      whoOpens:
        inKiln && isHot
          ? whoOpens(
              inKiln,
              cooled,
              settings,
              kiln.firers.map(({ name }) => name),
            )
          : null,
      nextLineAt: burners?.nextLineAt ?? null,
      offSince: burners?.offSince ?? null,
      next: nextOf(own),
    };
  });
  return { kilns: shown, loads, settings };
}

function nextOf(own: OnCalendar[]): OnCalendar | null {
  const toCome = own.filter(({ state }) => state === 'proposed' || state === 'approved');
  const planned = toCome.filter(({ place }) => place !== null);
  planned.sort((a, b) => (a.place?.startsAt ?? 0) - (b.place?.startsAt ?? 0));
  return planned[0] ?? toCome.find(({ state }) => state === 'approved') ?? null;
}

/** When the hand log of each load with burners lit wants its next line, and since when they should be off. */
async function withBurnersLit(
  read: Read,
  loads: readonly OnCalendar[],
): Promise<Map<number, Pick<KilnOnBoard, 'nextLineAt' | 'offSince'>>> {
  const lit = loads.filter(
    ({ state, kiln, startedAt }) => state === 'firing' && kiln.power === 'gas' && startedAt,
  );
  const all = await eventsOfKinds(
    read.tx,
    lit.map(({ id }) => id),
    ['gas-reading', 'loaded', 'checked'],
  );
  return new Map(
    lit.map(({ id, startedAt }) => {
      const events = all.filter(({ loadId }) => loadId === id);
      const lines = standing(events).filter(({ kind }) => kind === 'gas-reading');
      const last = Math.max(startedAt ?? 0, ...lines.map(({ happenedAt }) => happenedAt));
      const agreed = lastChecked(events)?.latestShutOff;
      const offSince = agreed !== undefined && agreed < read.now ? agreed : null;
      return [id, { nextLineAt: last + HAND_LOG_EVERY, offSince }];
    }),
  );
}
