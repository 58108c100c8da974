import { isIP } from 'node:net';
import ipaddr from 'ipaddr.js';

// Which addresses a hook may reach. Whoever may make one could otherwise use this server as a way into the house it
// stands in, or have it hand out what its provider keeps for it alone.

/** Of ipaddr.js; those of the house itself. Link-local is none of them: providers serve secrets there. */
const OF_THE_HOUSE = ['private', 'loopback', 'uniqueLocal', 'carrierGradeNat'];

/**
 * Whether an IP address may be connected to. Public ones always: of IPv6 only what is given out as global unicast
 * (2000::/3, RFC 4291), without the ranges in it that lead on to IPv4. Those of the house where that is allowed.
 */
export function mayReach(address: string, { toPrivate }: { toPrivate: boolean }): boolean {
  if (isIP(address) === 0) return false;
  const parsed = ipaddr.process(address);
  const range = parsed.range();
  if (toPrivate && OF_THE_HOUSE.includes(range)) return true;
  if (range !== 'unicast') return false;
  return parsed.kind() === 'ipv4' || ((parsed as ipaddr.IPv6).parts[0] ?? 0) >> 13 === 1;
}

/** The host of an address without the brackets of IPv6. */
export const hostOf = (url: URL): string => url.hostname.replace(/^\[(.*)\]$/, '$1');

/**
 * What is wrong with the address of a hook, as a sentence; null: nothing that can be seen before it is called. However
 * an IP address is written (127.1, 0x7f000001, 2130706433), URL has made it plain by then.
 */
export function wrongWithUrl(text: string, { toPrivate }: { toPrivate: boolean }): string | null {
  const url = URL.canParse(text) ? new URL(text) : null;
  if (!url || !(url.protocol === 'https:' || url.protocol === 'http:'))
    return 'An address such as https://shop.example.org/wareboard.';
  if (url.protocol === 'http:' && !toPrivate)
    return 'The address begins with https:, so that nobody on the way can read or change what is sent.';
  if (url.username || url.password)
    return 'Leave name and password out of the address: every call is signed instead.';
  if (url.hash) return 'Leave out # and what follows: it is never sent.';
  const host = hostOf(url);
  if (isIP(host) !== 0 && !mayReach(host, { toPrivate }))
    return 'This address lies in a private network, which hooks do not reach.';
  return null;
}
