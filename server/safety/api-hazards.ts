import { z } from 'zod';
import { type Endpoint, write } from '../core/api.ts';
import { choice, flag, quantity, text } from '../core/forms.ts';
import { isCas } from '../materials/cas.ts';
import type { HazardEntry } from '../materials/facts.ts';
import { H_TEXTS, isHazard, P_TEXTS } from '../materials/hazards.ts';
import { classifyMixture } from './service/classify.ts';

const percent = () => quantity(0, 100);
const FORMS = ['gas', 'vapour', 'dust-mist'] as const;

/** As lists print it: 'Acute Tox. 4 *' is Acute Tox. 4 whose figures were not looked at again. */
const unmarked = (max: number) =>
  text(max).transform((value) => value.replace(/[\s*]+$/, '').replace(/\s+/g, ' '));
const hazardClass = unmarked(40).meta({ description: 'As the EU abbreviates it: STOT RE 1, Acute Tox. 4' });
const hCode = unmarked(12).meta({ description: 'H372, H350i, H360FD' });

const KNOWN = 'No hazard class and statement that belong together, such as STOT RE 1 with H372.';
const range = z.strictObject({
  hazardClass: hazardClass.optional(),
  hCode: hCode.optional(),
  fromPercent: percent(),
  belowPercent: percent().optional(),
});

const entry = z
  .strictObject({
    hazardClass,
    hCode,
    limits: z
      .union([percent(), z.array(range).max(12)], { error: 'A percentage, or a list of ranges.' })
      .optional()
      .meta({
        description:
          'Limits of this very substance: one percentage, or ranges with fromPercent, belowPercent and the class taken within',
      }),
    limitPercent: percent().optional(),
    ranges: z.array(range).max(12).optional(),
    mFactor: quantity(1, 1_000_000).optional(),
    note: text(200).optional().meta({ description: 'Route or organ; a word such as inhalation is heeded' }),
  })
  .transform(toEntry)
  .superRefine((made, ctx) => {
    const pairs = [made, ...(made.ranges ?? [])];
    if (pairs.some((one) => !isHazard(one.hazardClass, one.hCode)))
      ctx.addIssue({ code: 'custom', path: ['hazardClass'], message: KNOWN });
    for (const { fromPercent, belowPercent } of made.ranges ?? [])
      if (belowPercent !== undefined && belowPercent <= fromPercent)
        ctx.addIssue({ code: 'custom', path: ['limits'], message: 'A range ends above where it begins.' });
  });

interface SentEntry {
  hazardClass: string;
  hCode: string;
  limits?: number | z.output<typeof range>[] | undefined;
  limitPercent?: number | undefined;
  ranges?: z.output<typeof range>[] | undefined;
  mFactor?: number | undefined;
  note?: string | undefined;
}

/** A range without a class of its own, or with the entry's, is the entry's own limit. */
function toEntry(sent: SentEntry): HazardEntry {
  const listed = [...(Array.isArray(sent.limits) ? sent.limits : []), ...(sent.ranges ?? [])];
  const isOwn = (one: z.output<typeof range>) => (one.hazardClass ?? sent.hazardClass) === sent.hazardClass;
  const limits = [
    ...(typeof sent.limits === 'number' ? [sent.limits] : []),
    ...(sent.limitPercent === undefined ? [] : [sent.limitPercent]),
    ...listed.filter(isOwn).map(({ fromPercent }) => fromPercent),
  ];
  const ranges = listed
    .filter((one) => !isOwn(one))
    .map(({ belowPercent, ...one }) => ({
      hazardClass: one.hazardClass ?? sent.hazardClass,
      hCode: one.hCode ?? '',
      fromPercent: one.fromPercent,
      ...(belowPercent !== undefined && { belowPercent }),
    }));
  return {
    hazardClass: sent.hazardClass,
    hCode: sent.hCode,
    ...(limits.length > 0 && { limitPercent: Math.min(...limits) }),
    ...(ranges.length > 0 && { ranges }),
    ...(sent.mFactor !== undefined && { mFactor: sent.mFactor }),
    ...(sent.note !== undefined && { note: sent.note }),
  };
}

/** Above zero: a mixture with an ingredient of which nothing at all kills would be infinitely toxic. */
const estimate = () => quantity(0.000_001, 10_000_000).optional();
const pH = () => quantity(-2, 16).optional();
const cas = z
  .string({ error: 'A CAS number.' })
  .refine(isCas, 'No CAS number: its last digit does not fit the others, or its form is not 1234-56-7.');

const ingredient = z.strictObject({
  name: text(120),
  cas: cas.optional(),
  percent: percent().meta({ description: 'By mass, of the mixture' }),
  classes: z.array(entry).max(60).nullish().meta({
    description: 'Empty: it is not classified. Left out or null: nobody has said, which the answer reports',
  }),
  ate: z
    .strictObject({
      oral: estimate().meta({ description: 'mg/kg' }),
      dermal: estimate().meta({ description: 'mg/kg' }),
      inhalation: z
        .strictObject({ value: quantity(0.000_001, 10_000_000), form: choice(FORMS) })
        .optional()
        .meta({ description: 'ppmV for a gas, else mg/L in 4 h' }),
    })
    .optional(),
  pH: pH().meta({ description: 'Of the ingredient; an acid to 2 or a base from 11.5 is not added up' }),
  additive: flag().optional().meta({ description: 'false: irritates at shares that sums do not foresee' }),
});

const body = z.strictObject({
  rules: choice(['un', 'eu-clp', 'us-hazcom']),
  ingredients: z.array(ingredient).min(1, 'List the ingredients.').max(200, 'At most 200 ingredients.'),
  form: choice(FORMS).optional().meta({ description: 'What is breathed in; dust-mist if left out' }),
  pH: pH().meta({ description: 'Of the mixture' }),
  buffered: flag().optional().meta({ description: 'false: little acid or alkali is behind an extreme pH' }),
  viscosity: quantity(0.001, 1_000_000).optional().meta({ description: 'Kinematic, mm²/s at 40 °C' }),
});

const words = z.string();
const answer = z.object({
  rules: z.enum(['un', 'eu-clp', 'us-hazcom']),
  classes: z.array(
    z.object({
      hazardClass: words,
      hCode: words,
      because: z.array(words).meta({ description: 'The arithmetic that led there' }),
      organs: words
        .optional()
        .meta({ description: 'Of the STOT classes, from the notes of the ingredients' }),
      dustOnly: z.boolean().meta({ description: 'Reaches a person through the air only' }),
    }),
  ),
  signalWord: z.enum(['Danger', 'Warning']).nullable(),
  pictograms: z.array(words),
  hStatements: z.array(words).meta({ description: 'Without those that another one includes' }),
  pStatements: z.array(words).meta({ description: 'At most six' }),
  texts: z.record(words, words).meta({ description: 'Of the statements, by code' }),
  supplement: z.array(words).meta({
    description:
      'What a label adds: EUH208 for sensitisers below their limit, the share of unknown acute toxicity',
  }),
  unknown: z.array(words).meta({ description: 'What is not known, and so not in the result' }),
  notes: z.array(words).meta({ description: 'What was worked out and makes no class, or is not worked out' }),
  acute: z.array(
    z.object({
      route: z.enum(['oral', 'dermal', 'inhalation']),
      ate: z.number().meta({ description: 'Of the mixture' }),
      unit: z.enum(['mg/kg', 'ppmV', 'mg/L']),
      hazardClass: words.nullable(),
      unknownPercent: z.number(),
    }),
  ),
  caution: words,
});

const textsOf = (codes: string[]): Record<string, string> =>
  Object.fromEntries(codes.map((code) => [code, H_TEXTS[code] ?? P_TEXTS[code] ?? '']));

export const hazardEndpoints: Endpoint[] = [
  write({
    path: '/classify',
    permission: 'safety.see',
    summary: 'Hazard classes of a mixture from its ingredients, with the arithmetic; nothing is kept',
    body,
    status: 200,
    answer,
    run: async (act, { body: { ingredients, ...rest } }) => {
      const mixture = classifyMixture(act, {
        ...rest,
        ingredients: ingredients.map(({ classes, ate, ...one }) => ({
          ...one,
          classes: classes ?? null,
          ate: {
            ...(ate?.oral !== undefined && { oral: ate.oral }),
            ...(ate?.dermal !== undefined && { dermal: ate.dermal }),
            ...(ate?.inhalation && { inhalation: ate.inhalation }),
          },
        })),
      });
      const { hStatements, pStatements } = mixture;
      return {
        ...mixture,
        texts: textsOf([...hStatements, ...pStatements]),
        caution: 'No class shown does not mean harmless.',
      };
    },
  }),
];
