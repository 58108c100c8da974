/**
 * Whether this is a CAS registry number: two to seven digits, two digits and a check digit that is the sum of the other
 * digits weighted 1, 2, 3 … from the right, modulo 10 (cas.org, "Check Digit Verification of CAS Registry Numbers").
 */
export function isCas(text: string): boolean {
  if (!/^[1-9]\d{1,6}-\d\d-\d$/.test(text)) return false;
  const digits = [...text.replaceAll('-', '')].map(Number).reverse();
  const [check, ...others] = digits;
  return others.reduce((sum, digit, at) => sum + digit * (at + 1), 0) % 10 === check;
}
