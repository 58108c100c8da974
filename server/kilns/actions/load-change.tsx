import type { z } from 'zod';
import { wholeMm } from '../../../views/kilns/load-piece.tsx';
import type { Act } from '../../core/actor.ts';
import type { Typed } from '../../core/forms.ts';
import { type Answer, type FormState, go, type Visit } from '../../core/routes.ts';
import {
  approve,
  approveForm,
  cancel,
  cancelForm,
  chooseSchedule,
  leaveOut,
  moveForm,
  movePiece,
  pieceForm,
  pin,
  pinForm,
  prepareRepack,
  putIn,
  putInForm,
  repackForm,
  saveRepack,
  scheduleForm,
  takeOut,
  unpin,
} from '../service/index.ts';
import { loadNumber, unlessRetried } from './load-reader.ts';
import { showLoadPage, showLoadPiece } from './load-show.tsx';

type Show = (visit: Visit, form: FormState) => Promise<Answer>;

/** One act on a load, then its page again; what is refused is said on the page it came from. */
const changing =
  <S extends z.ZodType>(
    did: string,
    schema: S,
    work: (act: Act, number: number, command: z.output<S>) => Promise<void>,
    show: Show,
    typedOf: (typed: Typed) => Typed = (typed) => typed,
  ) =>
  (visit: Visit): Promise<Answer> =>
    visit.submit(
      (form) => show(visit, form),
      async () => {
        const number = loadNumber(visit);
        const command = visit.form(schema, typedOf(visit.typed));
        await visit.act((act) => work(act, number, command));
        return go(placeAfter(number, did, command));
      },
    );

/** The load's page, at the level that was changed. */
function placeAfter(number: number, did: string, command: unknown): string {
  const { piece, level } = command as { piece?: number; level?: number };
  const about = piece === undefined ? '' : `&piece=${piece}`;
  return `/kilns/loads/${number}?did=${did}${about}${did === 'move' && level ? `#level-${level}` : ''}`;
}

export const approveLoad = changing('approve', approveForm, approve, showLoadPage);
export const cancelLoad = changing('cancel', cancelForm, cancel, showLoadPage);
export const changeSchedule = changing('schedule', scheduleForm, chooseSchedule, showLoadPage);
export const dragPiece = changing('move', moveForm, movePiece, showLoadPage);
export const unpinFromLoad = changing('unpin', pieceForm, unpin, showLoadPage);

/** The fields show whole millimetres: what still says what they showed means the place that was there. */
function toTheLastDigit(typed: Typed): Typed {
  const kept = (now: Typed[string], was: Typed[string]) =>
    typeof was === 'string' && was !== '' && now === wholeMm(Number(was)) ? was : now;
  return { ...typed, xMm: kept(typed.xMm, typed.wasXMm), yMm: kept(typed.yMm, typed.wasYMm) };
}

export const movePieceTo = changing('move', moveForm, movePiece, showLoadPiece, toTheLastDigit);
export const putPieceIn = changing('put-in', putInForm, putIn, showLoadPiece);
export const takePieceOut = changing('take-out', pieceForm, takeOut, showLoadPiece);
export const leavePieceOut = changing('leave-out', pieceForm, leaveOut, showLoadPiece);
export const pinPiece = changing('pin', pinForm, pin, showLoadPiece);
export const unpinPiece = changing('unpin', pieceForm, unpin, showLoadPiece);

/** Packs the rest anew while nobody is kept waiting. */
export const repackLoad = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showLoadPage(visit, form),
    async () => {
      const number = loadNumber(visit);
      const command = visit.form(repackForm);
      const prepared = await unlessRetried(visit, () => prepareRepack(visit.read, number, command));
      await visit.act((act) => saveRepack(act, number, prepared));
      return go(placeAfter(number, 'repack', {}));
    },
  );
