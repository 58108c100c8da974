import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Cell, csvLine, csvLines, type Dialect } from '../../server/core/csv.ts';
import { parseCsv } from '../helpers/csv.ts';

const hostile = fc.oneof(
  fc.string({ unit: 'binary' }),
  fc.string({
    unit: fc.constantFrom('"', ',', ';', '\r', '\n', '\t', '=', '+', '-', '@', "'", 'a', 'é', '釉'),
  }),
);
const begins = /^[=+\-@\t\r\n]/;

describe('a line of CSV', () => {
  it('gives back any text, but for the apostrophe before what a spreadsheet would run', () => {
    fc.assert(
      fc.property(fc.array(fc.array(hostile, { minLength: 3, maxLength: 3 }), { maxLength: 5 }), (rows) => {
        const read = parseCsv(rows.map(csvLine).join(''));
        const expected = rows.map((row) =>
          row.map((text) => (/^[=+\-@\t\r\n＝＋－＠]/.test(text) ? `'${text}` : text)),
        );
        expect(read).toEqual(expected);
      }),
    );
  });

  it('leaves no cell that a spreadsheet takes for a formula', () => {
    fc.assert(
      fc.property(hostile, (text) => {
        const [[cell = ''] = []] = parseCsv(csvLine([text, 'end']));
        expect(cell).not.toMatch(begins);
      }),
    );
  });

  it.each([
    '=HYPERLINK("http://evil.example","x")',
    '+1+1',
    '-2+3',
    '@SUM(A1)',
    '\t=1',
    '\r=1',
    '\n=1',
    '＝1+1',
  ])('puts an apostrophe before %j', (text) => {
    expect(parseCsv(csvLine([text]))).toEqual([[`'${text}`]]);
  });

  it('does not touch what only looks near: inside, after a space, or an apostrophe of its own', () => {
    expect(csvLine(['a=1', ' =1', "'tis", ''])).toBe("a=1, =1,'tis,\r\n");
  });

  it('keeps numbers numbers, also those below zero, with a point', () => {
    fc.assert(
      fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), (n) => {
        const [[cell] = []] = parseCsv(csvLine([n]));
        expect(Number(cell)).toBe(n === 0 ? 0 : n);
      }),
    );
    expect(csvLine([-0.5, 1.46, 1000000, Number.NaN, Number.POSITIVE_INFINITY])).toBe(
      '-0.5,1.46,1000000,,\r\n',
    );
  });

  it('says yes and no, and leaves empty what is not known', () => {
    const cells: Cell[] = [true, false, null];
    expect(csvLine(cells)).toBe('yes,no,\r\n');
  });

  it('quotes what would part cells where a comma is the decimal sign', () => {
    expect(csvLine(['a;b', 'c\td'])).toBe('"a;b","c\td"\r\n');
  });
});

describe('a dialect', () => {
  const dialects = fc.record<Dialect>({
    delimiter: fc.constantFrom(',', ';', '\t'),
    decimalMark: fc.constantFrom('.', ','),
  });

  it('gives back text and exact numbers with any delimiter and mark', () => {
    const amount = fc.bigInt({ min: -(10n ** 15n), max: 10n ** 15n }).map((n) => `${n}.05`);
    fc.assert(
      fc.property(dialects, hostile, amount, (dialect, text, decimal) => {
        const [[first, second, end] = []] = parseCsv(
          csvLines(dialect)([text, { decimal }, 'end']),
          dialect.delimiter,
        );
        expect(first?.replace(/^'/, '')).toBe(text.replace(/^'/, ''));
        expect(first).not.toMatch(begins);
        expect(second?.replace(dialect.decimalMark, '.')).toBe(decimal);
        expect(end).toBe('end');
      }),
    );
  });

  it.each<[Dialect, string]>([
    [{ delimiter: ',', decimalMark: '.' }, '-4.80,0.5,Ida\r\n'],
    [{ delimiter: ';', decimalMark: ',' }, '-4,80;0,5;Ida\r\n'],
    [{ delimiter: ',', decimalMark: ',' }, '"-4,80","0,5",Ida\r\n'],
    [{ delimiter: '\t', decimalMark: ',' }, '-4,80\t0,5\tIda\r\n'],
  ])('%j writes an amount below zero as a number, every decimal of it', (dialect, line) => {
    expect(csvLines(dialect)([{ decimal: '-4.80' }, 0.5, 'Ida'])).toBe(line);
  });
});
