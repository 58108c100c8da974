import { z } from 'zod';
import { type Endpoint, pages, read, write } from '../core/api.ts';
import { iso, whole } from '../core/json.ts';
import { BISQUE_METHODS } from './bisque.ts';
import * as ware from './service/index.ts';

const num = z.number();
const LARGEST = 999_999_999;
const clay = z.object({ id: whole(1, LARGEST) });

const clayAnswer = z.object({
  id: z.int(),
  name: z.string(),
  maxCone: z.string(),
  bisqueCone: z.string(),
  bisqueProgramme: z.string(),
  /** Percent of the dry mass that its bisque should absorb when boiled; null: nobody said. */
  absorptionBand: z.object({ low: num, high: num }).nullable(),
  /** Of the newest boiled test that counts. */
  absorptionPercent: num.nullable(),
});

const testAnswer = z.object({
  id: z.int(),
  method: z.enum(BISQUE_METHODS),
  load: z.int().nullable(),
  at: z.iso.datetime(),
  note: z.string().nullable(),
  struck: z.object({ at: z.iso.datetime(), reason: z.string() }).nullable(),
  specimens: z.array(z.record(z.string(), num)),
  absorptionPercent: num,
  /** Sample spread; null of one specimen. */
  spreadPercent: num.nullable(),
  /** These three of boiled tests only: the quick version is not held against the band. */
  apparentPorosityPercent: num.nullable(),
  bulkDensity: num.nullable().meta({ description: 'g/cm³' }),
  againstBand: z.enum(['in', 'under-fired', 'over-fired']).nullable(),
});

function testJson(test: ware.BisqueTest): z.input<typeof testAnswer> {
  const { id, method, load, at, note, struck, meanPercent, spreadPercent } = test;
  const mean = test.method === 'boiled' ? test.found.mean : null;
  return {
    id,
    method,
    load,
    at: iso(at),
    note,
    struck: struck && { at: iso(struck.at), reason: struck.reason },
    specimens: test.specimens.map((one) => ({ ...one })),
    absorptionPercent: meanPercent,
    spreadPercent,
    apparentPorosityPercent: mean?.apparentPorosityPercent ?? null,
    bulkDensity: mean?.bulkDensity ?? null,
    againstBand: test.method === 'boiled' ? test.against : null,
  };
}

export const bisqueEndpoints: Endpoint[] = [
  read({
    path: '/clays',
    permission: 'ware.own',
    summary: 'Clays in use, with what their bisque should absorb and what it did',
    whole: 'as many as are in use',
    answer: z.object({ clays: z.array(clayAnswer) }),
    run: async (ask) => {
      const [clays, newest] = await Promise.all([ware.listClays(ask), ware.newestAbsorptions(ask)]);
      return {
        clays: clays.map(({ id, name, maxCone, bisqueCone, bisqueProgramme, band }) => ({
          id,
          name,
          maxCone,
          bisqueCone,
          bisqueProgramme,
          absorptionBand: band,
          absorptionPercent: newest.get(id) ?? null,
        })),
      };
    },
  }),
  pages({
    path: '/clays/:id/bisque-tests',
    permission: 'ware.own',
    summary: "Absorption tests of a clay's bisque, newest first; struck out ones too",
    params: clay,
    page: { most: 200, usual: 50 },
    answer: z.object({ tests: z.array(testAnswer), next: z.int().nullable() }),
    run: async (ask, { params, query }) => {
      const { tests, next } = await ware.listBisqueTests(ask, params.id, query);
      return { tests: tests.map(testJson), next };
    },
  }),
  write({
    path: '/clays/:id/bisque-tests',
    permission: 'ware.decide',
    summary:
      'Keep an absorption test: boiled by ASTM C373, or the quick version, soaked for two minutes; grams',
    params: clay,
    body: ware.bisqueTestBody,
    answer: testAnswer,
    run: async (act, { params, body }) => {
      const id = await ware.keepBisqueTest(act, params.id, body);
      return testJson(await ware.findBisqueTest(act, params.id, id));
    },
  }),
  write({
    path: '/clays/:id/bisque-tests/:test/strike',
    permission: 'ware.decide',
    summary: 'Strike out a test that was wrong; it stays, with the reason',
    params: clay.extend({ test: whole(1, LARGEST) }),
    body: ware.strikeTestForm,
    answer: testAnswer,
    run: async (act, { params, body }) => {
      await ware.strikeBisqueTest(act, params.id, params.test, body);
      return testJson(await ware.findBisqueTest(act, params.id, params.test));
    },
  }),
];
