/** How what lies between two whole units is rounded; half-up is away from zero. */
export const ROUNDINGS = ['half-up', 'half-even', 'up', 'down'] as const;
export type Rounding = (typeof ROUNDINGS)[number];
