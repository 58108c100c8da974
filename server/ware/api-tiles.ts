import { z } from 'zod';
import { type Endpoint, pages, read, write } from '../core/api.ts';
import { code, text } from '../core/forms.ts';
import { iso, whole } from '../core/json.ts';
import {
  addTile,
  type CoatTile,
  coatAdvice,
  coatTileForm,
  findClayNamed,
  findCoatTile,
  listCoatTiles,
  strikeTile,
  strikeTileForm,
  tileAgainstBucket,
} from './service/index.ts';

const num = z.number();
const LARGEST = 2 ** 31 - 1;

const tileAnswer = z.object({
  id: z.int(),
  clay: z.string(),
  bucket: z.string(),
  at: z.iso.datetime(),
  by: z.string(),
  seconds: num,
  /** Of the bucket when it was dipped. */
  specificGravity: num,
  areaCm2: num,
  wetGainGrams: num,
  /** Weighed dry; null where the coat follows from the wet gain. */
  dryGrams: num.nullable(),
  gramsPerCm2: num,
  thicknessMm: num,
  /** The gravity that its dry weighing says the bucket had. */
  gravityByTile: num.nullable(),
  /** Where that differs from the bucket's. */
  warning: z.string().nullable(),
  note: z.string().nullable(),
  struck: z.object({ by: z.string(), at: z.iso.datetime(), why: z.string() }).nullable(),
});

function tileJson(tile: CoatTile): z.input<typeof tileAnswer> {
  const { id, clay, bucket, at, by, seconds, specificGravity, areaCm2, gainGrams, dryGrams } = tile;
  const { gramsPerCm2, mm, gravityByTile, note, struck } = tile;
  return {
    id,
    clay: clay.name,
    bucket,
    at: iso(at),
    by: by.name,
    seconds,
    specificGravity,
    areaCm2,
    wetGainGrams: gainGrams,
    dryGrams,
    gramsPerCm2,
    thicknessMm: mm,
    gravityByTile,
    warning: tileAgainstBucket(tile),
    note,
    struck: struck && { ...struck, at: iso(struck.at) },
  };
}

export const tileEndpoints: Endpoint[] = [
  pages({
    path: '/coat-tiles',
    permission: 'ware.own',
    summary: 'Test tiles, struck out or not, newest first',
    query: {
      clay: text(60).optional(),
      bucket: code().optional(),
    },
    page: { most: 200, usual: 50 },
    answer: z.object({ tiles: z.array(tileAnswer), next: z.int().nullable() }),
    async run(ask, { query: { limit, ...filter } }) {
      const tiles = await listCoatTiles(ask, filter, limit + 1);
      const shown = tiles.slice(0, limit);
      return {
        tiles: shown.map(tileJson),
        next: tiles.length > limit ? (shown.at(-1)?.id ?? null) : null,
      };
    },
  }),
  write({
    path: '/coat-tiles',
    permission: 'ware.decide',
    summary: 'Keeps a test tile that was dipped and weighed; an odd coat needs `confirm`',
    body: coatTileForm,
    answer: tileAnswer,
    run: async (act, { body }) => tileJson(await addTile(act, body)),
  }),
  write({
    path: '/coat-tiles/:id/strike',
    permission: 'ware.decide',
    summary: 'Strikes out a tile that was wrong: it is kept and counts no more',
    params: z.object({ id: whole(1, LARGEST) }),
    body: strikeTileForm,
    status: 200,
    answer: tileAnswer,
    async run(act, { params: { id }, body }) {
      await strikeTile(act, id, body);
      return tileJson(await findCoatTile(act, id));
    },
  }),
  read({
    path: '/coat/advice',
    permission: 'ware.own',
    summary: 'What to count for a clay in a bucket as it is now, and what that rests on',
    query: z.object({
      /** By its name. */
      clay: text(60),
      bucket: code(),
      /** The thickest part of what is dipped; needs absorption tests of the clay. */
      wallMm: whole(1, 500).optional(),
      glazedFaces: whole(1, 2).optional(),
    }),
    answer: z.object({
      clay: z.string(),
      bucket: z.string(),
      /** Null where nobody has read it. */
      specificGravity: num.nullable(),
      wantedMm: num,
      dryCoatDensity: num,
      basis: z.enum(['own', 'leans on others', 'others only', 'none']),
      /** That count, of this clay in this bucket. */
      tiles: z.int(),
      /** Seconds; `high` is null where tiles set no end. Null altogether where nothing can be said. */
      dwell: z.object({ low: num, best: num, high: num.nullable() }).nullable(),
      counts: z.object({ from: z.int(), to: z.int() }).nullable(),
      saturated: z.boolean(),
      words: z.string(),
    }),
    async run(ask, { query: { clay, bucket, wallMm, glazedFaces } }) {
      const { id } = await findClayNamed(ask, clay);
      const wall = wallMm && ({ thicknessMm: wallMm, glazedFaces: glazedFaces === 1 ? 1 : 2 } as const);
      const advice = await coatAdvice(ask, { clayId: id, bucket, ...(wall && { wall }) });
      const { dwell, fit } = advice;
      return {
        clay: advice.clay.name,
        bucket: advice.bucket.code,
        specificGravity: advice.gravity,
        wantedMm: advice.wantedMm,
        dryCoatDensity: advice.dryCoatDensity,
        basis: dwell.basis,
        tiles: fit.basis === 'none' ? 0 : fit.tiles,
        dwell: dwell.seconds,
        counts: dwell.counts,
        saturated: dwell.saturated,
        words: dwell.words,
      };
    },
  }),
];
