import type { JSX } from 'preact';
import type { StateName } from '../../server/buckets/verdict.ts';

/** One outline a state, told apart without colour: disc, spiral, triangle, drop, rule, speech, hourglass, octagon. */
const SHAPES: Record<StateName, JSX.Element> = {
  ready: (
    <>
      <circle class="solid" cx="12" cy="12" r="10.5" />
      <path class="cut" d="M6.8 12.5l3.6 3.6 6.8-7.6" stroke-width="2.8" />
    </>
  ),
  'stir-first': (
    <path
      class="drawn"
      d="M12 11.5a2 2 0 0 1 4 0a4 4 0 0 1-8 0a6 6 0 0 1 12 0a8 8 0 0 1-16 0a9.6 9.6 0 0 1 3-7"
      stroke-width="2.5"
      stroke-linecap="round"
    />
  ),
  'too-thick': (
    <>
      <path class="solid" d="M12 1.8L23 21.5H1z" stroke-linejoin="round" />
      <path class="cut" d="M7.2 17.6h9.6M9.3 13.4h5.4" stroke-width="2.3" />
    </>
  ),
  'too-thin': (
    <>
      <path
        class="solid"
        d="M12 1.5c5.2 6.4 7.8 9.7 7.8 13.4a7.8 7.8 0 0 1-15.6 0C4.2 11.2 6.8 7.9 12 1.5z"
      />
      <path class="cut" d="M8.2 15.2a4 4 0 0 0 3.6 3.8" stroke-width="2.2" stroke-linecap="round" />
    </>
  ),
  'needs-reading': (
    <>
      <rect class="drawn" x="2.4" y="2.4" width="19.2" height="19.2" rx="3.5" stroke-width="2.6" />
      <path class="drawn" d="M3 7.6h5M3 12h8.5M3 16.4h5" stroke-width="2.2" />
    </>
  ),
  'ask-technician': (
    <>
      <path
        class="solid"
        d="M4.5 2h15A3 3 0 0 1 22.5 5v9.5a3 3 0 0 1-3 3H12l-6.5 5.5v-5.5h-1a3 3 0 0 1-3-3V5a3 3 0 0 1 3-3z"
      />
      <path class="cut" d="M9.2 7.4a2.9 2.9 0 1 1 4.4 2.5c-1.1.7-1.6 1.1-1.6 2.3" stroke-width="2.2" />
      <circle class="cut-solid" cx="12" cy="14.7" r="1.35" />
    </>
  ),
  'on-test': (
    <>
      <path class="drawn" d="M4 2.6h16M4 21.4h16" stroke-width="2.8" stroke-linecap="round" />
      <path
        class="drawn"
        d="M6.5 3v3.2c0 2.9 5.5 4 5.5 5.8s-5.5 2.9-5.5 5.8V21M17.5 3v3.2c0 2.9-5.5 4-5.5 5.8s5.5 2.9 5.5 5.8V21"
        stroke-width="2.2"
      />
      <path class="solid" d="M8.2 20.5c0-2.6 2-3.2 3.8-4.5 1.8 1.3 3.8 1.9 3.8 4.5z" />
    </>
  ),
  'do-not-use': (
    <>
      <path class="solid" d="M7.7 1.5h8.6l6.2 6.2v8.6l-6.2 6.2H7.7l-6.2-6.2V7.7z" />
      <path class="cut" d="M6.5 12h11" stroke-width="3.4" />
    </>
  ),
};

/** The shape of a state. It never stands alone: the words beside it say the same. */
export function StateIcon({ state }: { state: StateName }) {
  return (
    <svg class="state-icon" viewBox="0 0 24 24" aria-hidden="true">
      {SHAPES[state]}
    </svg>
  );
}

/** A state in a line of text or a table: shape and words together. */
export function State({ state, words }: { state: StateName; words: string }) {
  return (
    <span class={`state is-${state}`}>
      <StateIcon state={state} />
      {words}
    </span>
  );
}

/** The colour of a glaze. Its value is data and no style attribute is allowed, hence a circle with a fill. */
export function Chip({ colour }: { colour: string }) {
  return (
    <svg class="chip" viewBox="0 0 24 24" aria-hidden="true">
      <circle cx="12" cy="12" r="10.5" fill={colour} stroke-width="1.5" vector-effect="non-scaling-stroke" />
    </svg>
  );
}
