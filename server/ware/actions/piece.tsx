import type { FlashProps } from '../../../views/ui/panel.tsx';
import { wallWords } from '../../../views/ware/bench-parts.tsx';
import { type Offer, PiecePage } from '../../../views/ware/piece.tsx';
import { numberIn } from '../../core/param.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { fromStored } from '../events.ts';
import { misfitWords } from '../gates.ts';
import { nextAct } from '../mine.ts';
import { numbersIn } from '../numbers.ts';
import { formWord } from '../presets.ts';
import { eventSentence } from '../sentences.ts';
import {
  benchCoats,
  bisqueWarnings,
  changeRefusal,
  feesOfPiece,
  findPiece,
  findRoute,
  foodOfPiece,
  isBenchPath,
  loadWords,
  MOVE_PATHS,
  type MovePath,
  moveOf,
  moveRefusal,
  type PieceNow,
  pieceHistory,
  siblings,
  wareSettings,
} from '../service/index.ts';
import { flashOf } from './mine.tsx';
import { readerOf } from './reader.ts';
import { NO_PIECE } from './register.tsx';

/** Acts that ask nothing. */
export const TAPS: readonly MovePath[] = [
  'drying',
  'ask-dry',
  'hole',
  'pick-up',
  'here-again',
  'dry',
  'unflag',
];

/** One piece; what was refused on its page is said above it. */
export async function showPiece(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const piece = await findPiece(visit.read, numberIn(visit, 'number', NO_PIECE));
  const { number, load } = piece;
  const isGlazing = benchCoats(piece.glazes).length > 0 && moveRefusal('coat', piece) === null;
  const [others, history, loads, fees, warnings, bench, settings] = await Promise.all([
    siblings(visit.read, piece),
    pieceHistory(visit.read, number),
    loadWords(visit.read, load === null ? [] : [load]),
    feesOfPiece(visit.read, piece),
    bisqueWarnings(visit.read, [piece.id]),
    isGlazing ? findRoute(visit.read, number) : null,
    wareSettings(visit.read),
  ]);
  const food = await foodOfPiece(visit.read, piece, history);
  const reader = readerOf(visit);
  const refused = form.errors.map(({ message }) => message).join(' ');
  const flash: FlashProps | null = refused
    ? { words: refused, tone: 'refused' }
    : (misfit(visit, piece, others) ?? flashOf(visit, reader.key));
  return page(
    `Piece ${number}, ${formWord(piece.form)}`,
    'ware',
    <PiecePage
      piece={piece}
      others={others.map((other) => other.number)}
      load={load === null ? undefined : loads.get(load)}
      food={food}
      wall={bench === null ? '' : wallWords(bench.route, bench.wetness, settings, reader)}
      asksWait={bench?.wetness.asksWait ?? false}
      bisque={warnings.get(piece.id) ?? null}
      fees={fees}
      said={history.find(({ stage }) => stage === piece.stage)?.note ?? null}
      history={history.map((event) => ({
        number: event.number,
        at: event.at,
        by: event.byName,
        words: eventSentence({ ...event, payload: fromStored(event.payload) }),
        note: event.note,
        photo: event.photo,
      }))}
      {...offersOn(piece, reader.technician)}
      flash={flash}
      reader={reader}
    />,
  );
}

/** Just glazed, with what does not take its firing. */
function misfit({ query }: Visit, piece: PieceNow, others: PieceNow[]): FlashProps | null {
  if (query.did !== 'glazes' || typeof query.pieces !== 'string') return null;
  const numbers = numbersIn(query.pieces) ?? [];
  const glazed = [piece, ...others].filter(({ number }) => numbers.includes(number));
  const words = new Set(
    glazed.flatMap(({ glazes, final }) => misfitWords(glazes, final, glazed.length) ?? []),
  );
  return words.size === 0 ? null : { words: `Recorded. ${[...words].join(' ')}`, tone: 'warned' };
}

/** What else may be done with it as it is: its owner's acts and, for them, the technicians'. */
function offersOn(piece: PieceNow, technician: boolean): { own: Offer[]; technicians: Offer[] } {
  const leading = nextAct(piece)?.path;
  const open = MOVE_PATHS.filter(
    (path) =>
      path !== leading &&
      !isBenchPath(path) &&
      moveRefusal(path, piece) === null &&
      isSensible(path, piece, technician),
  );
  const offer = (path: MovePath): Offer => ({
    path,
    label: labelOf(path, piece),
    isTap: TAPS.includes(path),
  });
  const edit: Offer[] =
    changeRefusal(piece) === null && leading !== 'edit'
      ? [{ path: 'edit', label: 'Put something right', isTap: false }]
      : [];
  // All of the bench's acts have one page.
  const glazing: Offer[] =
    moveRefusal('coat', piece) === null && piece.stage !== 'waiting-glaze' && leading !== 'glazing'
      ? [{ path: 'glazing', label: 'To the glazing bench', isTap: false }]
      : [];
  return {
    own: [...glazing, ...open.filter((path) => moveOf(path).permission === 'ware.own').map(offer), ...edit],
    technicians: technician
      ? open.filter((path) => moveOf(path).permission === 'ware.decide').map(offer)
      : [],
  };
}

/** What is allowed but nobody looks for on this page. */
const isSensible = (path: MovePath, { stage }: PieceNow, technician: boolean): boolean =>
  technician || path !== 'here-again' || stage === 'picked-up';

export function labelOf(path: MovePath, { stage, glazes }: PieceNow): string {
  if (path === 'pick-up' && stage !== 'fired') return 'I took it away as it is';
  if (path === 'glazes')
    return stage === 'glazed' || glazes.length > 0 ? 'Change the glaze' : 'It is glazed already';
  return moveOf(path).label;
}

/** The address of an act that asks nothing, opened by itself, leads to the piece. */
export const backToPiece = async (visit: Visit): Promise<Answer> =>
  go(`/ware/${numberIn(visit, 'number', NO_PIECE)}`);
