/** Why four digits make no PIN worth having, in words; null where they do. */
export function pinProblem(pin: string): string | null {
  if (!/^\d{4}$/.test(pin)) return 'Four digits, such as the end of a number only you know.';
  const steps = new Set([1, 2, 3].map((i) => Number(pin[i]) - Number(pin[i - 1])));
  const [step] = steps;
  if (steps.size === 1 && step !== undefined && Math.abs(step) <= 1)
    return 'The first that anybody tries. Choose digits that do not simply repeat or count.';
  if (pin.slice(0, 2) === pin.slice(2)) return 'Twice the same two digits is soon guessed. Choose others.';
  const year = Number(pin);
  if (year >= 1930 && year <= 2039)
    return 'It looks like a year, which is soon guessed. Choose other digits.';
  return null;
}
