// What is done to a piece at the glazing bench, beside the other moves.
export const BENCH_MOVES = {} as const;
