import type { Read } from '../../core/actor.ts';
import { label } from '../../materials/hazards.ts';
import { type InIt, type KnownRecipe, OF_SEVERAL, type Portion, recipeKey } from '../container.ts';
import { type MixtureLine, mixtureOf } from './classify.ts';

type Recipe = NonNullable<Portion['recipe']>;

/** What is in each of these containers; every recipe is asked for once. */
export async function whatIsIn(
  read: Read,
  containers: readonly (readonly Portion[])[],
  names: ReadonlyMap<string, KnownRecipe>,
): Promise<InIt[]> {
  const recipes = new Map(
    containers.flatMap((portions) =>
      portions.flatMap(({ recipe }) => (recipe ? [[recipeKey(recipe), recipe] as const] : [])),
    ),
  );
  const known = new Map(
    await Promise.all(
      [...recipes].map(async ([key, recipe]) => [key, await ofRecipe(read, recipe, names)] as const),
    ),
  );
  return containers.map((portions) =>
    together(
      portions.map(({ recipe }) => (recipe ? known.get(recipeKey(recipe)) : undefined) ?? OF_NOBODY_KNOWS),
    ),
  );
}

interface OfOne {
  classes: { hazardClass: string; hCode: string }[];
  classified: string[];
  unknown: string[];
}

const OF_NOBODY_KNOWS: OfOne = { classes: [], classified: [], unknown: [OF_SEVERAL] };

async function ofRecipe(read: Read, recipe: Recipe, names: ReadonlyMap<string, KnownRecipe>): Promise<OfOne> {
  const { classes, lines } = await mixtureOf(read, recipe);
  const isClassified = (line: MixtureLine) => line.classification === 'classified' || line.classes.length > 0;
  return {
    classes,
    classified: lines.filter(isClassified).map(({ name }) => name),
    unknown:
      lines.length > 0
        ? lines
            .filter((line) => line.classification === 'unknown' && !isClassified(line))
            .map(({ name }) => name)
        : [names.get(recipeKey(recipe))?.name ?? OF_SEVERAL],
  };
}

function together(all: OfOne[]): InIt {
  const classes = new Map(
    all.flatMap((one) =>
      one.classes.map(({ hazardClass, hCode }) => [`${hazardClass} ${hCode}`, { hazardClass, hCode }]),
    ),
  );
  const { signalWord, pictograms } = label([...classes.values()]);
  const each = (what: 'classified' | 'unknown') => [...new Set(all.flatMap((one) => one[what]))].sort();
  return {
    classes: [...classes.keys()].sort(),
    signalWord,
    pictograms,
    classified: each('classified'),
    unknown: each('unknown'),
  };
}
