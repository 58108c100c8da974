import type { Read } from '../../core/actor.ts';

/** What decides whether a fired piece may touch food. */
export interface FiredPiece {
  /** Its layers, first to last; null for a glaze that is not from the wall. */
  glazes: ({ recipeId: number; recipeVersion: number } | null)[];
  clayId: number | null;
  /** Numbers of the loads it came out of since its glaze went on, in their order: the kilns know to which cone. */
  loads: number[];
  /** As whoever saw it last says. */
  crazed: boolean;
}

type FoodWords = (read: Read, piece: FiredPiece) => Promise<string>;

let words: FoodWords = async () => '';

/** The safety feature stands to the right of this one; the app tells here how it answers. */
export const fillFoodWords = (filled: FoodWords): void => {
  words = filled;
};

/** Whether a piece may touch food: a short line. */
export const foodWords: FoodWords = (read, piece) => words(read, piece);
