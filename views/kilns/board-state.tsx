import { BOARD_WORDS, type BoardState } from '../../server/kilns/board-words.ts';
import { StateIcon } from '../ui/icons.tsx';
import { LoadStateIcon } from './load-state.tsx';

/** Told apart without colour: peak, heat rising from a bar, falling curve, low thermometer, full shelves, bare box,
 * barred octagon. */
export function BoardIcon({ state }: { state: BoardState }) {
  switch (state) {
    case 'firing':
    case 'cooling':
    case 'loaded':
      return <LoadStateIcon state={state} />;
    case 'out-of-service':
      return <StateIcon state="do-not-use" />;
    case 'hot':
      return (
        <svg class="state-icon" viewBox="0 0 24 24" aria-hidden="true">
          <path class="solid" d="M2 19h20v3.5H2z" />
          <path
            class="drawn"
            d="M6 16c-3-4 3-6 0-10.5M12 16c-3-4 3-8 0-14M18 16c-3-4 3-6 0-10.5"
            stroke-width="2.6"
            stroke-linecap="round"
          />
        </svg>
      );
    case 'cold':
      return (
        <svg class="state-icon" viewBox="0 0 24 24" aria-hidden="true">
          <path class="drawn" d="M9.2 13.6V4.2a2.8 2.8 0 0 1 5.6 0v9.4a5 5 0 1 1-5.6 0z" stroke-width="2.2" />
          <circle class="solid" cx="12" cy="17.8" r="2.6" />
        </svg>
      );
    case 'empty':
      return (
        <svg class="state-icon" viewBox="0 0 24 24" aria-hidden="true">
          <path class="drawn" d="M3.5 3.5h17v17h-17z" stroke-width="2.6" />
        </svg>
      );
  }
}

/** A kiln's state as it is read across the room. */
export function BoardMark({ state }: { state: BoardState }) {
  return (
    <p class="board-state">
      <BoardIcon state={state} />
      {BOARD_WORDS[state]}
    </p>
  );
}
