import { type CoatFace, goesOverWet, nextCoat, type Route, type Wetness } from './route.ts';

/** A coat to come; `glaze` is a bucket's code, null where nobody said which. */
interface ComingFace {
  face: CoatFace;
  glaze: string | null;
}

/** What whoever stands at the bench with a piece does next. */
export type BenchStep =
  | { do: 'plan' }
  | { do: 'wax' }
  | ({ do: 'coat' } & ComingFace)
  /** The wall is too wet for the coat that comes next. */
  | ({ do: 'wait' } & ComingFace)
  | { do: 'foot' }
  | { do: 'hand-in' };

/**
 * The one thing to do now, by its route: say what goes where, wax the foot, wait until the wall is dry, put the next coat
 * on, wipe the foot, hand it in.
 * @param o a coat that somebody wants to put on though the plan asks for another one or for none; whether it was glazed
 * without its route, as somebody said afterwards; since when its foot is wiped by what is known beside the route
 */
export function benchStep(
  route: Route,
  wetness: Pick<Wetness, 'state' | 'asksWait'>,
  o: { asked?: ComingFace | null; isGlazed?: boolean; isWiped?: boolean } = {},
): BenchStep {
  const { asked = null, isGlazed = false, isWiped = false } = o;
  const { coats, waxedAt, footAt } = route;
  const next = asked ?? nextCoat(route);
  if (next === null) {
    if (coats.length === 0 && !isGlazed) return { do: 'plan' };
    return footAt === null && !isWiped ? { do: 'foot' } : { do: 'hand-in' };
  }
  // Once a glaze is on, wax comes too late; who asks for a coat without a plan is told of it beside the form.
  if (asked === null && coats.length === 0 && waxedAt === null) return { do: 'wax' };
  const isTooWet =
    asked === null ? wetness.asksWait : wetness.state === 'wet' && !goesOverWet(route, asked.face);
  return { do: isTooWet ? 'wait' : 'coat', ...next };
}

const COAT_STEPS: Record<CoatFace, string> = {
  inside: 'Line it',
  outside: 'Coat the outside',
  over: 'Put the overlap on',
  all: 'Glaze it all over',
};

/** A step as it is said in a word or a few, where the wall is as dry or wet as that. */
export function stepWords(step: BenchStep, wall: Wetness['state']): string {
  switch (step.do) {
    case 'plan':
      return 'What goes where?';
    case 'wax':
      return 'Wax the foot';
    case 'wait':
      return 'Wait';
    case 'foot':
      return 'Wipe the foot';
    case 'hand-in':
      return 'Ready to hand in';
    case 'coat': {
      const words = COAT_STEPS[step.face];
      const isDry = wall === 'dry' || wall === 'said-dry';
      return isDry ? `Dry: ${words.charAt(0).toLowerCase()}${words.slice(1)}` : words;
    }
  }
}

/** Where a coat is, after what it is of. */
export const FACE_WORDS: Record<CoatFace, string> = {
  inside: 'inside',
  outside: 'outside',
  over: 'over it',
  all: 'all over',
};
