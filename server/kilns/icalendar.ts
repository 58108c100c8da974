import type { Instant } from '../core/clock.ts';

/** Something on the calendar, as RFC 5545 §3.6.1 has it. */
export interface CalendarEvent {
  /** The same for the same thing for ever. */
  uid: string;
  from: Instant;
  to: Instant;
  summary: string;
  description: string;
  url?: string;
  /** Grows with every change. */
  sequence: number;
  cancelled?: boolean;
}

const MOST_OCTETS = 75;

/** Instants in UTC, RFC 5545 §3.3.5 form 2: 20260307T140500Z. */
export const utcStamp = (at: Instant): string =>
  new Date(at).toISOString().replace(/[-:]/g, '').replace(/\.\d+/, '');

/** TEXT with backslash, semicolon, comma and line breaks escaped, RFC 5545 §3.3.11; other controls are left out. */
export const escapeText = (text: string): string =>
  text
    .replace(/\r\n?/g, '\n')
    .replace(/[\\;,]/g, (mark) => `\\${mark}`)
    .replace(/\n/g, '\\n')
    // biome-ignore lint/suspicious/noControlCharactersInRegex: the standard forbids them in TEXT
    .replace(/[\x00-\x08\x0b-\x1f\x7f]/g, '');

/**
 * A content line in pieces of at most 75 octets, each further one behind CRLF and a space, RFC 5545 §3.1. No
 * character is cut in two, whatever its length in UTF-8.
 */
export function fold(line: string): string {
  const pieces: string[] = [];
  let piece = '';
  let octets = 0;
  for (const character of line) {
    const size = Buffer.byteLength(character);
    if (octets + size > MOST_OCTETS) {
      pieces.push(piece);
      piece = '';
      octets = 1; // the space that begins the next
    }
    piece += character;
    octets += size;
  }
  return [...pieces, piece].join('\r\n ');
}

/** A whole calendar object, RFC 5545 §3.4 and §3.6: CRLF line ends, folded, events in the order given. */
export function calendar(name: string, events: CalendarEvent[], now: Instant): string {
  const lines = [
    'BEGIN:VCALENDAR',
    'VERSION:2.0',
    'PRODID:-//Wareboard//Kiln calendar//EN',
    'CALSCALE:GREGORIAN',
    'METHOD:PUBLISH',
    `NAME:${escapeText(name)}`,
    `X-WR-CALNAME:${escapeText(name)}`,
    ...events.flatMap((event) => [
      'BEGIN:VEVENT',
      `UID:${escapeText(event.uid)}`,
      `DTSTAMP:${utcStamp(now)}`,
      `DTSTART:${utcStamp(event.from)}`,
      `DTEND:${utcStamp(event.to)}`,
      `SEQUENCE:${event.sequence}`,
      `STATUS:${event.cancelled ? 'CANCELLED' : 'CONFIRMED'}`,
      `SUMMARY:${escapeText(event.summary)}`,
      `DESCRIPTION:${escapeText(event.description)}`,
      ...(event.url ? [`URL:${event.url}`] : []),
      'END:VEVENT',
    ]),
    'END:VCALENDAR',
  ];
  return lines.map((line) => `${fold(line)}\r\n`).join('');
}
