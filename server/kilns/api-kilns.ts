import { z } from 'zod';
import { type Endpoint, read, write } from '../core/api.ts';
import { ATMOSPHERES, FIRING_KINDS } from '../ware/firing.ts';
import * as kilns from './service/index.ts';

const num = z.number();
const words = z.string();
const firings = num
  .int()
  .nullable()
  .meta({ description: 'Firings since it was changed; null where not noted' });

const kilnAnswer = z.object({
  code: words,
  name: words,
  opens: z.enum(['top', 'front']),
  shelf: kilns.shelfBody.meta({
    description: 'The outline ware stands on; origin as of positions, see postPositions',
  }),
  fullShelves: num,
  halfShelves: num,
  shelfThicknessMm: num,
  usableHeightMm: num,
  floorPostMm: num,
  edgeGapMm: num,
  splitGapMm: num,
  clearanceMm: num,
  topClearanceMm: num,
  posts: z.array(z.object({ heightMm: num, count: num })),
  postsPerShelf: num,
  postPositions: z.array(z.object({ xMm: num, yMm: num, widthMm: num, depthMm: num })).meta({
    description:
      'Middles of the feet: from the middle of a round or polygonal shelf, from the front left corner of a rectangle; x to the right, y to the back',
  }),
  stackedPosts: z.boolean(),
  keepOuts: z.array(z.looseObject({ shape: z.enum(['circle', 'rectangle']), xMm: num, yMm: num })),
  tallLevel: z.enum(['top', 'bottom', 'any']),
  maxCone: words,
  atmospheres: z.array(z.enum(ATMOSPHERES)),
  power: z.enum(['electric', 'gas']),
  kilowatts: num.nullable(),
  volts: num.nullable(),
  duty: num.nullable(),
  controls: z.enum(['front', 'back', 'left', 'right']),
  emergency: words,
  service: z.enum(['in-service', 'out-of-service']),
  serviceCause: words,
  firers: z.array(words).meta({ description: 'Who may fire it, by name' }),
  mayFire: z.boolean().meta({ description: 'Whether that is the owner of the token' }),
  firingsSince: z.object({ elements: firings, relays: firings, thermocouple: firings }),
  retired: z.boolean(),
});

function kilnJson({
  id: _,
  madeAt: __,
  retiredAt,
  firers,
  ...kiln
}: kilns.KilnNow): z.input<typeof kilnAnswer> {
  return {
    ...kiln,
    keepOuts: kiln.keepOuts.map((zone) => ({ ...zone })),
    firers: firers.map(({ name }) => name),
    retired: retiredAt !== null,
  };
}

const scheduleAnswer = z.object({
  number: num,
  name: words,
  kind: z.enum(FIRING_KINDS),
  cone: words,
  forThick: z.boolean(),
  segments: z.array(
    z.object({
      rateCPerH: num.nullable().meta({ description: '°C an hour; null: as fast as the kiln goes' }),
      toC: num,
      holdMin: num,
    }),
  ),
  topC: num,
  hours: num,
});

const scheduleJson = ({
  number,
  name,
  kind,
  cone,
  forThick,
  segments,
  topC,
  hours,
}: kilns.Schedule): z.input<typeof scheduleAnswer> => ({
  number,
  name,
  kind,
  cone,
  forThick,
  segments: segments.map(({ rateCPerH, ...rest }) => ({
    rateCPerH: rateCPerH === 'full' ? null : rateCPerH,
    ...rest,
  })),
  topC,
  hours,
});

const byCode = z.object({ code: z.string() });

export const kilnsEndpoints: Endpoint[] = [
  read({
    path: '/kilns',
    permission: 'kilns.see',
    summary: 'Kilns in use, with their furniture and who may fire them',
    whole: 'as many as a studio has',
    answer: z.object({ kilns: z.array(kilnAnswer) }),
    run: async (ask) => ({ kilns: (await kilns.listKilns(ask)).map(kilnJson) }),
  }),
  read({
    path: '/kilns/:code',
    permission: 'kilns.see',
    summary: 'One kiln, a retired one too',
    params: byCode,
    answer: kilnAnswer,
    run: async (ask, { params }) => kilnJson(await kilns.findKiln(ask, params.code)),
  }),
  write({
    path: '/kilns',
    permission: 'kilns.edit',
    summary:
      'A new kiln. Lengths in mm; what is left out is common practice; without postPositions three a shelf',
    body: kilns.kilnBody,
    answer: kilnAnswer,
    run: async (act, { body }) => kilnJson(await kilns.createKiln(act, body)),
  }),
  write({
    path: '/kilns/:code/care',
    permission: 'kilns.care',
    summary: 'Note what was done to a kiln; answers the number of the entry',
    params: byCode,
    body: kilns.careBody,
    answer: z.object({ number: num }),
    run: async (act, { params, body }) => ({ number: await kilns.noteCare(act, params.code, body) }),
  }),
  read({
    path: '/schedules',
    permission: 'kilns.see',
    summary: 'Firing schedules in use',
    whole: 'as many as are in use',
    answer: z.object({ schedules: z.array(scheduleAnswer) }),
    run: async (ask) => ({ schedules: (await kilns.listSchedules(ask)).map(scheduleJson) }),
  }),
];
