import { createHmac } from 'node:crypto';
import type { Instant } from '../../server/core/clock.ts';
import { beginFactor, confirmFactor } from '../../server/members/service/second-factor.ts';
import { PASSWORD, type Person, type Studio } from './studio.ts';

const ALPHABET = 'ABCDEFGHIJKLMNOPQRSTUVWXYZ234567';

/** Bytes of a key in base 32 (RFC 4648). */
function fromBase32(key: string): Buffer {
  const bits = [...key].map((letter) => ALPHABET.indexOf(letter).toString(2).padStart(5, '0')).join('');
  return Buffer.from((bits.match(/.{8}/g) ?? []).map((byte) => Number.parseInt(byte, 2)));
}

/** What a phone with this key shows: RFC 4226, 5.3, over the 30-second steps of RFC 6238, written out apart from the product. */
export function phoneShows(key: string, now: Instant): string {
  const counter = Buffer.alloc(8);
  counter.writeBigUInt64BE(BigInt(Math.floor(now / 30_000)));
  const mac = createHmac('sha1', fromBase32(key)).update(counter).digest();
  const at = (mac.at(-1) as number) & 0xf;
  return String((mac.readUInt32BE(at) & 0x7fffffff) % 1_000_000).padStart(6, '0');
}

/** Somebody's phone, and what they wrote down. */
export interface Factor {
  key: string;
  recovery: string[];
  /** The code of now, or of some seconds from now. */
  shows(secondsOff?: number): string;
}

/** Gives somebody a second factor, as their own page does; they are signed in with a fresh session. */
export async function aFactor(s: Studio, person: Person): Promise<Factor> {
  const self = () => ({ actor: person.caller, address: '192.0.2.200', now: s.clock.now() });
  const key = await beginFactor(s.services, self(), PASSWORD);
  const shows = (secondsOff = 0) => phoneShows(key, s.clock.now() + 1000 * secondsOff);
  const recovery = await confirmFactor(s.services, self(), { key, code: shows() });
  person.cookie = (await s.services.sessions.start(person.id)).split(';')[0] as string;
  // The code that was just taken is not taken again.
  s.clock.forward(30_000);
  return { key, recovery, shows };
}
