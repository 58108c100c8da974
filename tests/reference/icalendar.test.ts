import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type CalendarEvent, calendar, escapeText, fold, utcStamp } from '../../server/kilns/icalendar.ts';

/** RFC 5545 §3.1: unfolding removes each CRLF with the one space or tab behind it. */
const unfold = (text: string) => text.replace(/\r\n[ \t]/g, '');

const event: CalendarEvent = {
  uid: 'load-214@millrace.example',
  from: Date.UTC(2026, 2, 7, 18),
  to: Date.UTC(2026, 2, 9, 9, 30),
  summary: 'Load 214; glaze, cone 6 oxidation',
  description: 'Kiln "Anvil" \\ top\nby the pyrometer only',
  url: 'https://millrace.example/kilns/loads/214',
  sequence: 3,
};

describe('RFC 5545', () => {
  it('§3.1: no line is longer than 75 octets, no character is cut, and unfolding gives the line back', () => {
    fc.assert(
      fc.property(
        fc.string({ unit: fc.constantFrom('a', 'é', '釉', '🏺', ' ', ';'), maxLength: 300 }),
        (line) => {
          const folded = fold(line);
          for (const part of folded.split('\r\n')) {
            expect(Buffer.byteLength(part)).toBeLessThanOrEqual(75);
            expect(Buffer.from(part).toString('utf8')).toBe(part);
          }
          expect(unfold(folded)).toBe(line);
        },
      ),
    );
    expect(fold('a'.repeat(75))).toBe('a'.repeat(75));
    expect(fold('a'.repeat(76))).toBe(`${'a'.repeat(75)}\r\n a`);
  });

  it('§3.3.11: backslash, semicolon, comma and line breaks are escaped in TEXT', () => {
    expect(escapeText('a\\b;c,d\ne')).toBe('a\\\\b\\;c\\,d\\ne');
    expect(escapeText('a\r\nb\rc')).toBe('a\\nb\\nc');
    expect(escapeText('bell\x07')).toBe('bell');
  });

  it('§3.3.5: times are UTC, form 2', () => {
    // The standard's own example: January 19, 1998, at 0700 UTC (from memory).
    expect(utcStamp(Date.UTC(1998, 0, 19, 7, 0, 0))).toBe('19980119T070000Z');
  });

  it('§3.4, §3.6, §3.6.1: what a calendar and an event must have, each line ended by CRLF (from memory)', () => {
    const text = calendar(
      'Millrace kilns',
      [event, { ...event, uid: 'load-215', cancelled: true }],
      event.from,
    );
    expect(text.endsWith('END:VCALENDAR\r\n')).toBe(true);
    expect(text.replace(/\r\n/g, '')).not.toMatch(/[\r\n]/);
    const lines = unfold(text).split('\r\n');
    expect(lines[0]).toBe('BEGIN:VCALENDAR');
    expect(lines).toContain('VERSION:2.0');
    expect(lines.filter((l) => l.startsWith('PRODID:'))).toHaveLength(1);
    expect(lines.filter((l) => l.startsWith('UID:'))).toEqual([
      'UID:load-214@millrace.example',
      'UID:load-215',
    ]);
    expect(lines.filter((l) => l.startsWith('DTSTAMP:'))).toHaveLength(2);
    expect(lines).toContain('DTSTART:20260307T180000Z');
    expect(lines).toContain('DTEND:20260309T093000Z');
    expect(lines).toContain('SUMMARY:Load 214\\; glaze\\, cone 6 oxidation');
    expect(lines).toContain('DESCRIPTION:Kiln "Anvil" \\\\ top\\nby the pyrometer only');
    expect(lines).toContain('STATUS:CANCELLED');
    for (const line of lines.filter(Boolean)) expect(line).toMatch(/^[A-Z-]+[:;]/);
  });
});
