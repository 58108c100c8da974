import type { BucketCommand } from '../server/buckets/service/index.ts';
import { planBatch, pour, sign, weigh } from './batches.ts';
import {
  cup,
  cupUnstirred,
  dip,
  float,
  flow,
  jug,
  level,
  misreadThenVoid,
  problem,
  retire,
  rinse,
  settle,
  setUp,
  sharedRinse,
  stir,
  water,
} from './deeds.ts';
import { ago, agoAtTablet, type Weeks } from './history.ts';
import type { DemoRecipe } from './recipes.ts';
import { tile } from './tiles.ts';

const HOURS = 60;
const DAYS = 24 * HOURS;

export interface DemoBucket {
  command: BucketCommand;
  recipe: DemoRecipe;
  weeks: Weeks | null;
  lately: ReturnType<typeof ago>[];
}

const PAIL_25 = { capacityLitres: 25, bottomMm: 280, topMm: 310, heightMm: 380 };
const PAIL_20 = { capacityLitres: 20, bottomMm: 260, topMm: 290, heightMm: 340 };
const CONE_6 = { coneFrom: '6', coneTo: '6', atmosphere: 'oxidation' } as const;
const GLAZE_FIRING = { cone: '6', atmosphere: 'oxidation' } as const;
const CONE_10 = { coneFrom: '9', coneTo: '10', atmosphere: 'reduction' } as const;

const what = (own: Partial<BucketCommand> & Pick<BucketCommand, 'code' | 'name' | 'colour' | 'target'>) => ({
  ...PAIL_25,
  ...CONE_6,
  stirIntervalMinutes: 5,
  readingTrustedHours: 168,
  sieveMesh: 80,
  mixMoreFraction: 1 / 3,
  ...own,
});

/** A band of 0.02 to either side. */
const about = (aim: number) => ({ low: aim - 0.02, aim, high: aim + 0.02 });

/** The wall as the demo opens: one bucket of every state, most of them looked after, some of them waiting. */
export const BUCKETS: DemoBucket[] = [
  {
    recipe: 'Harbour Grey',
    command: what({
      code: 'HG',
      name: 'Harbour Grey',
      colour: '#7d8790',
      place: 'rack A',
      target: about(1.46),
      rinseBucket: 'small grey pail under rack A',
      careNotes: 'Dip for three seconds on bisque. Breaks to rust where it runs thin on edges.',
    }),
    weeks: {
      startLitres: 24,
      sg: 1.455,
      risePerDay: 0.0018,
      waterDays: [15, 8],
      dipsPerDay: 1.2,
      level: { daysAgo: 2, litres: 18.4 },
      sievedDaysAgo: 12,
    },
    lately: [
      ago(
        17 * DAYS,
        'Wren',
        tile({ clay: 'Buff stoneware', ...GLAZE_FIRING, colour: '#7d8790', note: 'Rust where it breaks.' }),
      ),
      ago(17 * DAYS - 5, 'Wren', tile({ clay: 'White stoneware', ...GLAZE_FIRING, colour: '#98a3ab' })),
      ago(
        9 * DAYS,
        'Wren',
        tile({
          clay: 'Buff stoneware',
          ...GLAZE_FIRING,
          colour: '#6d777f',
          over: { code: 'CH', colour: '#efece3' },
          note: 'Runs over Chalk: stop two fingers above the foot.',
        }),
      ),
      ago(4 * DAYS + 3 * HOURS, 'Wren', rinse(0.8, 1.06)),
      ago(4 * DAYS + 2.9 * HOURS, 'Wren', jug(1.458)),
      ago(25 * HOURS, 'Tomas', cup(1.483)),
      agoAtTablet(20 * HOURS, 'Petra', dip({ cups: 2, bowls: 3 })),
      ago(25, 'Ida', cup(1.52)),
    ],
  },
  {
    recipe: 'Copper Fern',
    command: what({
      code: 'CF',
      name: 'Copper Fern',
      colour: '#3f7a5a',
      place: 'rack B',
      target: about(1.44),
      careNotes: 'Copper: not for the inside of anything that holds food.',
    }),
    weeks: {
      startLitres: 22,
      sg: 1.436,
      risePerDay: 0.0011,
      waterDays: [11],
      dipsPerDay: 0.8,
      level: { daysAgo: 4, litres: 17.5 },
    },
    lately: [
      ago(22 * HOURS, 'Wren', jug(1.441)),
      ago(40, 'Tomas', problem('contaminated', 'A sponge fell in while I was wiping a foot.')),
    ],
  },
  {
    recipe: 'Rain Moss',
    command: what({
      code: 'RM',
      name: 'Rain Moss',
      colour: '#6f7f4f',
      place: 'rack A',
      target: about(1.42),
      stirIntervalMinutes: 2,
      careNotes: 'Much frit and little clay: it settles while you talk.',
    }),
    weeks: {
      startLitres: 20,
      sg: 1.418,
      risePerDay: 0.0021,
      waterDays: [14],
      dipsPerDay: 0.8,
      level: { daysAgo: 3, litres: 14.6 },
      to: 3,
    },
    lately: [
      ago(28 * HOURS, 'Lowell', cup(1.452)),
      ago(3 * HOURS, 'Noor', water(0.75)),
      ago(3 * HOURS - 2, 'Noor', stir),
    ],
  },
  {
    recipe: 'Oat Satin',
    command: what({
      code: 'OS',
      name: 'Oat Satin',
      colour: '#d9c9a3',
      place: 'rack C',
      target: about(1.5),
      rinseBucket: 'lidded jar on rack C',
    }),
    weeks: {
      startLitres: 19,
      sg: 1.495,
      risePerDay: 0.0012,
      waterDays: [12],
      dipsPerDay: 1,
      level: { daysAgo: 3, litres: 14 },
      sievedDaysAgo: 16,
    },
    lately: [ago(27 * HOURS, 'Noor', water(1.2)), ago(2 * HOURS, 'Petra', cup(1.46)), ago(5, 'Lowell', stir)],
  },
  {
    recipe: 'Kelp',
    command: what({
      ...CONE_10,
      code: 'KE',
      name: 'Kelp',
      colour: '#5c5b32',
      place: 'rack A',
      target: about(1.47),
      careNotes: 'Ash and soda dissolve in it: stir, and never pour the clear water away.',
    }),
    weeks: {
      startLitres: 21,
      sg: 1.466,
      risePerDay: 0.0008,
      waterDays: [9],
      dipsPerDay: 0.7,
      level: { daysAgo: 5, litres: 17 },
    },
    lately: [ago(26 * HOURS, 'Wren', jug(1.478)), agoAtTablet(3 * HOURS, 'Jory', dip({ bowls: 4 }))],
  },
  {
    recipe: 'Cinder Black',
    command: what({
      ...CONE_10,
      code: 'CB',
      name: 'Cinder Black',
      flow: { low: 16, high: 26 },
      colour: '#2b2a2c',
      place: 'rack B',
      target: about(1.45),
      stirIntervalMinutes: 20,
    }),
    weeks: {
      startLitres: 23,
      sg: 1.446,
      risePerDay: 0.0006,
      waterDays: [13],
      dipsPerDay: 1,
      level: { daysAgo: 3, litres: 18.8 },
    },
    lately: [
      ago(
        12 * DAYS,
        'Maro',
        tile({ clay: 'Iron-rich stoneware', cone: '10', atmosphere: 'reduction', colour: '#2b2a2c' }),
      ),
      ago(26 * HOURS, 'Noor', cupUnstirred(1.4)),
      ago(25 * HOURS, 'Wren', jug(1.45)),
      ago(24.9 * HOURS, 'Wren', flow(13)),
      ago(4, 'Petra', dip({ cups: 3, bowls: 1 })),
    ],
  },
  {
    recipe: 'Chalk',
    command: what({
      code: 'CH',
      name: 'Chalk',
      flow: { low: 18, high: 28 },
      colour: '#efece3',
      place: 'rack C',
      target: about(1.48),
      stirIntervalMinutes: 30,
      careNotes: 'Plenty of clay: it stays up well. Two thin dips cover better than one.',
    }),
    weeks: {
      startLitres: 22,
      sg: 1.476,
      risePerDay: 0.0007,
      waterDays: [16],
      dipsPerDay: 1.4,
      level: { daysAgo: 2, litres: 17.2 },
    },
    lately: [
      ago(17 * DAYS, 'Wren', tile({ clay: 'Buff stoneware', ...GLAZE_FIRING, colour: '#efece3' })),
      ago(6 * HOURS, 'Ida', cup(1.482)),
      ago(5.9 * HOURS, 'Ida', flow(24)),
      agoAtTablet(11, 'Ida', dip({ cups: 2, bowls: 2 })),
    ],
  },
  {
    recipe: 'Tide Blue',
    command: what({
      code: 'TB',
      name: 'Tide Blue',
      colour: '#2f5d8a',
      place: 'rack C',
      target: about(1.43),
      stirIntervalMinutes: 15,
    }),
    weeks: {
      startLitres: 21,
      sg: 1.427,
      risePerDay: 0.0008,
      waterDays: [10],
      dipsPerDay: 1.1,
      level: { daysAgo: 3, litres: 16.3 },
      to: 3,
    },
    lately: [
      ago(49 * HOURS + 5, 'Lowell', misreadThenVoid(1.34, 'Wrote 1.34 where it read 1.43.')),
      ago(8 * DAYS, 'Wren', settle(1.43, 1.422)),
      ago(6 * DAYS, 'Petra', settle(1.432, 1.425)),
      ago(4 * DAYS, 'Wren', settle(1.429, 1.419)),
      ago(3 * DAYS, 'Wren', settle(1.431, 1.423)),
      ago(49 * HOURS, 'Lowell', cup(1.428)),
      ago(2, 'Tomas', dip({ bowls: 2, large: 1 })),
    ],
  },
  {
    recipe: 'Quarry Honey',
    command: what({
      ...PAIL_20,
      code: 'QH',
      name: 'Quarry Honey',
      colour: '#b5802f',
      place: 'back bench',
      target: about(1.47),
    }),
    weeks: null,
    lately: [
      ago(7 * DAYS, 'Wren', planBatch(13)),
      ago(7 * DAYS - 10, 'Wren', weigh(1)),
      ago(7 * DAYS - 55, 'Maro', sign(1)),
      ago(5 * DAYS, 'Wren', pour(1, 9.3, 'Sieved twice through 80 mesh; tile in the next glaze firing')),
      ago(4 * DAYS, 'Wren', jug(1.476)),
      ago(27 * HOURS, 'Wren', jug(1.474)),
    ],
  },
  {
    recipe: 'Willow Dusk',
    command: what({
      ...PAIL_20,
      code: 'WD',
      name: 'Willow Dusk',
      colour: '#8a7aa0',
      place: 'rack B',
      target: about(1.45),
    }),
    weeks: {
      startLitres: 18.5,
      sg: 1.447,
      risePerDay: 0.0009,
      waterDays: [12, 5],
      dipsPerDay: 2.4,
      level: { daysAgo: 2, litres: 5.1 },
    },
    lately: [
      ago(23 * HOURS, 'Jory', cup(1.451)),
      ago(19 * HOURS, 'Noor', dip({ cups: 4, bowls: 2 })),
      ago(50, 'Jory', dip({ large: 1 })),
    ],
  },
  {
    recipe: 'First Frost',
    command: what({
      ...PAIL_20,
      code: 'FF',
      name: 'First Frost',
      colour: '#dfe7ea',
      place: 'back bench',
      target: about(1.44),
      stirIntervalMinutes: 2,
    }),
    weeks: null,
    lately: [ago(22 * HOURS, 'Wren', setUp(16, 1.45))],
  },
  {
    recipe: 'Brickfield',
    command: what({
      ...CONE_10,
      code: 'BF',
      name: 'Brickfield',
      colour: '#9a4b32',
      place: 'rack B',
      target: about(1.49),
    }),
    weeks: {
      startLitres: 20,
      sg: 1.486,
      risePerDay: 0.0004,
      waterDays: [18],
      dipsPerDay: 0.7,
      level: { daysAgo: 4, litres: 15.8 },
      sievedDaysAgo: 6,
      lidOff: { daysAgo: 11, by: 0.012 },
    },
    lately: [
      ago(28 * HOURS, 'Wren', jug(1.503)),
      ago(26 * HOURS, 'Petra', float(93, 91)),
      ago(5 * HOURS, 'Noor', problem('lid-off', 'The lid lay beside it when I came in.')),
    ],
  },
  {
    recipe: 'Weir Foam',
    command: what({
      code: 'WF',
      name: 'Weir Foam',
      colour: '#c9d6cf',
      place: 'rack A',
      target: about(1.45),
      stirIntervalMinutes: 20,
      flow: { low: 18, high: 30 },
      careNotes: 'Gels while it stands. Stir hard, then look at its flow; water makes it worse.',
    }),
    weeks: {
      startLitres: 21,
      sg: 1.446,
      risePerDay: 0.0007,
      waterDays: [9],
      dipsPerDay: 0.6,
      level: { daysAgo: 3, litres: 18.2 },
    },
    lately: [
      ago(5 * DAYS, 'Wren', flow(27)),
      ago(4 * HOURS, 'Wren', jug(1.452)),
      ago(4 * HOURS - 6, 'Wren', flow(41)),
    ],
  },
  {
    recipe: 'Mixed reclaim',
    command: what({
      code: 'MP',
      name: 'Millpond',
      colour: '#7a6f62',
      place: 'store room',
      target: about(1.47),
      isReclaim: true,
      careNotes: 'Sieve what you bring. Nobody promises a colour.',
    }),
    weeks: null,
    lately: [
      ago(6 * DAYS, 'Wren', setUp(11, 1.47)),
      ago(3 * DAYS, 'Wren', sharedRinse(1.5)),
      ago(3 * DAYS - 10, 'Wren', jug(1.462)),
      ago(30 * HOURS, 'Jory', dip({ bowls: 3 })),
    ],
  },
  {
    recipe: 'Old Mill',
    command: what({
      ...PAIL_20,
      code: 'OM',
      name: 'Old Mill',
      colour: '#8d8a83',
      place: 'store room',
      target: about(1.45),
    }),
    weeks: {
      startLitres: 6,
      sg: 1.448,
      risePerDay: 0.001,
      waterDays: [],
      dipsPerDay: 1.2,
      level: { daysAgo: 12, litres: 1.5 },
      to: 11,
    },
    lately: [
      ago(10 * DAYS, 'Wren', level(0)),
      ago(10 * DAYS - 10, 'Wren', retire('Used up; Harbour Grey takes its place.')),
    ],
  },
];
