/** The inside of a bucket: diameters at the bottom and at the rim, and height. Straight: equal diameters. */
export type Shape = { bottomMm: number; topMm: number; heightMm: number };

const MM3_PER_LITRE = 1e6;
const ROUNDING = 1e-9;

/**
 * Litres in a bucket filled to a depth: the frustum of a cone, π·h·(b² + b·d + d²)/12 with the diameter d at the
 * surface.
 * @param depthMm dip-stick mark above the bottom inside, mm
 * @throws RangeError when the shape or the depth cannot be
 */
export function litresAtDepth(shape: Shape, depthMm: number): number {
  const d = diameterAt(shape, depthMm);
  const b = shape.bottomMm;
  return (Math.PI * depthMm * (b * b + b * d + d * d)) / 12 / MM3_PER_LITRE;
}

/**
 * Depth in mm of so many litres, the inverse of `litresAtDepth`.
 * @throws RangeError when the shape cannot be or the bucket does not hold so much
 */
export function depthAtLitres(shape: Shape, litres: number): number {
  const full = litresAtDepth(shape, shape.heightMm);
  if (!(litres >= 0 && litres <= full * (1 + ROUNDING))) {
    throw new RangeError(`The bucket holds from 0 to ${full.toFixed(1)} L.`);
  }
  const b = shape.bottomMm;
  const scaled = (12 * litres * MM3_PER_LITRE) / Math.PI;
  const d = Math.cbrt(b ** 3 + scaled * taper(shape));
  // (d³ − b³)/taper written so that it also holds for a straight bucket.
  return scaled / (b * b + b * d + d * d);
}

/**
 * Litres that one mm of depth is worth at a depth: the area of the surface. A dip stick read to 5 mm is uncertain
 * by 5/√12 mm times this.
 * @throws RangeError when the shape or the depth cannot be
 */
export function litresPerMm(shape: Shape, depthMm: number): number {
  return (Math.PI * diameterAt(shape, depthMm) ** 2) / 4 / MM3_PER_LITRE;
}

function diameterAt(shape: Shape, depthMm: number): number {
  const sizes = [shape.bottomMm, shape.topMm, shape.heightMm];
  if (!sizes.every((mm) => mm > 0 && Number.isFinite(mm))) {
    throw new RangeError('The diameters and the height of the bucket must be more than zero.');
  }
  if (!(depthMm >= 0)) throw new RangeError('The depth cannot be negative.');
  if (depthMm > shape.heightMm * (1 + ROUNDING)) {
    throw new RangeError(`The bucket is only ${shape.heightMm} mm high.`);
  }
  return shape.bottomMm + taper(shape) * depthMm;
}

/** Growth of the diameter per mm of height. */
function taper(shape: Shape): number {
  return (shape.topMm - shape.bottomMm) / shape.heightMm;
}
