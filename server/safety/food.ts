import { upper } from '../ware/words.ts';

/** A glaze as it is tested and as it lies on a piece: a recipe as it was mixed, on a clay, fired to a cone. */
export interface TestedGlaze {
  recipeId: number;
  recipeVersion: number;
  /** Null where the clay is on no list: it stands for no clay. */
  clayId: number | null;
  cone: string;
}

/** A laboratory's word on a glaze that still counts. */
export interface StandingTest extends TestedGlaze {
  number: number;
  clay: string;
  passed: boolean;
  lab: string;
  /** YYYY-MM-DD. */
  testedOn: string;
}

export type FoodState = 'passed' | 'decorative' | 'untested';

export interface Food {
  state: FoodState;
  /** One line for a label. */
  words: string;
  /** What else is to know; empty where nothing is. */
  more: string;
}

const UNTESTED = 'Not tested: not for food';
const DECORATIVE = 'Decorative only';
export const SAYS_NOTHING_OF = 'The test says nothing of barium, manganese, copper, cobalt or lithium.';

const untested = (more = ''): Food => ({ state: 'untested', words: UNTESTED, more });
const by = ({ lab, testedOn }: StandingTest): string => `(${lab}, ${testedOn})`;
const where = ({ clay, cone }: StandingTest): string => `on ${clay} at cone ${cone}`;

const newestFirst = (a: StandingTest, b: StandingTest): number =>
  b.testedOn < a.testedOn ? -1 : b.testedOn > a.testedOn ? 1 : b.number - a.number;

/** Tests of one recipe as it was mixed, the newest first. */
const ofVersion = (
  tests: readonly StandingTest[],
  { recipeId, recipeVersion }: Pick<TestedGlaze, 'recipeId' | 'recipeVersion'>,
): StandingTest[] =>
  tests
    .filter((test) => test.recipeId === recipeId && test.recipeVersion === recipeVersion)
    .sort(newestFirst);

/** One test that failed stands against any number that passed, until it is struck out. */
const isFailed = (tests: readonly StandingTest[]): boolean => tests.some(({ passed }) => !passed);

/**
 * What is known of what a bucket holds, whatever it will be put on: which clays and cones it passed on, and that it
 * failed on others.
 * @param tests those that count, of any recipe
 */
export function foodOfGlaze(
  tests: readonly StandingTest[],
  glaze: Pick<TestedGlaze, 'recipeId' | 'recipeVersion'>,
): Food {
  const own = ofVersion(tests, glaze);
  if (own.length === 0) {
    const isOlder = tests.some(
      ({ recipeId, recipeVersion }) => recipeId === glaze.recipeId && recipeVersion !== glaze.recipeVersion,
    );
    return untested(isOlder ? 'A test of another version of the recipe does not count for this one.' : '');
  }
  const places = new Map<string, StandingTest[]>();
  for (const test of own) places.set(where(test), [...(places.get(where(test)) ?? []), test]);
  const groups = [...places.values()];
  const passed = groups.filter((group) => !isFailed(group)).flatMap((group) => group.slice(0, 1));
  const failed = groups.flatMap((group) => group.filter(({ passed: ok }) => !ok).slice(0, 1));
  const [bad] = failed;
  if (passed.length === 0 && bad)
    return {
      state: 'decorative',
      words: `${DECORATIVE}: Pb/Cd test failed ${by(bad)}`,
      more: `It failed ${failed.map(where).join(', and ')}.`,
    };
  const limits = `Only there, in one layer and not crazed. ${SAYS_NOTHING_OF}`;
  if (failed.length === 0)
    return {
      state: 'passed',
      words: `Pb/Cd test passed ${passed.map((test) => `${by(test)} ${where(test)}`).join(' and ')}`,
      more: limits,
    };
  const except = passed.map((test) => `${where(test)}: Pb/Cd test passed ${by(test)}`).join('; ');
  return {
    state: 'decorative',
    words: `${DECORATIVE}, except ${except}`,
    more: `It failed ${failed.map(where).join(', and ')}. ${limits}`,
  };
}

/** A piece with glaze on it, as far as it decides. */
export interface GlazedPiece {
  /** Coats from the first to the last; null for a glaze from outside. */
  coats: readonly (Pick<TestedGlaze, 'recipeId' | 'recipeVersion'> | null)[];
  clayId: number | null;
  /** Firings since the glaze went on, in their order: to which cone, and whether its witness cones or log say so. */
  firings: readonly { cone: string; reached: 'yes' | 'no' | 'unknown' }[];
  isCrazed: boolean;
}

/**
 * What is known of one piece. A test counts for its recipe as it was mixed, its clay and its cone; not for layers, a
 * firing off the cone, a second firing to another one, or glaze that is crazed.
 */
export function foodOf(tests: readonly StandingTest[], piece: GlazedPiece): Food {
  const { coats, clayId, firings, isCrazed } = piece;
  if (isCrazed) return untested('The glaze is crazed: no test counts for it.');
  const [coat] = coats;
  if (coats.length > 1) return untested('Layers: a test of one glaze says nothing of several on each other.');
  if (!coat) return untested(coats.length === 0 ? '' : 'The glaze is from outside.');
  const own = ofVersion(tests, coat).filter((test) => test.clayId !== null && test.clayId === clayId);
  if (firings.length === 0) {
    const bad = own.find(({ passed }) => !passed);
    if (bad) return decorative(bad);
    const cones = [...new Set(own.map(({ cone }) => cone))];
    return untested(
      cones.length === 0
        ? otherwiseTested(tests, coat)
        : `Not fired yet. Its glaze has passed a Pb/Cd test on this clay at cone ${cones.join(' and ')}.`,
    );
  }
  const there = own.filter(({ cone }) => firings.every((firing) => firing.cone === cone));
  const bad = there.find(({ passed }) => !passed);
  if (bad) return decorative(bad);
  const [good] = there;
  if (!good) return untested(otherwiseTested(tests, coat));
  if (firings.some(({ reached }) => reached === 'no'))
    return untested(`Fired off cone ${good.cone}: the test at that cone does not count for it.`);
  if (firings.some(({ reached }) => reached === 'unknown'))
    return untested(
      `Its glaze has passed a Pb/Cd test at cone ${good.cone}, but neither cones nor a log show that this firing reached it.`,
    );
  return {
    state: 'passed',
    words: `Pb/Cd test passed ${by(good)}`,
    more: `${upper(where(good))}. It no longer counts once the glaze crazes. ${SAYS_NOTHING_OF}`,
  };
}

const decorative = (test: StandingTest): Food => ({
  state: 'decorative',
  words: `${DECORATIVE}: Pb/Cd test failed ${by(test)}`,
  more: `${upper(where(test))}.`,
});

/** Why the tests that there are of its recipe do not count. */
function otherwiseTested(
  tests: readonly StandingTest[],
  coat: Pick<TestedGlaze, 'recipeId' | 'recipeVersion'>,
): string {
  if (ofVersion(tests, coat).length > 0)
    return 'Its glaze was tested on another clay or at another cone, which does not count for this piece.';
  return tests.some(({ recipeId }) => recipeId === coat.recipeId)
    ? 'A test of another version of the recipe does not count for this one.'
    : '';
}

/** All of it in one line, as a label or a page without room says it. */
export const foodLine = ({ words, more }: Food): string => (more ? `${words}. ${more}` : `${words}.`);
