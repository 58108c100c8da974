import type { JSX } from 'preact';
import { faultWords } from '../../server/ware/outcome.ts';
import { type Form, formWord, isForm } from '../../server/ware/presets.ts';
import type { PieceNow } from '../../server/ware/service/index.ts';
import { STAGE_WORDS, type Stage } from '../../server/ware/stage.ts';
import { upper } from '../../server/ware/words.ts';

/** Each form from the side, as it stands on a shelf. */
const OUTLINES: Record<Form, JSX.Element> = {
  cup: (
    <>
      <path d="M9 12v24q0 4 4 4h18q4 0 4-4V12z" />
      <path d="M35 17h4q7 0 7 7.5t-7 7.5h-4" />
    </>
  ),
  beaker: <path d="M14 8h28l-3 32q0 2-2 2H19q-2 0-2-2z" />,
  bowl: <path d="M6 16h44q-2 20-17 23v3H23v-3Q8 36 6 16z" />,
  plate: <path d="M2 29h52q-3 7-12 9H14Q5 36 2 29z" />,
  vase: <path d="M22 4h12l-2 9q12 7 12 18 0 8-6 13H18q-6-5-6-13 0-11 12-18z" />,
  tile: <path d="M6 30h44v9H6z" />,
  other: (
    <>
      <path d="M8 38V24q0-4 4-4h14v18zM30 38V12h18v26z" />
      <path d="M4 42h48" />
    </>
  ),
};

/** The outline of a form; the words beside it name it. */
export const FormOutline = ({ form }: { form: string }) => (
  <svg class="form-outline" viewBox="0 0 56 48" aria-hidden="true">
    {OUTLINES[isForm(form) ? form : 'other']}
  </svg>
);

/** What a page about one piece is headed with: its outline, its form and its number. */
export const PieceHeading = ({ piece: { form, number } }: { piece: Pick<PieceNow, 'form' | 'number'> }) => (
  <h1 class="with-outline">
    <FormOutline form={form} />
    <span>
      {upper(formWord(form))} <span class="code">{number}</span>
    </span>
  </h1>
);

/** One shape for each kind of place in a piece's life, told apart without colour. */
const SHAPES = {
  wet: (
    <path
      class="drawn"
      d="M12 2.5c4.7 5.8 7 8.8 7 12.3a7 7 0 0 1-14 0c0-3.5 2.3-6.5 7-12.3z"
      stroke-width="2.4"
    />
  ),
  waits: (
    <>
      <circle class="drawn" cx="12" cy="12" r="9.8" stroke-width="2.4" />
      <path class="drawn" d="M12 6v6.5l4.5 2.5" stroke-width="2.4" stroke-linecap="round" />
    </>
  ),
  yours: (
    <>
      <circle class="drawn" cx="12" cy="12" r="9.8" stroke-width="2.4" />
      <path class="solid" d="M12 2.2a9.8 9.8 0 0 1 0 19.6z" />
    </>
  ),
  load: (
    <path
      class="drawn"
      d="M2.5 21.5h19M2.5 13.5h19M2.5 5.5h19M5.5 21v-8M18.5 21v-8M5.5 13V5M18.5 13V5"
      stroke-width="2.2"
    />
  ),
  fired: (
    <>
      <circle class="solid" cx="12" cy="12" r="10.5" />
      <path class="cut" d="M6.8 12.5l3.6 3.6 6.8-7.6" stroke-width="2.8" />
    </>
  ),
  back: (
    <path
      class="drawn"
      d="M9 4L3.5 9.5 9 15M4 9.5h10a6 6 0 0 1 0 12H8"
      stroke-width="2.6"
      stroke-linecap="round"
      stroke-linejoin="round"
    />
  ),
  gone: (
    <path
      class="drawn"
      d="M3 12h16M13 5.5l6.5 6.5-6.5 6.5"
      stroke-width="2.6"
      stroke-linecap="round"
      stroke-linejoin="round"
    />
  ),
  asks: (
    <>
      <rect class="drawn" x="2.4" y="2.4" width="19.2" height="19.2" rx="3.5" stroke-width="2.4" />
      <path class="drawn" d="M9 9a3 3 0 1 1 4.3 2.7c-1 .6-1.3 1-1.3 2.3" stroke-width="2.2" />
      <circle class="solid" cx="12" cy="17" r="1.5" />
    </>
  ),
  fault: (
    <>
      <path class="solid" d="M12 1.8L23 21.5H1z" stroke-linejoin="round" />
      <path class="cut" d="M12.8 6.5l-2.6 5.2 3.6 2-2.4 5" stroke-width="2.3" stroke-linejoin="round" />
    </>
  ),
  lost: (
    <>
      <path class="solid" d="M7.7 1.5h8.6l6.2 6.2v8.6l-6.2 6.2H7.7l-6.2-6.2V7.7z" />
      <path class="cut" d="M7.5 7.5l9 9M16.5 7.5l-9 9" stroke-width="3" />
    </>
  ),
};

/** The shape of a stage, and which of the tones of the sheet it takes. */
const LOOKS: Record<Stage, [shape: keyof typeof SHAPES, tone: string]> = {
  made: ['wet', 'is-too-thin'],
  drying: ['wet', 'is-too-thin'],
  'waiting-bisque': ['waits', 'is-on-test'],
  bisqued: ['yours', 'is-stir-first'],
  glazed: ['yours', 'is-stir-first'],
  'waiting-glaze': ['waits', 'is-on-test'],
  'in-load': ['load', 'is-needs-reading'],
  fired: ['fired', 'is-ready'],
  'picked-up': ['gone', 'is-gone'],
  returned: ['back', 'is-too-thick'],
  refire: ['waits', 'is-on-test'],
  'left-behind': ['asks', 'is-too-thick'],
  'no-name': ['asks', 'is-ask-technician'],
  lost: ['lost', 'is-do-not-use'],
};

type Standing = Pick<PieceNow, 'stage' | 'outcome' | 'isAsked' | 'glazes'>;

/** Some of its coats are on, and not yet all that were planned. */
export const isAtBench = ({ stage, glazes }: Pick<Standing, 'stage' | 'glazes'>): boolean =>
  stage === 'bisqued' && glazes.some(({ load }) => load === null);

/** What went wrong with a piece that is through: it says more than that it was fired. */
const faultOf = ({ stage, outcome }: Standing): string | null =>
  stage === 'fired' ? faultWords(outcome) : null;

/** Where a piece is in a word or two; how it came out, where it came out badly. */
export const standingWords = (piece: Standing): string =>
  faultOf(piece) ??
  (piece.isAsked ? 'Handed in' : isAtBench(piece) ? 'At the bench' : STAGE_WORDS[piece.stage]);

export const standingTone = (piece: Standing): string =>
  faultOf(piece) === null ? LOOKS[piece.stage][1] : 'is-too-thick';

export const StandingShape = ({ piece }: { piece: Standing }) => (
  <WareShape shape={faultOf(piece) === null ? LOOKS[piece.stage][0] : 'fault'} />
);

/** A shape by its name; the words beside it say what it stands for. */
export const WareShape = ({ shape }: { shape: keyof typeof SHAPES }) => (
  <svg class="state-icon" viewBox="0 0 24 24" aria-hidden="true">
    {SHAPES[shape]}
  </svg>
);

/** Where a piece is, in a line of text: shape and word together. */
export const StandingMark = ({ piece }: { piece: Standing }) => (
  <span class={`state ${standingTone(piece)}`}>
    <StandingShape piece={piece} />
    {standingWords(piece)}
  </span>
);

/** Whether something holds: a tick or an open ring, each with its word for who does not see it. */
export const Holds = ({ ok }: { ok: boolean }) => (
  <svg class="gate-icon" viewBox="0 0 24 24" role="img" aria-label={ok ? 'Done:' : 'Open:'}>
    {ok ? (
      <path class="drawn" d="M4 12.5l5.5 5.5L20 6.5" stroke-width="3" stroke-linecap="round" />
    ) : (
      <circle class="drawn" cx="12" cy="12" r="8.5" stroke-width="3" />
    )}
  </svg>
);
