import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Column, layOut, readLine, type Values } from '../../server/cli/import/columns.ts';
import { chooseKind } from '../../server/cli/import/run.ts';
import { readTable } from '../../server/cli/import/table.ts';
import { Invalid } from '../../server/core/errors.ts';

const COLUMNS: Column[] = [
  { key: 'code', header: 'code', reads: 'text', isRequired: true },
  { key: 'capacityLitres', header: 'capacity litres', also: ['capacity'], reads: 'number' },
  { key: 'flowLow', header: 'flow low', reads: 'number' },
  { key: 'stirred', header: 'stirred', reads: 'yes-no' },
  { key: 'happenedAt', header: 'when', reads: 'time' },
];
const tableOf = (text: string) => readTable(Buffer.from(text));
const faultsOf = (header: string) => layOut(tableOf(`${header}\n`), COLUMNS).faults;

describe('the names of columns', () => {
  it('are told apart whatever their case, blanks and order', () => {
    const { faults, places } = layOut(tableOf('WHEN, Capacity_Litres ,"C O D E"\n'), COLUMNS);
    expect(faults).toEqual([]);
    expect(places.map(({ at, column }) => [at, column.key])).toEqual([
      [0, 'happenedAt'],
      [1, 'capacityLitres'],
      [2, 'code'],
    ]);
  });

  it.each([
    ['code,capcity', 'capcity', 'No column is called this here. Is it “capacity litres”?'],
    ['code,stired', 'stired', 'Is it “stirred”?'],
    ['code,zzzzzzzzzzzz', 'zzzzzzzzzzzz', 'Known are code, capacity litres,'],
    ['code,Code', 'Code', 'This column is there twice.'],
    ['code,capacity,capacity litres', 'capacity litres', 'This column is there twice.'],
    ['stirred', 'code', 'This column is missing.'],
  ])('%s', (header, column, words) => {
    const [fault, ...more] = faultsOf(header);
    expect(more).toEqual([]);
    expect(fault).toMatchObject({ line: 1, column });
    expect(fault?.message).toContain(words);
  });

  it('a column without a name may be empty, and nothing else', () => {
    expect(layOut(tableOf('code,,\na,,\n'), COLUMNS).faults).toEqual([]);
    expect(layOut(tableOf('code,,\na,,\nb,,7\n'), COLUMNS).faults).toEqual([
      { line: 1, column: null, message: 'Column 3 has no name, yet line 3 has something in it.' },
    ]);
  });

  it('moves no cursor with what it repeats', () => {
    const fault = faultsOf(`code,"x\x1b[2J\u202e${'y'.repeat(500)}"`)[0];
    expect(fault?.column).toMatch(/^x \[2J y+…$/);
    expect(fault?.column?.length).toBeLessThan(50);
  });
});

describe('the kind of a file', () => {
  it.each([
    ['email', 'members'],
    ['Name,E-Mail,Role', 'members'],
    ['name,density', 'materials'],
    ['Material,supplier', 'materials'],
    ['code,name,capacity,aim', 'buckets'],
    ['bucket,when,sg', 'readings'],
    ['code;when;grams;ml;by', 'readings'],
  ])('%s is of %s', (header, kind) => {
    expect(chooseKind(tableOf(`${header}\n`), null).name).toBe(kind);
  });

  it('is asked for where the names do not say it', () => {
    expect(() => chooseKind(tableOf('pots,glee\n'), null)).toThrow('Add --kind and one of members,');
    expect(chooseKind(tableOf('pots,glee\n'), 'members').name).toBe('members');
    expect(() => chooseKind(tableOf('a\n'), 'kilns')).toThrow('--kind is one of');
  });
});

/** The value of the one cell behind the code, or the words that refuse it. */
function cell(header: string, raw: string, delimiter: ',' | ';' = ','): unknown {
  const quoted = `"${raw.replaceAll('"', '""')}"`;
  const table = tableOf(`code${delimiter}${header}\nK${delimiter}${quoted}\n`);
  const layout = layOut(table, COLUMNS);
  const line = table.lines[0];
  if (!line) throw new Error('no line');
  const { value, faults } = readLine(line, layout, { timeZone: 'Europe/London', delimiter }, (v) => v);
  const { code: _, ...rest } = (value ?? {}) as Values;
  return faults[0]?.message ?? Object.values(rest)[0];
}

describe('a cell', () => {
  it.each([
    ['1.46', ',', 1.46],
    ['1,46', ';', 1.46],
    ['1,452', ';', 1.452],
    [' 20 ', ',', 20],
    ['1,46', ',', 1.46],
    ['1.4300000000000002', ',', 1.43],
    ['1,452', ',', 'Write 1234 or 1.234: a comma could mean either.'],
    ['1.234,5', ';', 'Not a number such as 1.46.'],
    ['1e308', ',', 'Not a number such as 1.46.'],
    ['0x10', ',', 'Not a number such as 1.46.'],
    ['Infinity', ',', 'Not a number such as 1.46.'],
    ['12 L', ',', 'Not a number such as 1.46.'],
    ['=A1*2', ',', 'A formula instead of what comes of it. Save the values.'],
    ['#DIV/0!', ',', 'The spreadsheet could not work this out.'],
  ] as const)('number %s between %s', (raw, delimiter, expected) => {
    const found = cell('capacity', raw, delimiter);
    if (typeof expected === 'number') expect(found).toBeCloseTo(expected, 12);
    else expect(found).toBe(expected);
  });

  it.each([
    ['Yes', true],
    ['TRUE', true],
    ['0', false],
    ['n', false],
    ['maybe', 'Yes or no.'],
  ])('yes or no: %s', (raw, expected) => {
    expect(cell('stirred', raw)).toBe(expected);
  });

  it.each([
    ['2026-01-15 14:30', '2026-01-15T14:30:00.000Z'],
    ['2026-07-15T9:05', '2026-07-15T08:05:00.000Z'],
    ['2026-07-15 09:05:30', '2026-07-15T08:05:30.000Z'],
    ['2026-07-15T09:05:00+05:30', '2026-07-15T09:05:00+05:30'],
    // The clocks in London go forward at 1:00 on 29 March 2026, and back at 2:00 on 25 October.
    ['2026-03-29 01:30', 'No such time: the clocks were put forward then, or it is no date.'],
    ['2026-10-25 01:30', '2026-10-25T00:30:00.000Z'],
    ['2026-02-30 12:00', 'No such time: the clocks were put forward then, or it is no date.'],
    ['2026-01-15 24:30', 'No such time: the clocks were put forward then, or it is no date.'],
    ['15.1.2026 14:30', 'A time by the studio’s clock, such as 2026-11-28 14:30.'],
    ['2026-01-15', 'A time by the studio’s clock, such as 2026-11-28 14:30.'],
    ['2026-01-15 14:30:75', 'A time by the studio’s clock, such as 2026-11-28 14:30.'],
  ])('time: %s', (raw, expected) => {
    expect(cell('when', raw)).toBe(expected);
  });

  it('whatever it holds, it is read or refused in words', () => {
    fc.assert(
      fc.property(
        fc.constantFrom('capacity', 'stirred', 'when'),
        fc.string({ unit: 'binary', maxLength: 30 }).map((s) => s.replaceAll('\0', '')),
        (header, raw) => {
          fc.pre(raw.isWellFormed());
          const found = cell(header, raw);
          if (typeof found === 'number') expect(Number.isFinite(found)).toBe(true);
          else expect(['undefined', 'string', 'boolean']).toContain(typeof found);
        },
      ),
    );
  });
});

describe('a line', () => {
  const table = tableOf('code,capacity,flow low\nA,3\nB,4,5,6\nC,4,5,\n,x,y\n');
  const layout = layOut(table, COLUMNS);
  const read = (at: number, make: (values: Values) => unknown = (values) => values) => {
    const line = table.lines[at];
    if (!line) throw new Error('no line');
    return readLine(line, layout, { timeZone: 'UTC', delimiter: ',' }, make);
  };

  it('has as many cells as the first, or empty ones behind', () => {
    expect(read(0).faults[0]?.message).toContain('The first line has 3 cells, this one 2.');
    expect(read(1).faults[0]?.message).toContain('this one 4.');
    expect(read(2)).toEqual({ value: { code: 'C', capacityLitres: 4, flowLow: 5 }, faults: [] });
  });

  it('says all that is wrong with it, and each cell once', () => {
    const refuse = () => {
      throw new Invalid([
        { path: 'capacityLitres', message: 'Type a number.' },
        { path: 'flow.low', message: 'Type a number.' },
        { path: '', message: 'Nothing fits.' },
      ]);
    };
    expect(read(3, refuse).faults).toEqual([
      { line: 5, column: 'code', message: 'Is empty.' },
      { line: 5, column: 'capacity', message: 'Not a number such as 1.46.' },
      { line: 5, column: 'flow low', message: 'Not a number such as 1.46.' },
      { line: 5, column: null, message: 'Nothing fits.' },
    ]);
  });
});
