/** Uniform numbers from 0 up to 1, the same for the same seed. */
export type Random = () => number;

/**
 * A small generator: a 32-bit counter through a mixing function (public domain, known as mulberry32).
 * @param seed any finite number; its whole part counts
 */
export function randomFrom(seed: number): Random {
  let state = Math.trunc(seed) | 0;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}
