/** One material of a recipe: parts by mass, and particle density in g/cm³. */
export interface RecipeLine {
  material: string;
  parts: number;
  density: number;
}

/**
 * Mass fraction of each line, summing to 1. Parts need not sum to 100: additions over it are normal.
 * @throws RangeError when the recipe is empty or a line has no positive parts
 */
export function massFractions(lines: RecipeLine[]): number[] {
  if (lines.length === 0) throw new RangeError('A recipe needs at least one material.');
  for (const line of lines) requirePositive(line.parts, `${line.material} needs parts above zero.`);
  const total = lines.reduce((sum, line) => sum + line.parts, 0);
  return lines.map((line) => line.parts / total);
}

/**
 * Particle density of the dry glaze in g/cm³: 1/S = Σ wᵢ/ρᵢ over mass fractions.
 * @throws RangeError when the recipe is empty, or parts or a density are not positive
 */
export function solidsDensity(lines: RecipeLine[]): number {
  const fractions = massFractions(lines);
  for (const line of lines) requirePositive(line.density, `${line.material} needs a density above zero.`);
  return 1 / lines.reduce((sum, line, i) => sum + (fractions[i] ?? 0) / line.density, 0);
}

function requirePositive(value: number, sentence: string): void {
  if (!(value > 0 && Number.isFinite(value))) throw new RangeError(sentence);
}
