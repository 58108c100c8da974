// Written as a bucket's cone range is: 022 … 01, 1 … 14, with ½, also 006.
const CONE = /^(0{0,2})([1-9]|1\d|2[0-2])(½?)$/;

/**
 * Where a cone stands in the series from the softest, 022, to the hardest, 14: a number that grows by one from each
 * whole cone to the next, over the gap between 01 (0) and 1 (1) too. What temperature a cone stands for depends on
 * its chart and the rate of heating, and is not said here.
 * @throws RangeError when it is no cone
 */
export function coneOrder(cone: string): number {
  const [, zeros, digits, half] = CONE.exec(cone) ?? [];
  const number = Number(digits);
  if (!digits || (zeros === '' && number > 14) || (zeros === '00' && number > 9))
    throw new RangeError(`"${cone}" is no pyrometric cone.`);
  // A half lies towards the hotter neighbour: 05½ before 05, 5½ after 5.
  const height = number + (half ? 0.5 : 0);
  return zeros ? 1 - height : height;
}

/** Below 0 when `a` is the softer cone, above 0 when it is the harder one. @throws RangeError when either is no cone */
export const compareCones = (a: string, b: string): number => coneOrder(a) - coneOrder(b);

/**
 * Whether a cone lies in a range, both ends included, whichever end is named first.
 * @throws RangeError when one of them is no cone
 */
export function coneWithin(cone: string, oneEnd: string, otherEnd: string): boolean {
  const [order, one, other] = [coneOrder(cone), coneOrder(oneEnd), coneOrder(otherEnd)];
  return Math.min(one, other) <= order && order <= Math.max(one, other);
}
