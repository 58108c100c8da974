import { LoadPageView, LoadRegion } from '../../../views/kilns/load.tsx';
import { LoadPiecePage } from '../../../views/kilns/load-piece.tsx';
import { LoadSheetPage } from '../../../views/kilns/load-sheet.tsx';
import { NotFound } from '../../core/errors.ts';
import {
  type Answer,
  emptyForm,
  type FormState,
  page,
  type Visit,
  wantsFragment,
  watching,
} from '../../core/routes.ts';
import { freeSpotsFor, kilnSettings, listSchedules, showLoad } from '../service/index.ts';
import { numbersIn } from './load-list.tsx';
import { loadNumber, loadReaderOf } from './load-reader.ts';

const script = (visit: Visit): string => visit.services.assets.url('load-plan.js');

/** A load: drawings, who has what in it, what is open, and what may be done with it. */
export async function showLoadPage(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const [loaded, settings, schedules] = await Promise.all([
    showLoad(visit.read, loadNumber(visit)),
    kilnSettings(visit.read),
    listSchedules(visit.read),
  ]);
  const { kind, cone } = loaded.load.firing;
  const props = {
    page: loaded,
    form,
    done: doneWords(visit),
    script: script(visit),
    scheduleWord: settings.scheduleWord,
    schedules: schedules.filter((one) => one.kind === kind && one.cone === cone),
    reader: loadReaderOf(visit),
  };
  const isPart = wantsFragment(visit.request) && form.errors.length === 0;
  return watching(
    [`load.${loaded.load.number}`],
    page(
      `Load ${loaded.load.number}, ${loaded.load.state}`,
      'kilns',
      isPart ? <LoadRegion {...props} /> : <LoadPageView {...props} />,
    ),
  );
}

const DONE: Record<string, (piece: string) => string> = {
  approve: () => 'Approved. Its pieces are reserved, and their owners were told.',
  move: (piece) => `${piece} moved.`,
  'put-in': (piece) => `${piece} is in.`,
  'take-out': (piece) => `${piece} is out. It waits on.`,
  'leave-out': (piece) => `${piece} is left out of this load. It waits on.`,
  pin: (piece) => `${piece} stays on its level.`,
  unpin: (piece) => `${piece} is no longer pinned.`,
  repack: () => 'Packed again.',
  schedule: () => 'Changed.',
  cancel: () => 'Cancelled. Its pieces wait again, each at its old place.',
  loaded: () => 'The kiln is loaded.',
};

function doneWords({ query }: Visit): string | null {
  const did = typeof query.did === 'string' && Object.hasOwn(DONE, query.did) ? query.did : '';
  const [piece] = numbersIn(query.piece);
  return DONE[did]?.(piece === undefined ? 'The piece' : `Piece ${piece}`) ?? null;
}

/** Where one piece may stand in a load, and what else to do with it there. */
export async function showLoadPiece(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const number = loadNumber(visit);
  const [piece] = numbersIn(visit.param('piece'));
  const loaded = await showLoad(visit.read, number);
  const { load, pieces, notYetIn } = loaded;
  const isIn = pieces.some((one) => one.number === piece);
  const isKnown = isIn || notYetIn.some((one) => one.number === piece);
  const mayChange = load.state === 'proposed' || load.state === 'approved';
  // Somebody was faster: why the act was refused is said on the load's page.
  if (form.errors.length > 0 && !(isKnown && mayChange)) return showLoadPage(visit, form);
  if (piece === undefined || !isKnown)
    throw new NotFound(`This piece is not in load ${number}, and does not wait for it.`);
  if (!mayChange) return showLoadPage(visit, form);
  const { on, part, level } = { ...visit.query, ...visit.typed };
  return page(
    `Piece ${piece} in load ${number}`,
    'kilns',
    <LoadPiecePage
      page={loaded}
      piece={piece}
      places={await freeSpotsFor(visit.read, number, piece)}
      on={typeof part === 'string' ? `${part}-${level}` : typeof on === 'string' ? on : undefined}
      form={form}
      script={script(visit)}
      reader={loadReaderOf(visit)}
    />,
  );
}

/** All of a load on paper. */
export async function showLoadSheet(visit: Visit): Promise<Answer> {
  const [loaded, settings] = await Promise.all([
    showLoad(visit.read, loadNumber(visit)),
    kilnSettings(visit.read),
  ]);
  return page(
    `Sheet of load ${loaded.load.number}`,
    'kilns',
    <LoadSheetPage
      page={loaded}
      scheduleWord={settings.scheduleWord}
      studio={visit.studio.name}
      reader={loadReaderOf(visit)}
    />,
  );
}
