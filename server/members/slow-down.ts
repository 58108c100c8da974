/**
 * Seconds to wait after the latest of `failures` failed tries: none for the first `free`, then `first`, twice that,
 * four times … up to `longest`. It never becomes a lock-out, so nobody can keep another person out for good.
 */
export function waitSeconds(
  failures: number,
  free: number,
  { first, longest }: Waits = PASSWORD_WAITS,
): number {
  return failures < free ? 0 : Math.min(longest, first * 2 ** (failures - free));
}

/** Seconds. */
export interface Waits {
  first: number;
  longest: number;
}

const PASSWORD_WAITS: Waits = { first: 1, longest: 60 };
/** Ten thousand PINs are few: after these waits, a day of guessing tries some thirty of them. */
export const PIN_WAITS: Waits = { first: 15, longest: 3600 };

/** '1 second', '15 seconds', '4 minutes': never less than there is to wait. */
export function waitWords(seconds: number): string {
  const [amount, unit] = seconds < 120 ? [seconds, 'second'] : [Math.ceil(seconds / 60), 'minute'];
  return `${amount} ${unit}${amount === 1 ? '' : 's'}`;
}

/**
 * What counts as one address: an IPv4 address, or the /64 that one IPv6 customer has to themselves.
 */
export function network(address: string): string {
  const mapped = /^::ffff:(\d+\.\d+\.\d+\.\d+)$/i.exec(address)?.[1];
  if (mapped) return mapped;
  if (!address.includes(':')) return address;
  const [head = '', tail = ''] = address.split('%', 1)[0]?.split('::', 2) ?? [];
  const first = head === '' ? [] : head.split(':');
  const last = tail === '' ? [] : tail.split(':');
  const groups = [...first, ...Array(Math.max(0, 8 - first.length - last.length)).fill('0'), ...last];
  return `${groups
    .slice(0, 4)
    .map((group) => Number.parseInt(group, 16).toString(16))
    .join(':')}::/64`;
}
