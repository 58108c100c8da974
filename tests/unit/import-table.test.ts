import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { readTable } from '../../server/cli/import/table.ts';

const table = (text: string | Buffer) => readTable(Buffer.from(text as string));
const refusal = (text: string | Buffer): string => {
  try {
    readTable(Buffer.isBuffer(text) ? text : Buffer.from(text));
  } catch (error) {
    return (error as Error).message;
  }
  return '';
};

describe('the cells of a file', () => {
  it.each([
    ['commas', 'a,b\n1,2\n', ','],
    ['semicolons and CRLF', 'a;b\r\n1;2\r\n', ';'],
    ['tabs, no line break at the end', 'a\tb\n1\t2', '\t'],
    ['a byte order mark', '\uFEFFa,b\n1,2\n', ','],
    ['old line breaks', 'a,b\r1,2\r', ','],
    ['a delimiter in a quoted name does not count', '"a;x;y",b\n1,2\n', ','],
  ])('are parted: %s', (_, text, delimiter) => {
    const found = table(text);
    expect(found.delimiter).toBe(delimiter);
    expect(found.header.cells).toHaveLength(2);
    expect(found.lines).toEqual([{ line: 2, cells: ['1', '2'] }]);
  });

  it('a first line that only says what parts them still counts', () => {
    const found = table('sep=;\r\na;"b,c,d"\r\n1;2\r\n');
    expect(found).toMatchObject({
      delimiter: ';',
      header: { line: 2 },
      lines: [{ line: 3, cells: ['1', '2'] }],
    });
    expect(refusal('sep=|\na|b\n')).toContain('line 1: cells are parted by');
  });

  it('one column needs no delimiter', () => {
    expect(table('email\na@b\n').lines).toEqual([{ line: 2, cells: ['a@b'] }]);
  });

  it('a record is numbered by the line it begins on, whatever it spans', () => {
    const found = table('a,b\r\n1,"x\r\ny\r\nz"\r\n\r\n,\r\n2,3\r\n"q ""z""",4');
    expect(found.lines).toEqual([
      { line: 2, cells: ['1', 'x\ny\nz'] },
      { line: 7, cells: ['2', '3'] },
      { line: 8, cells: ['q "z"', '4'] },
    ]);
  });

  it('any cells come back as they were written, with their lines', () => {
    const cell = fc.string({ unit: 'grapheme', maxLength: 12 }).map((s) => s.replace(/[\0\r]/g, ''));
    const rows = fc.array(fc.tuple(cell, cell, cell), { maxLength: 12 });
    fc.assert(
      fc.property(
        rows,
        fc.constantFrom(',', ';', '\t'),
        fc.constantFrom('\n', '\r\n'),
        (cells, mark, end) => {
          const quote = (text: string) => `"${text.replaceAll('"', '""')}"`;
          const written = [['a', 'b', 'c'], ...cells].map((row) => row.map(quote).join(mark));
          const text = `sep=${mark}\n${written.join(end)}`;
          let line = 3;
          const expected = cells.flatMap((row) => {
            const at = line;
            line += 1 + row.join('').split('\n').length - 1;
            return row.some((one) => one.trim() !== '') ? [{ line: at, cells: [...row] }] : [];
          });
          expect(table(text).lines).toEqual(expected);
        },
      ),
    );
  });
});

describe('what is no such file is refused in words', () => {
  it.each([
    ['', 'The file is empty'],
    ['\n , \n', 'The file is empty'],
    ['a,b\n1,2\n\n3,"open\nmore\n5,6\n', 'line 4: a quote is opened here and never closed'],
    ['a,b\n1,2\n"x"y,3\n', 'line 3: a quote ends in the middle of a cell'],
    ['a,b\n5" pot,3\n', 'line 2: a quote stands in a cell'],
    [`a,b\n1,2\n${'z'.repeat(200_000)},3\n`, 'line 3: longer than 100,000 characters'],
    [`a,b\n"${'z\n'.repeat(80_000)}`, 'line 2: longer than'],
    ['a,b\n1,2\nx\0y,3\n', 'line 3: holds a zero byte'],
    ['PK\x03\x04 and so on', 'a workbook'],
  ])('%#', (text, words) => {
    expect(refusal(text)).toContain(words);
  });

  it('another encoding, with the line', () => {
    expect(refusal(Buffer.from('name\nWren\nZoë\n', 'latin1'))).toBe(
      'line 3: not UTF-8. Save the file as CSV (UTF-8).',
    );
    expect(refusal(Buffer.from('\uFEFFname,b\n', 'utf16le'))).toContain('not UTF-8');
  });

  it('a single line of 50 MB', () => {
    expect(refusal(Buffer.alloc(50 * 1024 * 1024, 'a'))).toContain('larger than 20 MB');
  });

  it('no bytes at all make it fail otherwise', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 200 }), (bytes) => {
        const words = refusal(Buffer.from(bytes));
        expect(words).not.toMatch(/undefined|CSV_/);
      }),
    );
  });
});
