/**
 * Seconds to wait after the latest of `failures` failed sign-ins: none for the first `free`, then one, two,
 * four … up to a minute. It never becomes a lock-out, so nobody can keep another person out.
 */
export function waitSeconds(failures: number, free: number): number {
  return failures < free ? 0 : Math.min(60, 2 ** (failures - free));
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
