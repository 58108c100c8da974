import { z } from 'zod';
import { COATS, MovePage } from '../../../views/ware/moves.tsx';
import { listBuckets } from '../../buckets/service/index.ts';
import { Invalid } from '../../core/errors.ts';
import { pictureIn } from '../../core/files.ts';
import { code, flag, text } from '../../core/forms.ts';
import { numberIn } from '../../core/param.ts';
import {
  type Answer,
  emptyForm,
  type FormState,
  get,
  go,
  page,
  post,
  postWithFiles,
  type Route,
  type Visit,
} from '../../core/routes.ts';
import {
  findPiece,
  isBenchPath,
  listGroups,
  MOVE_PATHS,
  type MovePath,
  moveOf,
  movePieces,
  siblings,
  wareSettings,
  writtenCone,
} from '../service/index.ts';
import { showGlazing } from './glazing.tsx';
import { backToPiece, labelOf, showPiece, TAPS } from './piece.tsx';
import { readerOf } from './reader.ts';
import { alsoIn, NO_PIECE } from './register.tsx';

const showMove =
  (path: MovePath) =>
  async (visit: Visit, form: FormState = emptyForm()): Promise<Answer> => {
    const piece = await findPiece(visit.read, numberIn(visit, 'number', NO_PIECE));
    const [others, settings, buckets, groups] = await Promise.all([
      siblings(visit.read, piece),
      wareSettings(visit.read),
      path === 'glazes' ? listBuckets(visit.read) : [],
      path === 'assign' ? listGroups(visit.read) : [],
    ]);
    const label = labelOf(path, piece);
    return page(
      `${label}: piece ${piece.number}`,
      'ware',
      <MovePage
        path={path}
        label={label}
        piece={piece}
        others={others}
        form={form}
        reader={readerOf(visit)}
        settings={settings}
        buckets={buckets}
        groups={groups}
      />,
    );
  };

/** Glazes as a form brings them: up to three of the wall, one from outside, or none on purpose. */
const glazesForm = z.strictObject({
  first: code().optional(),
  second: code().optional(),
  third: code().optional(),
  own: text(60).optional(),
  coneFrom: writtenCone().optional(),
  coneTo: writtenCone().optional(),
  bare: flag(),
});

function glazesIn(visit: Visit): { glazes: object[] } {
  const { own, coneFrom, coneTo, bare, ...coats } = visit.form(glazesForm);
  const refuse = (path: string, message: string) => new Invalid([{ path, message }]);
  const fromWall = COATS.flatMap((coat) => (coats[coat] === undefined ? [] : [{ bucket: coats[coat] }]));
  if (own !== undefined && (coneFrom === undefined || coneTo === undefined))
    throw refuse(
      coneFrom === undefined ? 'coneFrom' : 'coneTo',
      'Say which cones it takes, as its maker does: the same twice for one.',
    );
  const glazes = [...fromWall, ...(own === undefined ? [] : [{ own, coneFrom, coneTo }])];
  if (glazes.length === 0 && !bare)
    throw refuse('first', 'Choose what it was glazed with, or tick below that it stays bare.');
  if (glazes.length > 0 && bare) throw refuse('bare', 'It has a glaze: leave this empty, or choose none.');
  return { glazes };
}

/** Where a refused glaze of the list stands in the form. */
function beside(error: unknown): unknown {
  if (!(error instanceof Invalid)) return error;
  return new Invalid(
    error.errors.map(({ path, message }) => {
      const [, at, field] = /^glazes\.(\d+)\.(\w+)$/.exec(path) ?? [];
      if (field === 'bucket') return { path: COATS[Number(at)] ?? 'first', message };
      return { path: field ?? path, message };
    }),
  );
}

/** The address of an act of the bench, opened by itself, leads there. */
const backToBench = async (visit: Visit): Promise<Answer> =>
  go(`/ware/${numberIn(visit, 'number', NO_PIECE)}/glazing`);

/** Does it from its form with the pieces that the tick takes along, then shows where they were moved from. */
const doMove =
  (path: MovePath) =>
  (visit: Visit): Promise<Answer> =>
    visit.submit(
      (form) =>
        isBenchPath(path)
          ? showGlazing(visit, form)
          : TAPS.includes(path)
            ? showPiece(visit, form)
            : showMove(path)(visit, form),
      async () => {
        const number = numberIn(visit, 'number', NO_PIECE);
        const upload = visit.upload('photo');
        const picture = upload && (await pictureIn(upload, 'photo'));
        const body = path === 'glazes' ? glazesIn(visit) : visit.form(moveOf(path).body);
        const numbers = [number, ...alsoIn(visit)];
        try {
          await visit.act((act) => movePieces(act, path, numbers, body as never, picture));
        } catch (error) {
          throw beside(error);
        }
        const at = isBenchPath(path) ? `/ware/${number}/glazing` : `/ware/${number}`;
        const to = visit.typed.from === 'mine' ? '/ware' : at;
        return go(`${to}?did=${path}&pieces=${numbers.join(',')}`);
      },
    );

/** Two routes for every act: its page or the way back, and what its form is sent to. */
export const moveRoutes: Route[] = MOVE_PATHS.flatMap((path) => {
  const { permission } = moveOf(path);
  const at = `/ware/:number/${path}`;
  const send = path === 'return' ? postWithFiles : post;
  return [
    get(
      at,
      permission,
      isBenchPath(path) ? backToBench : TAPS.includes(path) ? backToPiece : (visit) => showMove(path)(visit),
    ),
    send(at, permission, doMove(path)),
  ];
});
