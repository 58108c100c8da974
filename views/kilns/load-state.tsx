import type { JSX } from 'preact';
import type { LoadState } from '../../server/kilns/load-fold.ts';

const LOAD_STATE_WORDS: Record<LoadState, string> = {
  proposed: 'Proposed',
  approved: 'Approved',
  loaded: 'Loaded',
  firing: 'Firing',
  cooling: 'Cooling',
  unloaded: 'Unloaded',
  cancelled: 'Cancelled',
};

/** Told apart without colour: dashed box, tick in a box, full shelves, peak, falling curve, open box, crossed box. */
const SHAPES: Record<LoadState, JSX.Element> = {
  proposed: (
    <rect class="drawn" x="3" y="3" width="18" height="18" stroke-width="2.4" stroke-dasharray="4 3" />
  ),
  approved: <path class="drawn" d="M3 3h18v18H3zM7 12.5l3.4 3.6L17 8.4" stroke-width="2.4" />,
  loaded: (
    <>
      <path class="drawn" d="M3 21h18M3 12h18" stroke-width="2.4" />
      <path class="solid" d="M5 20v-5h5v5zM13 20v-6h6v6zM6 11V4h5v7zM14 11V6h4v5z" />
    </>
  ),
  firing: <path class="solid" d="M12 1.5L23 22H1z" />,
  cooling: <path class="drawn" d="M3 2.5v18.5h18.5M3.5 4c3 11 8 14 17 14.5" stroke-width="2.4" />,
  unloaded: <path class="drawn" d="M4 8v13h16V8M12 14V2M8 6l4-4 4 4" stroke-width="2.4" />,
  cancelled: <path class="drawn" d="M3 3h18v18H3zM7 7l10 10M17 7L7 17" stroke-width="2.4" />,
};

/** The shape of a state. It never stands alone: the word beside it says the same. */
export function LoadStateIcon({ state }: { state: LoadState }) {
  return (
    <svg class="state-icon" viewBox="0 0 24 24" aria-hidden="true">
      {SHAPES[state]}
    </svg>
  );
}

/** The state of a load in a line of text: shape and word together. */
export function LoadStateMark({ state }: { state: LoadState }) {
  return (
    <span class="state">
      <LoadStateIcon state={state} />
      {LOAD_STATE_WORDS[state]}
    </span>
  );
}
