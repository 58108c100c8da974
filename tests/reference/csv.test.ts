import { describe, expect, it } from 'vitest';
import { csvLine } from '../../server/core/csv.ts';

// RFC 4180, Common Format and MIME Type for Comma-Separated Values (CSV) Files, section 2.
describe('RFC 4180 section 2', () => {
  it('1: a record ends with CRLF', () => {
    expect(csvLine(['aaa', 'bbb', 'ccc'])).toBe('aaa,bbb,ccc\r\n');
  });

  it('4: spaces are part of a field, and a line does not end with a comma of its own', () => {
    expect(csvLine([' aaa', 'bbb '])).toBe(' aaa,bbb \r\n');
  });

  it('6: fields with line breaks, double quotes and commas are enclosed in double quotes', () => {
    expect(csvLine(['aaa', 'b\r\nbb', 'ccc'])).toBe('aaa,"b\r\nbb",ccc\r\n');
    expect(csvLine(['a,b', 'c'])).toBe('"a,b",c\r\n');
  });

  it('7: a double quote inside a field is preceded by another', () => {
    expect(csvLine(['aaa', 'b"bb', 'ccc'])).toBe('aaa,"b""bb",ccc\r\n');
  });
});
