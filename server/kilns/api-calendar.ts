import { z } from 'zod';
import { type Endpoint, read, write } from '../core/api.ts';
import { DAY } from '../core/clock.ts';
import { Invalid } from '../core/errors.ts';
import { instant } from '../core/forms.ts';
import { iso } from '../core/json.ts';
import { num, loadParams as params, time } from './api-acts.ts';
import { BOARD_WORDS, type BoardState } from './board-words.ts';
import { LOAD_STATES } from './load-fold.ts';
import * as kilns from './service/index.ts';

const STATES = Object.keys(BOARD_WORDS) as [BoardState, ...BoardState[]];
const spanAnswer = z.object({ from: time, to: time });

const board = read({
  path: '/board',
  permission: 'kilns.see',
  summary:
    'What every kiln is now: its state, the newest typed reading, what stands in it and what comes next',
  whole: 'one for each kiln',
  answer: z.object({
    kilns: z.array(
      z.object({
        kiln: z.string(),
        state: z.enum(STATES),
        load: z.int().nullable(),
        /** Typed by somebody who read the pyrometer. */
        measured: z.object({ celsius: num, at: time }).nullable(),
        /** An estimate: it opens nothing. */
        coolEnoughToOpen: spanAnswer.nullable(),
        next: z.int().nullable(),
      }),
    ),
  }),
  async run(asked) {
    const { kilns: shown } = await kilns.showBoard(asked);
    return {
      kilns: shown.map(({ kiln, state, load, measured, next }) => ({
        kiln: kiln.code,
        state,
        load: load?.number ?? null,
        measured: measured && { celsius: measured.c, at: iso(measured.at) },
        coolEnoughToOpen: load?.opens ? { from: iso(load.opens.from), to: iso(load.opens.to) } : null,
        next: next?.number ?? null,
      })),
    };
  },
});

const LONGEST = 100 * DAY;

const calendar = read({
  path: '/calendar',
  permission: 'loads.see',
  summary: 'Loads on kilns over time; ends are forecasts until a load is emptied',
  query: z.object({ from: instant(), to: instant() }),
  whole: 'what stands on the kilns within a hundred days',
  answer: z.object({
    loads: z.array(
      z.object({
        load: z.int(),
        kiln: z.string(),
        state: z.enum(LOAD_STATES),
        startsAt: time,
        offAt: time,
        freeAt: time,
        /** Why it cannot stay there, a sentence each. */
        troubles: z.array(z.string()),
      }),
    ),
  }),
  async run(asked, { query }) {
    if (query.to <= query.from || query.to - query.from > LONGEST)
      throw new Invalid([{ path: 'to', message: 'After "from", and by 100 days at most.' }]);
    const { entries } = await kilns.showCalendar(asked, query);
    return {
      loads: entries.map(({ number: load, kiln, state, place, troubles }) => ({
        load,
        kiln: kiln.code,
        state,
        startsAt: iso(place.startsAt),
        offAt: iso(place.offAt),
        freeAt: iso(place.freeAt),
        troubles,
      })),
    };
  },
});

const slots = read({
  path: '/loads/:number/slots',
  permission: 'loads.plan',
  summary: 'The next times at which a load could start, the soonest first',
  params,
  whole: 'a few',
  answer: z.object({
    slots: z.array(z.object({ startsAt: time, freeAt: time })),
    cannot: z.string().nullable(),
  }),
  async run(asked, { params: { number: load } }) {
    const { slots: found, cannot } = await kilns.showPlan(asked, load);
    return {
      slots: found.map(({ startsAt, freeAt }) => ({ startsAt: iso(startsAt), freeAt: iso(freeAt) })),
      cannot,
    };
  },
});

const plan = write({
  path: '/loads/:number/plan',
  permission: 'loads.plan',
  summary: 'Put a load on the calendar, or at another time',
  status: 200,
  params,
  body: kilns.planForm,
  answer: z.object({ startsAt: time, offAt: time, freeAt: time }),
  async run(act, { params: { number: load }, body }) {
    const { startsAt, offAt, freeAt } = await kilns.planLoad(act, load, body);
    return { startsAt: iso(startsAt), offAt: iso(offAt), freeAt: iso(freeAt) };
  },
});

const unplan = write({
  path: '/loads/:number/unplan',
  permission: 'loads.plan',
  summary: 'Take a load off the calendar',
  status: 200,
  params,
  body: kilns.unplanForm,
  answer: z.object({}),
  async run(act, { params: { number: load }, body }) {
    await kilns.unplanLoad(act, load, body);
    return {};
  },
});

export const calendarEndpoints: Endpoint[] = [board, calendar, slots, plan, unplan];
