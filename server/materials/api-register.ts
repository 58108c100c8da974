import { z } from 'zod';
import { type Endpoint, read, write } from '../core/api.ts';
import { count, day, flag } from '../core/forms.ts';
import { whole } from '../core/json.ts';
import { commandOf } from './facts-form.ts';
import { label } from './hazards.ts';
import * as materials from './service/index.ts';

const num = z.number();
const words = z.string();

const pair = { hazardClass: words, hCode: words };
const sheetAnswer = z.object({
  state: z
    .enum(['none', 'newer-exists', 'look-again', 'current'])
    .meta({ description: 'look-again: its day has come; newer-exists: the supplier has another' }),
  supplier: words.nullable(),
  issuedOn: words.nullable(),
  reviewOn: words.nullable(),
  file: words.nullable().meta({ description: 'SHA-256 of the PDF, served at /files/{sha256}' }),
});

const shortAnswer = z.object({
  id: num,
  name: words,
  otherNames: z.array(words),
  version: num.meta({ description: '0: nobody has said more of it than name and density' }),
  retired: z.boolean(),
  classification: z.enum(['unknown', 'none', 'classified']),
  signalWord: z.enum(['Danger', 'Warning']).nullable(),
  pictograms: z.array(words),
  hStatements: z.array(words),
  sheet: sheetAnswer,
});

const wholeAnswer = shortAnswer.extend({
  density: num.meta({ description: 'Density of its particles, g/cm³' }),
  substances: z.array(z.object({ name: words, cas: words.nullable(), percent: num.nullable() })),
  hazards: z.array(
    z.object({
      ...pair,
      limitPercent: num.nullable(),
      ranges: z.array(z.object({ ...pair, fromPercent: num, belowPercent: num.nullable() })),
      mFactor: num.nullable(),
      note: words.nullable(),
    }),
  ),
  ate: z.object({
    oral: num.nullable(),
    dermal: num.nullable(),
    inhalation: z.object({ value: num, form: z.enum(['gas', 'vapour', 'dust-mist']) }).nullable(),
  }),
  pStatements: z.array(words),
  limits: z.array(
    z.object({
      of: words,
      value: num,
      unit: z.enum(['mg/m³', 'µg/m³', 'ppm']),
      averaging: z.enum(['8 h', '15 min', 'ceiling']),
      source: words,
    }),
  ),
  source: words.nullable(),
  supplier: words.nullable(),
  storage: words.nullable(),
  incompatible: words.nullable(),
  ppe: words.nullable(),
  recipes: z.array(z.object({ id: num, name: words, version: num })).meta({
    description: 'With the latest version that has it',
  }),
});

function shortJson(material: materials.RegisteredMaterial): z.input<typeof shortAnswer> {
  const { id, name, version, isRetired, facts } = material;
  const { sheet, state, reviewOn } = material.sheet;
  const { signalWord, pictograms, hStatements } = label(facts.hazards);
  return {
    id,
    name,
    otherNames: facts.otherNames,
    version,
    retired: isRetired,
    classification: facts.classification,
    signalWord,
    pictograms,
    hStatements,
    sheet: {
      state,
      supplier: sheet?.supplier ?? null,
      issuedOn: sheet?.issuedOn ?? null,
      reviewOn,
      file: sheet?.file ?? null,
    },
  };
}

function wholeJson({ material, recipes }: materials.MaterialPage): z.input<typeof wholeAnswer> {
  const { facts, density } = material;
  const { oral = null, dermal = null, inhalation = null } = facts.ate;
  return {
    ...shortJson(material),
    density,
    substances: facts.substances.map(({ cas, ...rest }) => ({ ...rest, cas: cas || null })),
    hazards: facts.hazards.map(({ hazardClass, hCode, limitPercent, ranges = [], mFactor, note }) => ({
      hazardClass,
      hCode,
      limitPercent: limitPercent ?? null,
      ranges: ranges.map((one) => ({ ...one, belowPercent: one.belowPercent ?? null })),
      mFactor: mFactor ?? null,
      note: note ?? null,
    })),
    ate: { oral, dermal, inhalation },
    pStatements: facts.pStatements,
    limits: facts.limits,
    source: facts.source || null,
    supplier: facts.supplier || null,
    storage: facts.storage || null,
    incompatible: facts.incompatible || null,
    ppe: facts.ppe || null,
    recipes: recipes.map(({ recipeId, name, version }) => ({ id: recipeId, name, version })),
  };
}

const editBody = materials.materialBody.extend({
  basedOn: count(0, 2 ** 31 - 2)
    .optional()
    .meta({
      description: 'The version that this was written from: refused with 409 where a later one exists',
    }),
});
const byId = z.object({ id: whole(1, 2 ** 31 - 1) });
const written = z.object({ id: num, version: num });

export const registerEndpoints: Endpoint[] = [
  read({
    path: '/materials',
    permission: 'materials.see',
    summary: 'The materials register by name, retired ones too. No class shown does not mean harmless',
    whole: 'as many as a studio buys',
    answer: z.object({ materials: z.array(shortAnswer) }),
    run: async (ask) => ({ materials: (await materials.listRegister(ask)).map(shortJson) }),
  }),
  write({
    path: '/materials',
    permission: 'materials.edit',
    summary: 'A new material: what its supplier’s sheet says. Shares and limits in percent by mass',
    body: materials.materialBody,
    answer: written,
    run: (act, { body }) => materials.saveMaterial(act, null, commandOf(body)),
  }),
  read({
    path: '/materials/:id',
    permission: 'materials.see',
    summary: 'What is known of a material now, and of its safety data sheet',
    params: byId,
    answer: wholeAnswer,
    run: async (ask, { params }) => wholeJson(await materials.findMaterial(ask, params.id)),
  }),
  write({
    path: '/materials/:id',
    permission: 'materials.edit',
    summary: 'What is known of a material from now on, all of it: a new version, the earlier ones stay',
    params: byId,
    body: editBody,
    answer: written,
    run: (act, { params, body: { basedOn, ...body } }) =>
      materials.saveMaterial(act, params.id, commandOf(body), basedOn),
  }),
  write({
    path: '/materials/:id/retired',
    permission: 'materials.edit',
    summary: 'Whether it is bought no more; recipes and sheets keep it',
    params: byId,
    body: z.strictObject({ retired: flag() }),
    answer: z.object({ retired: z.boolean() }),
    status: 200,
    run: async (act, { params, body }) => {
      await materials.retireMaterial(act, params.id, body.retired);
      return body;
    },
  }),
  write({
    path: '/materials/:id/sheets',
    permission: 'materials.edit',
    summary:
      'That its newest sheet was looked through again, or that a newer one exists; answers the row’s number',
    params: byId,
    body: z.discriminatedUnion('kind', [
      z.strictObject({ kind: z.literal('reviewed'), reviewOn: day().optional() }),
      z.strictObject({ kind: z.literal('newer-exists') }),
    ]),
    answer: z.object({ number: num }),
    run: async (act, { params, body }) => ({
      number: await materials.addSheet(act, params.id, body, null),
    }),
  }),
];
