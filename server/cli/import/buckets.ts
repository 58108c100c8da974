import type { z } from 'zod';
import {
  bucketBody,
  createBucket,
  createBucketWithRecipe,
  listBuckets,
  listRetired,
} from '../../buckets/service/index.ts';
import { Invalid } from '../../core/errors.ts';
import { parse, text } from '../../core/forms.ts';
import { listRecipes } from '../../materials/service/index.ts';
import type { Values } from './columns.ts';
import { eachLine } from './each-line.ts';
import { importKind } from './kind.ts';

interface BucketLine {
  body: z.output<typeof bucketBody>;
  /** The name of a recipe that is here; null: the file gives the density of the dry glaze. */
  recipe: string | null;
}

const recipeName = text(80);

/** Glaze buckets, each of a recipe that is here or of a dry glaze of known density; what is in them is said at the bucket. */
export const buckets = importKind<BucketLine>({
  name: 'buckets',
  nouns: ['bucket', 'buckets'],
  sameAs: 'The same code',
  columns: [
    { key: 'code', header: 'code', also: ['bucket code'], reads: 'text', isRequired: true },
    { key: 'name', header: 'name', also: ['glaze'], reads: 'text', isRequired: true },
    {
      key: 'capacityLitres',
      header: 'capacity litres',
      also: ['capacity', 'capacity l'],
      reads: 'number',
      isRequired: true,
    },
    { key: 'aim', header: 'aim', also: ['aim sg', 'target sg'], reads: 'number', isRequired: true },
    { key: 'low', header: 'low', also: ['low sg'], reads: 'number' },
    { key: 'high', header: 'high', also: ['high sg'], reads: 'number' },
    { key: 'recipe', header: 'recipe', reads: 'text' },
    { key: 'solidsDensity', header: 'solids density', also: ['solids density g/cm3'], reads: 'number' },
    { key: 'hasSolubles', header: 'solubles', also: ['has solubles'], reads: 'yes-no' },
    { key: 'place', header: 'place', also: ['shelf'], reads: 'text' },
    { key: 'colour', header: 'colour', also: ['color'], reads: 'text' },
    { key: 'bottomMm', header: 'bottom mm', also: ['bottom diameter mm'], reads: 'number' },
    { key: 'topMm', header: 'top mm', also: ['top diameter mm'], reads: 'number' },
    { key: 'heightMm', header: 'height mm', reads: 'number' },
    { key: 'coneFrom', header: 'cone from', also: ['cone'], reads: 'text' },
    { key: 'coneTo', header: 'cone to', reads: 'text' },
    { key: 'atmosphere', header: 'atmosphere', reads: 'word' },
    { key: 'stirIntervalMinutes', header: 'stir minutes', also: ['stir interval minutes'], reads: 'number' },
    { key: 'readingTrustedHours', header: 'trusted hours', also: ['reading trusted hours'], reads: 'number' },
    { key: 'sieveMesh', header: 'mesh', also: ['sieve mesh'], reads: 'number' },
    { key: 'careNotes', header: 'care notes', also: ['care', 'notes'], reads: 'text' },
    { key: 'rinseBucket', header: 'rinse bucket', reads: 'text' },
    { key: 'flowLow', header: 'flow low seconds', also: ['flow low'], reads: 'number' },
    { key: 'flowHigh', header: 'flow high seconds', also: ['flow high'], reads: 'number' },
    { key: 'isReclaim', header: 'reclaim', reads: 'yes-no' },
  ],
  read: readBucket,
  identity: ({ body }) => body.code.toLowerCase(),
  async bring(setting, lines) {
    const { act } = setting;
    const there = [...(await listBuckets(act)), ...(await listRetired(act))];
    const known = new Map(there.map((bucket) => [bucket.code.toLowerCase(), bucket]));
    const recipes = new Map((await listRecipes(act)).map((one) => [one.name.toLowerCase(), one.recipeId]));
    return eachLine(setting, lines, async (each, { body, recipe }) => {
      const bucket = known.get(body.code.toLowerCase());
      if (bucket) return `${bucket.code} is here: ${bucket.name}.`;
      if (recipe === null) await createBucketWithRecipe(each, body);
      else await createBucket(each, body, recipeId(recipe, recipes));
      return null;
    });
  },
});

function recipeId(name: string, recipes: Map<string, number>): number {
  const found = recipes.get(name.toLowerCase());
  if (found === undefined) throw refuse('recipe', 'No recipe is called this. Write it under Recipes first.');
  return found;
}

function readBucket({ recipe, low, aim, high, flowLow, flowHigh, ...rest }: Values): BucketLine {
  if ((recipe === undefined) === (rest.solidsDensity === undefined))
    throw refuse('', 'Name a recipe, or give the density of the dry glaze: one of the two.');
  const isFlowGiven = flowLow !== undefined || flowHigh !== undefined;
  const body = parse(bucketBody, {
    ...rest,
    topMm: rest.topMm ?? rest.bottomMm,
    target: { low, aim, high },
    flow: isFlowGiven ? { low: flowLow, high: flowHigh } : undefined,
  });
  return { body, recipe: recipe === undefined ? null : parse(recipeName, recipe) };
}

const refuse = (path: string, message: string) => new Invalid([{ path, message }]);
