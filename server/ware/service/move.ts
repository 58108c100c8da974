import { z } from 'zod';
import type { Act } from '../../core/actor.ts';
import { text } from '../../core/forms.ts';
import type { Permission } from '../../core/policy.ts';
import { STAGE_WORDS, type Stage } from '../stage.ts';
import type { Entry } from './ledger.ts';
import type { PieceNow } from './now.ts';

export const note = text(500).optional();
export const empty = z.strictObject({});

/**
 * One thing a person does with pieces. The form on the page, the JSON route and its OpenAPI entry come from here;
 * `refusal` says why a piece cannot be moved so as it is now.
 */
export interface Move<B extends z.ZodType> {
  permission: Extract<Permission, 'ware.own' | 'ware.decide'>;
  /** As its button says it. */
  label: string;
  /** For whoever reads the API. */
  summary: string;
  body: B;
  /** One piece at a time: the field beside which others that go along are refused. */
  oneBy?: string;
  refusal(piece: PieceNow): string | null;
  /** Looks up what it needs, once, and answers what is appended to each piece. Throws Invalid beside a field. */
  entries(act: Act, body: z.output<B>, pieces: PieceNow[]): Promise<(piece: PieceNow) => Entry>;
  /** What owners are told, 'Piece 12' or 'Pieces 12 to 17' first. */
  told?(body: z.output<B>, what: string, isOne: boolean): string;
}

export const move = <B extends z.ZodType>(definition: Move<B>): Move<B> => definition;
/** What is appended is the same whatever the piece. */
export const always = (entry: Entry) => async () => () => entry;

/** Refuses pieces that are in none of these stages. */
export const from =
  (...stages: Stage[]) =>
  ({ number, stage, load }: PieceNow): string | null => {
    if (stages.includes(stage)) return null;
    if (load !== null) return `Piece ${number} is in load ${load}.`;
    return `Piece ${number} is not there: ${STAGE_WORDS[stage].toLowerCase()}.`;
  };

/** Fired once, or to be glazed raw. */
export const isHard = ({ isBisqued, isOnce }: PieceNow): boolean => isBisqued || isOnce;

/** Why a piece cannot be glazed as it is now; null where it can. */
export const unglazable = (piece: PieceNow): string | null =>
  piece.final.kind === 'bisque'
    ? `Piece ${piece.number} is wanted bisqued only: choose its firing first.`
    : isHard(piece)
      ? from(
          'bisqued',
          'glazed',
          'returned',
          'waiting-glaze',
          ...(piece.isOnce ? (['made', 'drying'] as const) : []),
        )(piece)
      : `Piece ${piece.number} has not been bisqued.`;
