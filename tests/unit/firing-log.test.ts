import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import {
  type LogChoice,
  MOST_LOG_CHARS,
  MOST_SHOWN,
  type ParsedLog,
  parseLog,
  preview,
  thin,
} from '../../server/kilns/firing-log.ts';

const CHOICE: LogChoice = {
  delimiter: ',',
  decimal: '.',
  skip: 1,
  time: 0,
  timeForm: 'minutes',
  dateOrder: 'ymd',
  temperature: 1,
  unit: 'C',
};

/** Read as the preview proposes. */
function read(text: string): ParsedLog & { choice: LogChoice } {
  const { choice, problems } = preview(text);
  if (!choice) throw new Error(problems[0]?.why);
  return { ...parseLog(text, choice), choice };
}
const flat = (log: ParsedLog) => log.points.map(({ atS, c }) => [atS, c]);

describe('logs of many makes, each read as the preview proposes', () => {
  const WANTED = [
    [0, 20],
    [60, 21.5],
    [120, 23],
  ];

  it.each([
    ['minutes, comma', 'min,temp C\n0,20\n1,21.5\n2,23\n'],
    ['seconds, semicolon, decimal comma', 'Zeit s;Ist °C\r\n0;20,0\r\n60;21,5\r\n120;23,0\r\n'],
    ['hours, tab', 'hours\tkiln °C\n0\t20\n0.0166667\t21.5\n0.0333333\t23\n'],
    ['clock', 'Time,Temperature (°C)\n14:05,20\n14:06,21.5\n14:07,23\n'],
    ['clock with half days', 'Time,Temp C\n11:59:00 AM,20\n12:00:00 PM,21.5\n12:01:00 PM,23\n'],
    ['elapsed', 'Elapsed,Temp C\n0:00:00,20\n0:01:00,21.5\n0:02:00,23\n'],
    [
      'ISO 8601',
      '\uFEFFtimestamp,c\n2026-03-07T14:05:00Z,20\n2026-03-07T14:06:00Z,21.5\n2026-03-07T14:07:00Z,23\n',
    ],
    [
      'date, blank, time',
      'date,temp\n2026-03-07 14:05:00,20\n2026-03-07 14:06:00,21.5\n2026-03-07 14:07:00,23\n',
    ],
    ['day first', 'Datum;Temp\n28.02.2026 14:05;20,0\n28.02.2026 14:06;21,5\n28.02.2026 14:07;23,0\n'],
    ['month first', 'Date,Temp\n02/28/2026 2:05 PM,20\n02/28/2026 2:06 PM,21.5\n02/28/2026 2:07 PM,23\n'],
    [
      'a date in a column of its own',
      'Date,Time,Temp\n2026-03-07,14:05,20\n2026-03-07,14:06,21.5\n2026-03-07,14:07,23\n',
    ],
    ['quotes', '"Time, min","Temp, °C"\n"0","20"\n"1","21.5"\n"2","23"\n'],
    ['quoted decimal commas', 'min,temp\n0,"20,0"\n1,"21,5"\n2,"23,0"\n'],
    ['no heading', '14:05,20\n14:06,21.5\n14:07,23\n'],
    ['a preamble', 'Kiln 2\nSerial,0042\nFiring,bisque 06\n\nmin,temp\n0,20\n1,21.5\n2,23\n'],
    ['°F', 'min,°F\n0,68\n1,70.7\n2,73.4\n'],
    ['units in the cells', 'Elapsed,Temp\n0:00,20 °C\n0:01,21.5 °C\n0:02,23 °C\n'],
    ['milliseconds since 1970', 'time,temp\n1772892300000,20\n1772892360000,21.5\n1772892420000,23\n'],
    ['ends of line of an old machine', 'min,temp\r0,20\r1,21.5\r2,23\r'],
    ['no last end of line', 'min,temp\n0,20\n1,21.5\n2,23'],
    ['set point first', 'min,set,temp\n0,25,20\n1,26,21.5\n2,27,23\n'],
  ])('%s', (_, text) => {
    const log = read(text);
    expect(log.points.map(({ atS, c }) => [Math.round(atS), c])).toEqual(WANTED);
    expect(log.problemCount).toBe(0);
  });

  it('without a hint in the heading takes hot figures, or a cold start of 70, for °F', () => {
    expect(preview('min,temp\n0,70\n1,75\n').choice?.unit).toBe('F');
    expect(preview('min,temp\n0,20\n1,2100\n').choice?.unit).toBe('F');
    expect(preview('min,temp\n0,20\n1,1222\n').choice?.unit).toBe('C');
    const long = `min,temp\n${Array.from({ length: 3000 }, (_, i) => `${i},${20 + i * 0.7}`).join('\n')}`;
    expect(preview(long).choice?.unit).toBe('F');
  });

  it('without a hint takes the unit in which the log is as long as a firing', () => {
    const form = (last: number) => preview(`t,temp\n0,20\n${last / 2},600\n${last},1000\n`).choice?.timeForm;
    expect([form(14), form(840), form(50_400)]).toEqual(['hours', 'minutes', 'seconds']);
  });

  it('takes thousands apart from decimals', () => {
    expect(flat(read('min;temp\n0;998\n1;1,222\n'))).toEqual([
      [0, 998],
      [60, 1222],
    ]);
    expect(flat(read('min;temp °C\n0;1.222,5\n1;998,0\n'))).toEqual([
      [0, 1222.5],
      [60, 998],
    ]);
  });

  it('brings the set point along where it is one', () => {
    expect(read('min,temp,setpoint\n0,20,25\n1,21,\n2,22,off\n').points).toEqual([
      { atS: 0, c: 20, setC: 25 },
      { atS: 60, c: 21 },
      { atS: 120, c: 22 },
    ]);
  });

  it('knows when it began, on the wall or exactly', () => {
    expect(read('t,c\n2026-03-07 23:59,20\n2026-03-08 00:01,21\n').start).toEqual({
      wall: '2026-03-07T23:59:00',
    });
    expect(read('t,c\n2026-03-07T14:05:00+02:00,20\n2026-03-07T14:06:00+02:00,21\n').start).toEqual({
      at: Date.UTC(2026, 2, 7, 12, 5),
    });
    expect(read('min,c\n0,20\n1,21\n').start).toBeNull();
  });

  it('an ambiguous date is read the way that makes the log short', () => {
    const log = read('t,c\n03/07/2026 23:58,20\n03/08/2026 00:02,21\n');
    expect(log.choice.dateOrder).toBe('mdy');
    expect(flat(log)).toEqual([
      [0, 20],
      [240, 21],
    ]);
  });
});

describe('the preview', () => {
  it('names the columns and shows the first rows', () => {
    const { columns, rows } = preview('Zeit;Soll °C;Ist °C\n00:00;25;20\n00:01;26;21\n');
    expect(columns.map(({ name, guess }) => [name, guess])).toEqual([
      ['Zeit', 'time'],
      ['Soll °C', 'setpoint'],
      ['Ist °C', 'temperature'],
    ]);
    expect(rows).toEqual([
      ['00:00', '25', '20'],
      ['00:01', '26', '21'],
    ]);
  });

  it('of a file without readings proposes nothing and says so', () => {
    const { choice, problems } = preview('Dear all,\nthe kiln is on.\n');
    expect(choice).toBeNull();
    expect(problems[0]?.why).toContain('No line holds both');
  });

  it.each([
    ['', 'empty'],
    ['\uFEFF \r\n ', 'empty'],
    ['PK\0\u0003', 'no text'],
  ])('%j is refused', (text, why) => {
    expect(preview(text).problems[0]?.why).toContain(why);
    expect(parseLog(text, CHOICE).problems[0]?.why).toContain(why);
  });

  it('shows no cell at its full length when that is absurd', () => {
    const { columns, rows } = preview(`min,temp,note\n0,20,${'x'.repeat(9000)}\n1,21,y\n`);
    expect(rows[0]?.[2]?.length).toBeLessThan(100);
    expect(columns).toHaveLength(3);
  });
});

describe('lines that cannot be read', () => {
  it('cost only themselves, and are named by line, column and reason', () => {
    const text = 'min,temp\n0,20\n1,OPEN\nlunch,22\n3\n4,"24\n5,99999\n\n6,26\n5.5,25\n7,27\n8,\n';
    const log = parseLog(text, CHOICE);
    expect(flat(log)).toEqual([
      [0, 20],
      [360, 26],
      [420, 27],
    ]);
    expect(log.problems).toEqual([
      { line: 3, column: 2, why: 'Not a temperature: "OPEN".' },
      { line: 4, column: 1, why: 'Not a time: "lunch".' },
      { line: 5, column: 2, why: 'The line has only 1 cell.' },
      { line: 6, column: null, why: 'A quotation mark is not closed, or the line is far too long.' },
      { line: 7, column: 2, why: 'No kiln is at "99999".' },
      { line: 10, column: 1, why: 'Earlier than the line before: "5.5".' },
      { line: 12, column: 2, why: 'Not a temperature: nothing there.' },
    ]);
  });

  it('are counted when there are too many to show', () => {
    const log = parseLog(`min,temp\n${'1,ERR\n'.repeat(500)}`, CHOICE);
    expect(log.problems).toHaveLength(MOST_SHOWN);
    expect(log.problemCount).toBe(500);
    expect(log.points).toEqual([]);
  });

  it.each(['NaN', 'Infinity', '-', '1e999', '0x10', '12abc', '1,2,3', '--5', '١٢', '1'.repeat(400)])(
    'a temperature of %j is none',
    (cell) => {
      const log = parseLog(`min;temp\n0;20\n1;${cell}\n2;22\n`, { ...CHOICE, delimiter: ';' });
      expect(flat(log)).toEqual([
        [0, 20],
        [120, 22],
      ]);
    },
  );

  it.each(['24:00', '12:60', '13:00 PM', '0:30 AM', '1:2:3', '2026-02-30 10:00', '-5'])(
    '%j is no time',
    (cell) => {
      for (const timeForm of ['clock', 'date-time', 'minutes'] as const)
        expect(parseLog(`t,c\n${cell},20\n`, { ...CHOICE, timeForm }).points).toEqual([]);
    },
  );

  it('columns that are not there', () => {
    const log = parseLog('min,temp\n0,20\n', { ...CHOICE, temperature: 9, setpoint: 12 });
    expect(log.problems).toEqual([{ line: 2, column: 10, why: 'The line has only 2 cells.' }]);
  });

  it('a file that is too long is refused whole', () => {
    const text = 'x'.repeat(MOST_LOG_CHARS + 1);
    expect(parseLog(text, CHOICE).problems[0]?.why).toContain('million characters');
    expect(preview(text).choice).toBeNull();
  });
});

describe('time', () => {
  const clock: LogChoice = { ...CHOICE, timeForm: 'clock' };

  it('a clock goes on at midnight, every midnight', () => {
    const log = parseLog('t,c\n22:00,20\n08:00,21\n23:30,22\n00:30,23\n', clock);
    expect(log.points.map(({ atS }) => atS / 3600)).toEqual([0, 10, 25.5, 26.5]);
  });

  it('a clock put back a little is no midnight', () => {
    const log = parseLog('t,c\n14:00,20\n13:59,21\n14:01,22\n', clock);
    expect(log.points.map(({ atS }) => atS)).toEqual([0, 60]);
    expect(log.problemCount).toBe(1);
  });

  it('readings within the same minute stay, in their order', () => {
    const log = parseLog('t,c\n14:00,20\n14:00,21\n14:01,22\n', clock);
    expect(flat(log)).toEqual([
      [0, 20],
      [0, 21],
      [60, 22],
    ]);
  });

  it('readings from before the clock was set are left out, not all that follow', () => {
    const text = 't,c\n1970-01-01 00:00,20\n1970-01-01 00:01,20\n2026-03-07 14:00,21\n2026-03-07 14:01,22\n';
    const log = parseLog(text, { ...CHOICE, timeForm: 'date-time' });
    expect(flat(log)).toEqual([
      [0, 21],
      [60, 22],
    ]);
    expect(log.start).toEqual({ wall: '2026-03-07T14:00:00' });
    expect(log.problems[0]).toMatchObject({ line: 3, column: 1 });
  });

  it('one wild date later costs its line', () => {
    const lines = Array.from({ length: 10 }, (_, i) => `2026-03-07 14:0${i},${20 + i}`);
    lines[6] = '2206-03-07 14:06,26';
    const log = parseLog(`t,c\n${lines.join('\n')}`, { ...CHOICE, timeForm: 'date-time' });
    expect(log.points).toHaveLength(9);
    expect(log.problems[0]?.line).toBe(8);
  });

  it('names gaps: more than five times the usual step', () => {
    const minutes = [0, 1, 2, 3, 8, 9, 15.5, 16];
    const log = parseLog(`t,c\n${minutes.map((m) => `${m},20`).join('\n')}`, CHOICE);
    expect(log.gaps).toEqual([{ fromS: 540, toS: 930 }]);
    expect(log.gapCount).toBe(1);
  });
});

describe('whatever the file', () => {
  const choice: fc.Arbitrary<LogChoice> = fc.record({
    delimiter: fc.constantFrom(',', ';', '\t'),
    decimal: fc.constantFrom('.', ','),
    skip: fc.nat(3),
    time: fc.nat(3),
    timeForm: fc.constantFrom('date-time', 'clock', 'elapsed', 'seconds', 'minutes', 'hours', 'milliseconds'),
    dateOrder: fc.constantFrom('ymd', 'dmy', 'mdy'),
    temperature: fc.nat(3),
    setpoint: fc.nat(3),
    unit: fc.constantFrom('C', 'F'),
  });
  const cell = fc.oneof(
    fc.string({
      unit: fc.constantFrom('0', '1', '9', '.', ',', ':', '-', ' ', '"', '°', 'F', 'e', '\r', '\0'),
      maxLength: 8,
    }),
    fc.integer({ min: -100, max: 3000 }).map(String),
    fc.constantFrom('14:05', '2026-03-07 14:05', '12:00 AM', '23,5'),
  );
  const file = fc
    .array(fc.array(cell, { maxLength: 4 }), { maxLength: 30 })
    .chain((rows) =>
      fc.constantFrom(',', ';', '\t').map((d) => rows.map((cells) => cells.join(d)).join('\n')),
    );

  test('preview and reading never throw; times only rise from 0, temperatures are those of a kiln', () => {
    fc.assert(
      fc.property(fc.oneof(file, fc.string({ unit: 'binary', maxLength: 200 })), choice, (text, wild) => {
        const proposed = preview(text).choice;
        for (const chosen of proposed ? [wild, proposed] : [wild]) {
          const { points, problems, problemCount } = parseLog(text, chosen);
          expect(problems.length).toBe(Math.min(problemCount, MOST_SHOWN));
          if (points.length > 0) expect(points[0]?.atS).toBe(0);
          for (const [i, { atS, c, setC = 0 }] of points.entries()) {
            expect(Number.isFinite(atS)).toBe(true);
            expect(Math.max(Math.abs(c), Math.abs(setC))).toBeLessThanOrEqual(1600);
            if (i > 0) expect(atS).toBeGreaterThanOrEqual(points[i - 1]?.atS as number);
          }
        }
      }),
      { numRuns: 300 },
    );
  });

  test('what is written is read again, by any delimiter and decimal sign', () => {
    const temperatures = fc.array(fc.integer({ min: 0, max: 13_000 }), { minLength: 2, maxLength: 50 });
    fc.assert(
      fc.property(
        temperatures,
        fc.constantFrom(';', '\t'),
        fc.constantFrom('.', ','),
        (tenths, delimiter, decimal) => {
          const shown = tenths.map((t) => `${Math.floor(t / 10)}${decimal}${t % 10}`);
          const text = `min${delimiter}°C\n${shown.map((t, i) => `${i}${delimiter}${t}`).join('\n')}`;
          expect(flat(read(text))).toEqual(tenths.map((t, i) => [i * 60, t / 10]));
        },
      ),
    );
  });

  test('100,000 lines, one in ten broken, and a million characters on one line', () => {
    const lines = Array.from({ length: 100_000 }, (_, i) =>
      i % 10 === 9 ? `${i},ERROR` : `${i},${20 + i * 0.01}`,
    );
    const log = parseLog(`s,c\n${lines.join('\n')}`, { ...CHOICE, timeForm: 'seconds' });
    expect(log.points).toHaveLength(90_000);
    expect(log.problemCount).toBe(10_000);
    expect(preview(`${' '.repeat(1_000_000)}1,2`).problems).toHaveLength(1);
    expect(parseLog(`\n${'9'.repeat(1_000_000)},${' 1'.repeat(500_000)}F`, CHOICE).points).toEqual([]);
  });
});

describe('thinning', () => {
  const curve = fc
    .array(fc.tuple(fc.integer({ min: 0, max: 300 }), fc.integer({ min: -20, max: 1300 })), {
      minLength: 1,
      maxLength: 400,
    })
    .map((steps) => {
      let atS = 0;
      return steps.map(([step, c]) => {
        atS += step;
        return { atS, c };
      });
    });

  test('keeps first, last, peak and lowest, at most as many as asked, in order and unchanged', () => {
    fc.assert(
      fc.property(curve, fc.integer({ min: 4, max: 200 }), (points, most) => {
        const kept = thin(points, most);
        expect(kept.length).toBeLessThanOrEqual(most);
        expect(kept[0]).toBe(points[0]);
        expect(kept.at(-1)).toBe(points.at(-1));
        const values = (some: typeof points) => some.map(({ c }) => c);
        expect(Math.max(...values(kept))).toBe(Math.max(...values(points)));
        expect(Math.min(...values(kept))).toBe(Math.min(...values(points)));
        const places = kept.map((point) => points.indexOf(point));
        expect(places).toEqual([...new Set(places)].sort((a, b) => a - b));
      }),
    );
  });

  it('leaves a short curve as it is', () => {
    const points = [
      { atS: 0, c: 1 },
      { atS: 1, c: 2 },
    ];
    expect(thin(points, 4)).toEqual(points);
    expect(thin([], 4)).toEqual([]);
    expect(() => thin(points, 3)).toThrow(RangeError);
  });
});
