import { z } from 'zod';
import type { Act } from '../../core/actor.ts';
import { Conflict, Invalid } from '../../core/errors.ts';
import { keepPicture, type Picture } from '../../core/files.ts';
import { choice, flag, quantity, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { compareCones } from '../cone.ts';
import { ATMOSPHERES } from '../firing.ts';
import { asksFoot, asksYes, heldBackMm } from '../gates.ts';
import { isUnglazed } from '../mine.ts';
import { MOST_TICKS } from '../numbers.ts';
import { LOST_WORDS, RETURN_WORDS } from '../reasons.ts';
import { MEASURED } from '../size.ts';
import type { Stage } from '../stage.ts';
import * as store from '../store/pieces.ts';
import { ONE_ONLY } from './bench-entries.ts';
import { BENCH_MOVES } from './bench-moves.ts';
import { writtenCone } from './clays.ts';
import { pieceFees } from './fee-gate.ts';
import { append, tellOwners } from './ledger.ts';
import { always, empty, from, isHard, type Move, move, note, unglazable } from './move.ts';
import { assignedTo, glaze, glazedWith, refuse } from './move-entries.ts';
import { findPieces, lockOwn, type PieceNow } from './now.ts';
import { keepPrices } from './quotes.ts';
import { wareSettings } from './settings.ts';

/** A tray under what nobody here knows, mm all round: common practice, no source. */
export const STRANGER_TRAY_MM = 15;
const MOST_GLAZES = 8;

const keysOf = <T extends string>(words: Record<T, string>) => Object.keys(words) as [T, ...T[]];

const HERE: Stage[] = [
  'made',
  'drying',
  'waiting-bisque',
  'bisqued',
  'glazed',
  'waiting-glaze',
  'fired',
  'returned',
  'refire',
];

/** What is done with pieces but at the glazing bench. */
const OTHER_MOVES = {
  drying: move({
    permission: 'ware.own',
    label: 'It stands to dry',
    summary: 'It is finished and stands to dry',
    body: empty,
    refusal: from('made'),
    entries: always({ kind: 'drying', stage: 'drying' }),
  }),

  'ask-dry': move({
    permission: 'ware.own',
    label: 'I think it is dry',
    summary: 'Hand in greenware: its owner thinks it is dry, and a technician feels whether it is',
    body: empty,
    refusal: (piece) =>
      piece.isAsked
        ? `Piece ${piece.number} is handed in already: a technician feels whether it is dry.`
        : piece.isBisqued
          ? `Piece ${piece.number} is bisqued already.`
          : from('made', 'drying', 'returned')(piece),
    entries: always({ kind: 'asked-dry', stage: 'drying' }),
  }),

  hole: move({
    permission: 'ware.own',
    label: 'It has a hole now',
    summary: 'The closed form has a hole',
    body: empty,
    refusal: (piece) =>
      piece.isClosed && !piece.hasHole
        ? from(...HERE)(piece)
        : `Piece ${piece.number} needs no hole, or has one.`,
    entries: always({ kind: 'hole', change: { hasHole: true } }),
  }),

  glazes: move({
    permission: 'ware.own',
    label: 'Glazed',
    summary: 'What it was glazed with, in the order the glazes went on; none where it stays bare',
    body: z.strictObject({
      glazes: z.array(glaze).max(MOST_GLAZES, `At most ${MOST_GLAZES} glazes.`),
    }),
    refusal: unglazable,
    entries: glazedWith,
  }),

  'hand-in': move({
    permission: 'ware.own',
    label: 'Hand it in',
    summary: 'Hand in for the firing: the foot is wiped and the glaze held back from it',
    body: z.strictObject({ heldBack: flag().optional() }),
    refusal: (piece) => {
      if (piece.final.kind === 'bisque')
        return `Piece ${piece.number} is wanted bisqued only: choose its firing first.`;
      if (!isHard(piece)) return `Piece ${piece.number} has not been bisqued.`;
      if (isUnglazed(piece)) return `Say first how you glazed piece ${piece.number}, or that it stays bare.`;
      // Lustre, decals and the like go over what is fired: there is nothing to glaze first.
      const straight: Stage[] = piece.final.kind === 'glaze' ? [] : ['bisqued'];
      return from('glazed', 'returned', ...straight)(piece);
    },
    async entries(act, { heldBack }, pieces) {
      const glazed = pieces.filter(asksFoot);
      if (glazed.length > 0 && !heldBack) {
        const far = heldBackMm(
          glazed.flatMap(({ glazes }) => glazes),
          await wareSettings(act),
        );
        throw refuse('heldBack', `Wipe the foot and hold the glaze back ${far} mm. Then tick this.`);
      }
      return () => ({ kind: 'handed-in', stage: 'waiting-glaze', payload: { heldBack: heldBack ?? false } });
    },
  }),

  'another-firing': move({
    permission: 'ware.own',
    label: 'Another firing',
    summary: 'Fired ware goes on: lustre, a decal, or once more with other glaze',
    body: z.strictObject({
      kind: choice(['glaze', 'lustre', 'other']),
      cone: writtenCone(),
      atmosphere: choice(ATMOSPHERES).default('oxidation'),
    }),
    refusal: from('fired'),
    async entries(_act, { kind, cone, atmosphere }, pieces) {
      for (const { clay } of pieces)
        if (clay && compareCones(clay.maxCone, cone) < 0)
          throw refuse('cone', `${clay.name} stands cone ${clay.maxCone} at most.`);
      return ({ final }) => ({
        kind: 'another-firing',
        stage: kind === 'glaze' ? 'bisqued' : 'glazed',
        payload: { endsYes: true, changed: { firing: `${final.kind} ${final.cone} → ${kind} ${cone}` } },
        change: { kind, cone, atmosphere },
      });
    },
  }),

  'pick-up': move({
    permission: 'ware.own',
    label: 'Picked up',
    summary: 'Its owner has taken it away: fired, or because it will not be',
    body: empty,
    refusal: from(...HERE, 'left-behind'),
    entries: always({ kind: 'picked-up', stage: 'picked-up' }),
  }),

  'here-again': move({
    permission: 'ware.own',
    label: 'It is here again',
    summary: 'What was taken away or lost is back where it was before',
    body: empty,
    refusal: from('picked-up', 'lost', 'left-behind'),
    async entries() {
      return () => ({ kind: 'here-again' });
    },
  }),

  dry: move({
    permission: 'ware.decide',
    label: 'Bone dry',
    summary: 'A technician has felt that it is bone dry',
    body: empty,
    refusal: (piece) =>
      piece.isBisqued
        ? `Piece ${piece.number} is bisqued already.`
        : piece.dryAt !== null
          ? `Piece ${piece.number} is known to be dry.`
          : from('made', 'drying', 'glazed', 'waiting-glaze')(piece),
    entries: async () => (piece) => ({
      kind: 'dry',
      stage: piece.isOnce ? undefined : 'waiting-bisque',
    }),
    told: (_body, what, isOne) => `${what} ${isOne ? 'is' : 'are'} bone dry.`,
  }),

  return: move({
    permission: 'ware.decide',
    label: 'Give it back',
    summary: 'Give it back to its owner, with the reason',
    body: z.strictObject({ reason: choice(keysOf(RETURN_WORDS)), note }),
    refusal: from('made', 'drying', 'waiting-bisque', 'bisqued', 'glazed', 'waiting-glaze', 'refire'),
    async entries(_act, { reason, note: words }) {
      if (reason === 'other' && words === undefined)
        throw refuse('note', 'Say why, so that its owner can mend it.');
      return () => ({ kind: 'returned', stage: 'returned', payload: { reason } });
    },
    told: ({ reason, note: words }, what, isOne) =>
      `${what} ${isOne ? 'was' : 'were'} given back to you: ${[RETURN_WORDS[reason].toLowerCase(), words].filter(Boolean).join('. ')}`,
  }),

  yes: move({
    permission: 'ware.decide',
    label: 'Say yes to it',
    summary:
      'Say yes to a clay or glaze nobody here knows, or to coats that may run, for its next firing, on a tray',
    body: z.strictObject({ trayMm: quantity(1, 150, 'mm').default(STRANGER_TRAY_MM), note }),
    refusal: (piece) =>
      !asksYes(piece.gates) ? `Piece ${piece.number} asks for no yes.` : from(...HERE)(piece),
    entries:
      async (_act, { trayMm }) =>
      () => ({ kind: 'yes', payload: { trayMm } }),
  }),

  flag: move({
    permission: 'ware.decide',
    label: 'Keep it back',
    summary: 'Keep it out of every load, with the reason',
    body: z.strictObject({ words: text(200) }),
    refusal: from(...HERE, 'in-load'),
    entries:
      async (_act, { words }) =>
      () => ({ kind: 'flagged', change: { flag: words } }),
    told: ({ words }, what, isOne) => `${what} ${isOne ? 'is' : 'are'} kept back: ${words}`,
  }),

  unflag: move({
    permission: 'ware.decide',
    label: 'Let it go on',
    summary: 'Nothing keeps it back any more',
    body: empty,
    refusal: (piece) => (piece.flag === null ? `Piece ${piece.number} is not kept back.` : null),
    entries: always({ kind: 'unflagged', change: { flag: null } }),
  }),

  refire: move({
    permission: 'ware.decide',
    label: 'Fire it again',
    summary: 'Fire it again as it is',
    body: z.strictObject({ note }),
    refusal: from('fired', 'picked-up', 'returned'),
    async entries(_act, _body, pieces) {
      const soft = pieces.find((piece) => !piece.isBisqued);
      if (soft) throw new Conflict(`Piece ${soft.number} has not been fired yet.`);
      return () => ({ kind: 'refire', stage: 'refire' });
    },
    told: (_body, what, isOne) => `${what} ${isOne ? 'goes' : 'go'} into the kiln once more.`,
  }),

  'left-behind': move({
    permission: 'ware.decide',
    label: 'Left behind',
    summary: 'Nobody fetched it: it stands with what was left behind',
    body: z.strictObject({ note }),
    refusal: from('fired', 'bisqued', 'returned'),
    entries: always({ kind: 'left-behind', stage: 'left-behind' }),
    told: (_body, what, isOne) =>
      `${what} ${isOne ? 'stands' : 'stand'} with what was left behind: fetch ${isOne ? 'it' : 'them'} soon.`,
  }),

  lost: move({
    permission: 'ware.decide',
    label: 'Lost',
    summary: 'It is lost, with the cause',
    body: z.strictObject({
      cause: choice(keysOf(LOST_WORDS)),
      /** By the doing of the studio: what its firings cost is given back. */
      studiosFault: flag().optional(),
      note,
    }),
    refusal: from(...HERE, 'left-behind', 'no-name'),
    entries:
      async (_act, { cause }) =>
      () => ({ kind: 'lost', stage: 'lost', payload: { reason: cause } }),
    told: ({ cause, note: words }, what, isOne) =>
      `${what} ${isOne ? 'is' : 'are'} lost: ${[LOST_WORDS[cause].toLowerCase(), words].filter(Boolean).join('. ')}`,
  }),

  assign: move({
    permission: 'ware.decide',
    label: 'Give it an owner',
    summary: 'Say whose it is: a person by name or e-mail address, or a household or class by its name',
    body: z.strictObject({ who: text(254).optional(), group: text(60).optional() }),
    refusal: from(...HERE, 'no-name', 'left-behind', 'picked-up'),
    entries: assignedTo,
    told: (_body, what, isOne) => `${what} ${isOne ? 'is' : 'are'} yours now.`,
  }),

  measure: move({
    permission: 'ware.decide',
    label: 'Measure it',
    summary: 'Its size, measured by a technician: such ware is packed closer',
    body: z.strictObject({
      widthMm: quantity(2, 2000, 'mm'),
      /** Left out for what is round. */
      depthMm: quantity(2, 2000, 'mm').optional(),
      heightMm: quantity(2, 2000, 'mm'),
      measured: choice(MEASURED).optional(),
    }),
    refusal: from(...HERE),
    async entries(_act, { widthMm, depthMm, heightMm, measured }, pieces) {
      if (measured === 'bisque' && pieces.some((piece) => !piece.isBisqued))
        throw refuse('measured', 'It has not been bisqued.');
      return (piece) => ({
        kind: 'measured',
        change: {
          footprint: depthMm === undefined ? 'circle' : 'rectangle',
          widthMm,
          depthMm: depthMm ?? widthMm,
          heightMm,
          measured: piece.isBisqued ? 'bisque' : (measured ?? (piece.stage === 'made' ? 'wet' : 'dry')),
          measuredByTechnician: true,
        },
      });
    },
  }),
} as const;

/** What is done with pieces, by the last part of its address. */
export const MOVES = { ...OTHER_MOVES, ...BENCH_MOVES } as const;

export type MovePath = keyof typeof MOVES;
export const MOVE_PATHS = Object.keys(MOVES) as MovePath[];

/** Acts of the glazing bench, which has a page of its own. */
export const isBenchPath = (path: MovePath): boolean => path in BENCH_MOVES;

type AnyMove = Move<z.ZodType>;

export const moveOf = (path: MovePath): AnyMove => MOVES[path] as unknown as AnyMove;

/** Why a person of this role cannot do this with a piece; null where they can. */
export const moveRefusal = (path: MovePath, piece: PieceNow): string | null => moveOf(path).refusal(piece);

/**
 * Does one thing with pieces, all or none of them, and tells their owners. Answers their numbers. Throws NotFound
 * for pieces that are not there for whoever acts, Conflict for those that are not where they must be, Invalid for what
 * does not fit, with the field.
 */
export async function movePieces<P extends MovePath>(
  act: Act,
  path: P,
  numbers: readonly number[],
  body: z.output<(typeof MOVES)[P]['body']>,
  picture: Picture | null = null,
): Promise<number[]> {
  const { permission, refusal, entries, told, oneBy } = moveOf(path);
  mustBeAllowed(act.actor, permission);
  const each = [...new Set(numbers)];
  if (each.length === 0 || each.length > MOST_TICKS)
    throw new Invalid(`Choose at least one piece and at most ${MOST_TICKS}.`);
  if (oneBy !== undefined && each.length > 1) throw refuse(oneBy, ONE_ONLY);
  const pieces = await lockOwn(act, each);
  const refused = pieces.flatMap((piece) => refusal(piece) ?? []);
  if (refused.length > 0) throw new Conflict(refused.slice(0, 3).join(' '));
  if (path === 'here-again' && pieces.some(({ stage }) => stage !== 'picked-up'))
    mustBeAllowed(act.actor, 'ware.decide');
  const { note: remark, words = remark } = body as { note?: string; words?: string };
  const noteId = await store.insertNote(act.tx, words);
  const fileId = picture ? await keepPicture(act, picture) : null;
  const entryFor = await entries(act, body, pieces);
  const byNumber = new Map(pieces.map((piece) => [piece.number, piece]));
  await append(act, pieces, ({ number, standing }) => {
    const piece = byNumber.get(number) as PieceNow;
    const back = path === 'here-again' ? { stage: standing.before ?? 'made' } : {};
    return { ...entryFor(piece), ...back, noteId, fileId };
  });
  const { studiosFault } = body as { studiosFault?: boolean };
  if (path === 'lost' && studiosFault) await pieceFees().lost(act, pieces);
  const wereLost = pieces.filter(({ stage }) => stage === 'lost');
  if (path === 'here-again' && wereLost.length > 0) await pieceFees().foundAgain(act, wereLost);
  if (path === 'another-firing') await keepPrices(act, each);
  // Whoever owns it after the act: a piece may just have got its owner.
  if (told)
    await tellOwners(act, await findPieces(act, each), path, (what, isOne) => told(body, what, isOne));
  return pieces.map(({ number }) => number);
}
