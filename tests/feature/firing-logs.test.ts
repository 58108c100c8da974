import { beforeAll, describe, expect, it } from 'vitest';
import { HOUR, MINUTE } from '../../server/core/clock.ts';
import { toWallTime } from '../../server/core/wall-time.ts';
import {
  correctOutcome,
  findLog,
  judgeFiring,
  kilnCooling,
  kilnTrend,
  noteReading,
  openKiln,
  outcomesOf,
  readCones,
  showFiring,
  shutOff,
  writeSchedule,
} from '../../server/kilns/service/index.ts';
import { findPieces } from '../../server/ware/service/index.ts';
import { aLoadedKiln, emptied, started } from '../helpers/firing.ts';
import { aKiln } from '../helpers/kilns.ts';
import { nothingIsWrong, readAs } from '../helpers/loads.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';
import { aPhoto, upload } from '../helpers/upload.ts';

let s: Studio;
let wren: Person;
let ida: Person;
beforeAll(async () => {
  s = await aStudio();
  ({ technician: wren, member: ida } = s.people);
  await s.as(wren, (act) =>
    writeSchedule(act, {
      name: 'Glaze six',
      kind: 'glaze',
      cone: '6',
      forThick: false,
      segments: [
        { rateCPerH: 150, toC: 1122, holdMin: 0 },
        { rateCPerH: 60, toC: 1222, holdMin: 10 },
      ],
    }),
  );
});

const TOP_S = ((1122 - 20) / 150 + 100 / 60) * 3600;
/** °C of a firing to 1222 °C, held ten minutes, that then cools with 0.2 an hour. */
function celsius(atS: number): number {
  if (atS < TOP_S - 6000) return 20 + (atS / 3600) * 150;
  if (atS < TOP_S) return 1222 - ((TOP_S - atS) / 3600) * 60;
  if (atS < TOP_S + 600) return 1222;
  return 20 + 1202 * Math.exp((-0.2 * (atS - TOP_S - 600)) / 3600);
}
const HOURS = 26;
/** A log with a reading every so often, counted in seconds. */
function aLog({
  everyS = 60,
  line = (t: number, c: number) => `${t},${c.toFixed(1)}`,
  heading = 'Seconds,Temp C',
} = {}) {
  const rows = Array.from({ length: Math.floor((HOURS * 3600) / everyS) }, (_, i) =>
    line(i * everyS, celsius(i * everyS)),
  );
  return `${heading}\n${rows.join('\n')}\n`;
}

async function fired(howMany = 2) {
  const load = await aLoadedKiln(s, { howMany });
  await started(s, load.number);
  s.clock.forward(HOURS * HOUR);
  return load;
}

/** The log as a browser sends a file, in the field of that name. */
async function sendFile(number: number, bytes: Buffer, who = wren) {
  const form = new FormData();
  form.append('key', `k-${Math.random().toString(36).slice(2)}-long`);
  form.append('log', new Blob([new Uint8Array(bytes)]), 'log.csv');
  const packed = new Response(form);
  return s.app.inject({
    method: 'POST',
    url: `/kilns/loads/${number}/log`,
    payload: Buffer.from(await packed.arrayBuffer()),
    headers: {
      cookie: who.cookie,
      origin: 'http://localhost',
      host: 'localhost',
      'content-type': packed.headers.get('content-type') ?? '',
    },
  });
}

/** The fields of the columns page as a browser would send them back. */
function fieldsOf(body: string): Record<string, string> {
  const fields: Record<string, string> = {};
  for (const [, name, inner] of body.matchAll(/<select[^>]* name="([^"]+)"[^>]*>(.*?)<\/select>/gs))
    fields[name ?? ''] =
      /<option(?=[^>]* selected)[^>]* value="([^"]*)"|<option value="([^"]*)" selected/
        .exec(inner ?? '')
        ?.slice(1)
        .find(Boolean) ??
      /value="([^"]*)"/.exec(inner ?? '')?.[1] ??
      '';
  for (const [tag] of body.matchAll(/<input[^>]*>/g)) {
    const name = / name="([^"]+)"/.exec(tag)?.[1];
    if (name && !['key'].includes(name)) fields[name] = / value="([^"]*)"/.exec(tag)?.[1] ?? '';
  }
  return fields;
}

async function imported(number: number, text: string | Buffer, change: Record<string, string> = {}) {
  const sent = await sendFile(number, Buffer.from(text));
  const columns = await s.visit(wren, String(sent.headers.location));
  return s.submit(wren, `/kilns/loads/${number}/log/import`, { ...fieldsOf(columns.body), ...change });
}

const judged = (number: number) => judgeFiring(readAs(s, wren), number);

describe('a log as a file', () => {
  it('is looked at, its columns tried, then brought in; the curve says how hot it was', async () => {
    const { number } = await fired();
    const sent = await sendFile(number, Buffer.from(aLog()));
    expect(sent.statusCode).toBe(303);
    const columns = await s.visit(wren, String(sent.headers.location));
    expect(columns.body).toContain('1: Seconds');
    expect(columns.body).toContain('2: Temp C');
    const fields = fieldsOf(columns.body);
    expect(fields).toMatchObject({ time: '1', temperature: '2', timeForm: 'seconds', unit: 'C' });
    const at = `/kilns/loads/${number}/log/import`;
    const tried = await s.submit(wren, at, { ...fields, do: 'try' });
    expect(tried.statusCode).toBe(200);
    expect(tried.body).toContain('1,560 readings over 26.0 h');
    expect(await findLog(readAs(s, wren), number)).toBeNull();
    const done = await s.submit(wren, at, fields);
    expect(done.headers.location).toBe(`/kilns/loads/${number}/curve?did=log`);
    // Nobody knows yet how hot it gets.
    expect((await judged(number)).judgement.by).toBe('nothing');
    await s.as(wren, (act) => shutOff(act, number, {}));
    const { findings, judgement, cooling } = await judged(number);
    expect(findings?.facts.peakC).toBeCloseTo(1222, 0);
    expect(findings?.facts.lastRateCPerH).toBeCloseTo(60, 0);
    expect(findings?.facts.equivalent?.words).toBe('cone 6');
    expect(findings?.cooling?.kPerH).toBeCloseTo(0.2, 2);
    expect(Math.abs(findings?.comparison?.topLateS ?? 9999)).toBeLessThan(120);
    expect(judgement).toMatchObject({ by: 'log', flagged: false });
    expect(cooling.logs).toBe(0);
    const page = await s.visit(ida, `/kilns/loads/${number}/curve`);
    expect(page.statusCode).toBe(200);
    expect(page.body).toContain('quartz 573 °C');
    expect(page.body).toContain('cone 6');
    expect(page.body).toContain('2016 chart, self-supporting large cones');
    expect(page.body).toContain('Witness cones would tell for certain.');
    expect(page.body).not.toContain('style=');
    await nothingIsWrong(s);
  });

  it('of a hundred thousand lines is thinned, with figures from all of them', async () => {
    const { number } = await fired();
    const text = aLog({ everyS: 0.9 });
    expect(text.split('\n').length).toBeGreaterThan(100_000);
    expect((await imported(number, text)).statusCode).toBe(303);
    const log = await findLog(readAs(s, wren), number);
    expect(log?.pointCount).toBeGreaterThan(100_000);
    expect(log?.points.length).toBeLessThanOrEqual(8000);
    expect(log?.findings.facts.peakC).toBeCloseTo(1222, 0);
    expect(log?.findings.facts.lastRateCPerH).toBeCloseTo(60, 0);
    const page = await s.visit(wren, `/kilns/loads/${number}/curve`);
    expect(page.body.length).toBeLessThan(120_000);
  });

  it('with text in it brings in what can be read and names the lines that cannot', async () => {
    const { number } = await fired();
    const lines = aLog().split('\n');
    lines[10] = 'door opened by mistake';
    lines[20] = '1140,hot';
    lines[30] = '<script>alert(1)</script>,5';
    const sent = await sendFile(number, Buffer.from(lines.join('\n')));
    const columns = await s.visit(wren, String(sent.headers.location));
    const tried = await s.submit(wren, `/kilns/loads/${number}/log/import`, {
      ...fieldsOf(columns.body),
      do: 'try',
    });
    expect(tried.body).toContain('3 lines left out');
    expect(tried.body).toContain('Line 11:');
    expect(tried.body).toContain('Line 21: Not a temperature: &quot;hot&quot;.');
    expect(tried.body).not.toContain('<script>alert');
    expect((await imported(number, lines.join('\n'))).statusCode).toBe(303);
    expect((await judged(number)).findings?.problemCount).toBe(3);
  });

  it('in °F, with semicolons, decimal commas and dates of the studio’s clock', async () => {
    const { number } = await fired();
    const startedAt = (await showFiring(readAs(s, wren), number)).load.startedAt as number;
    const pad = (n: number) => String(n).padStart(2, '0');
    // The studio of the tests stands in London, in summer an hour ahead of UTC.
    const minute = startedAt - (startedAt % MINUTE);
    const ahead = Date.parse(`${toWallTime(minute, 'Europe/London')}Z`) - minute;
    const text = aLog({
      heading: 'Datum;Temperatur °F',
      line: (t, c) => {
        const d = new Date(startedAt + ahead + t * 1000);
        const wall = `${pad(d.getUTCDate())}.${pad(d.getUTCMonth() + 1)}.${d.getUTCFullYear()} ${pad(d.getUTCHours())}:${pad(d.getUTCMinutes())}:${pad(d.getUTCSeconds())}`;
        return `${wall};${((c * 9) / 5 + 32).toFixed(1).replace('.', ',')}`;
      },
    });
    expect((await imported(number, text)).statusCode).toBe(303);
    const log = await findLog(readAs(s, wren), number);
    expect(log?.findings.facts.peakC).toBeCloseTo(1222, 0);
    expect(Math.abs((log?.startsAt ?? 0) - startedAt)).toBeLessThan(1000);
  });

  it('in the encodings of spreadsheets', async () => {
    const { number } = await fired();
    const wide = Buffer.from(`\ufeff${aLog({ everyS: 600 }).replaceAll(',', '\t')}`, 'utf16le');
    expect((await imported(number, wide)).statusCode).toBe(303);
    const latin = Buffer.from(aLog({ everyS: 600, heading: 'Zeit,Temp \u00b0C' }), 'latin1');
    expect((await imported(number, latin, { timeForm: 'seconds' })).statusCode).toBe(303);
    expect((await judged(number)).findings?.facts.peakC).toBeGreaterThan(1200);
  });

  it('that is none is refused in words beside the file', async () => {
    const { number } = await fired();
    const wrong: [Buffer, string][] = [
      [Buffer.alloc(0), 'The file is empty.'],
      [Buffer.from('  \n \n'), 'The file is empty.'],
      [await aPhoto(), 'This is no text file.'],
      [Buffer.from('%PDF-1.7\n\0\0\0'), 'This is no text file.'],
      [Buffer.alloc(15 * 1024 * 1024 + 1, '1'), 'larger than 15 MB'],
      [Buffer.from('Dear diary\nit was hot\n'), 'It has one column only'],
    ];
    for (const [bytes, words] of wrong) {
      const answer = await sendFile(number, bytes);
      expect(answer.statusCode, words).toBe(422);
      expect(answer.body).toContain(words);
    }
    const none = await s.submit(wren, `/kilns/loads/${number}/log`, {});
    expect(none.statusCode).toBe(422);
    expect(none.body).toContain('Choose the file.');
    expect(await findLog(readAs(s, wren), number)).toBeNull();
  });

  it('may be pasted, and comes back as it was typed where it is none', async () => {
    const { number } = await fired();
    const at = `/kilns/loads/${number}/log`;
    const sent = await s.submit(wren, at, { text: aLog({ everyS: 600 }) });
    expect(sent.headers.location).toMatch(/\/log\?file=[0-9a-f]{64}$/);
    const wrong = await s.submit(wren, at, { text: 'hot & hotter' });
    expect(wrong.statusCode).toBe(422);
    expect(wrong.body).toContain('hot &amp; hotter');
    expect((await s.submit(wren, at, { text: 'x'.repeat(300_000) })).statusCode).toBe(413);
  });

  it('whose lines say nothing by themselves comes with its columns to choose', async () => {
    const { number } = await fired();
    const rows = Array.from({ length: 30 }, (_, i) => `step ${i},${i * 600},${(20 + 40 * i).toFixed(1)} deg`);
    const sent = await sendFile(number, Buffer.from(['lost', ...rows].join('\n').replaceAll('deg', 'x')));
    expect(sent.statusCode).toBe(303);
    const { body } = await s.visit(wren, String(sent.headers.location));
    expect(body).toContain('Choose the columns by hand.');
    expect(body).toContain('Columns of the log');
    for (const column of ['1', '2', '3']) expect(body).toContain(`<option value="${column}"`);
  });

  it('that reaches into the future is refused beside its beginning; over the API beside its points', async () => {
    const { number } = await fired();
    const now = s.clock.now();
    const ahead = new Date(now - 20 * HOUR).toISOString().slice(0, 16);
    const late = await imported(number, aLog({ everyS: 600 }), { startsAt: ahead });
    expect(late.statusCode).toBe(422);
    expect(late.body).toContain('f-startsAt-error');
    expect(late.body).toContain('The log reaches into the future');
    const send = (lastMs: number) =>
      s.api(wren, 'POST', `/firings/${number}/log`, {
        points: [
          { at: new Date(now - 3 * HOUR).toISOString(), celsius: 100 },
          { at: new Date(lastMs).toISOString(), celsius: 90 },
        ],
      });
    const refused = await send(now + HOUR);
    expect(refused.statusCode).toBe(422);
    expect(refused.json().errors[0].path).toBe('points');
    expect(await findLog(readAs(s, wren), number)).toBeNull();
    expect((await send(now + 4 * 60_000)).statusCode).toBeLessThan(300);
  });

  it('with its top after the shut-off is kept, and said to be odd', async () => {
    const { number } = await fired();
    const startedAt = s.clock.now() - HOURS * HOUR;
    await s.as(wren, (act) => shutOff(act, number, { happenedAt: startedAt + 4 * HOUR }));
    expect((await imported(number, aLog({ everyS: 600 }))).statusCode).toBe(303);
    const { body } = await s.visit(wren, `/kilns/loads/${number}/curve`);
    expect(body).toContain('Log and shut-off do not agree');
    const over = (await s.api(wren, 'GET', `/firings/${number}`)).json();
    expect(over.doubt).toContain('By this log it was hottest after it was shut off');
  });

  it('by wrong columns is refused, not a fault of ours', async () => {
    const { number } = await fired();
    const text = aLog({ everyS: 600 });
    for (const change of [
      { time: '40' },
      { temperature: '9' },
      { timeForm: 'date-time' },
      { skip: '99999' },
      { delimiter: 'tab' },
      { startsAt: '2099-01-01T00:00' },
      { startsAt: 'soon' },
      { chart: 'mine' },
      { time: '-1' },
      { file: 'x' },
    ] as Record<string, string>[]) {
      const answer = await imported(number, text, change);
      expect(answer.statusCode, JSON.stringify(change)).toBe(422);
    }
    const unknown = await imported(number, text, { file: 'f'.repeat(64) });
    expect(unknown.statusCode).toBe(404);
    expect((await s.visit(wren, `/kilns/loads/${number}/log?file=${'0'.repeat(64)}`)).statusCode).toBe(404);
    expect((await s.visit(wren, `/kilns/loads/${number}/log?file=%00'`)).statusCode).toBe(404);
    expect(await findLog(readAs(s, wren), number)).toBeNull();
  });

  it('belongs to a firing that was started, and the newest counts', async () => {
    const { number } = await aLoadedKiln(s, { howMany: 1 });
    expect((await sendFile(number, Buffer.from(aLog()))).statusCode).toBe(409);
    await started(s, number);
    s.clock.forward(HOURS * HOUR);
    await imported(number, aLog({ everyS: 600 }));
    await imported(number, aLog({ everyS: 300 }));
    expect((await findLog(readAs(s, wren), number))?.pointCount).toBe(312);
  });
});

describe('a log over the API', () => {
  let refusing: number;
  beforeAll(async () => {
    refusing = (await fired()).number;
  });
  const points = (startedAt: number, everyS: number, from = 0, to = HOURS * 3600) =>
    Array.from({ length: Math.floor((to - from) / everyS) }, (_, i) => ({
      at: new Date(startedAt + (from + i * everyS) * 1000).toISOString(),
      celsius: Math.round(celsius(from + i * everyS)),
    }));
  const send = (number: number, body: object, who = wren) =>
    s.api(who, 'POST', `/firings/${number}/log`, body);

  it('as points, and in parts that go on from one another', async () => {
    const { number } = await fired();
    const startedAt = (await showFiring(readAs(s, wren), number)).load.startedAt as number;
    expect((await send(number, { points: points(startedAt, 60, 0, 36_000), more: true })).statusCode).toBe(
      409,
    );
    const first = await send(number, { points: points(startedAt, 60, 0, 30_000) });
    expect(first.statusCode).toBe(201);
    expect(first.json().peakC).toBeLessThan(1222);
    await send(number, { points: points(startedAt, 60, 30_000, 60_000), more: true });
    const again = await send(number, { points: points(startedAt, 60, 30_000, 60_000), more: true });
    expect(again.json()).toMatchObject({ from: 'log', peakC: 1222 });
    expect(again.json().equivalentCone.words).toBe('cone 6');
    const { log } = (await s.api(ida, 'GET', `/firings/${number}/log`)).json();
    expect(log).toMatchObject({
      source: 'api',
      pointCount: 1000,
      startsAt: new Date(startedAt).toISOString(),
    });
    expect(log.points).toHaveLength(1000);
    await send(number, { points: points(startedAt, 600).reverse() });
    expect((await findLog(readAs(s, wren), number))?.pointCount).toBe(156);
  });

  it('as a controller’s text, columns guessed or named', async () => {
    const { number } = await fired();
    const csv = aLog({ everyS: 600 });
    expect((await send(number, { csv })).json().peakC).toBe(1222);
    const columns = {
      delimiter: 'comma',
      decimal: 'point',
      skip: 1,
      time: 1,
      timeForm: 'minutes',
      temperature: 2,
      unit: 'C',
    };
    const slow = await send(number, {
      csv: aLog({ everyS: 600, line: (t, c) => `${t / 60},${c}` }),
      columns,
    });
    expect(slow.json().lastRateCPerH).toBeCloseTo(60, 0);
  });

  it.each([
    ['neither points nor text', {}],
    ['both', { points: [{ at: '2026-01-01T00:00:00Z', celsius: 20 }], csv: 'a' }],
    ['no points', { points: [] }],
    ['one point', { points: [{ at: '2026-01-01T00:00:00Z', celsius: 20 }] }],
    ['points at one time', { points: [20, 30].map((celsius) => ({ at: '2026-01-01T00:00:00Z', celsius })) }],
    ['words for a temperature', { points: [{ at: '2026-01-01T00:00:00Z', celsius: 'hot' }] }],
    ['a time that is none', { points: [{ at: 'noon', celsius: 20 }] }],
    ['text that is no log', { csv: 'it was hot' }],
    ['an empty text', { csv: ' ' }],
    ['a chart of somebody else', { csv: 'a', chart: 'mine' }],
    ['fields nobody asked for', { csv: 'a', kiln: 'K1' }],
  ])('refuses %s', async (_, body) => {
    expect((await send(refusing, body)).statusCode).toBe(422);
  });

  it('takes twenty thousand in one list, no more, and no more than its bytes', async () => {
    const { sendLogForm } = await import('../../server/kilns/service/index.ts');
    const many = (n: number) => ({
      points: Array.from({ length: n }, (_, i) => ({
        at: new Date(1.7e12 + i * 1000).toISOString(),
        celsius: 20,
      })),
    });
    expect(sendLogForm.safeParse(many(20_000)).success).toBe(true);
    expect(sendLogForm.safeParse(many(20_001)).success).toBe(false);
    const { number } = await fired();
    expect((await send(number, many(20_000))).statusCode).toBe(413);
  });

  it('is a technician’s to send and everybody’s to see', async () => {
    const { number } = await fired();
    expect((await send(number, { csv: aLog() }, ida)).statusCode).toBe(403);
    expect((await s.api(ida, 'GET', `/firings/${number}`)).json()).toMatchObject({
      from: 'nothing',
      peakC: null,
    });
    expect((await s.api(ida, 'GET', '/firings/999999')).statusCode).toBe(404);
  });
});

describe('cones', () => {
  const cones = (level: number, reading: string) => ({
    part: 'full' as const,
    level,
    cones: [
      { cone: '5', reading: 'flat' as const },
      { cone: '6', reading: reading as '3' },
      { cone: '7', reading: 'standing' as const },
    ],
  });

  it('decide over the log, level by level, and are flagged at half a cone', async () => {
    const { number } = await fired(8);
    await imported(number, aLog({ everyS: 300 }));
    await s.as(wren, (act) => shutOff(act, number, {}));
    await s.as(wren, (act) => readCones(act, number, { levels: [cones(1, 'down'), cones(2, '3')] }));
    const { judgement } = await judged(number);
    expect(judgement).toMatchObject({ by: 'cones', flagged: true });
    expect(judgement.levels.map(({ words }) => words)).toEqual([
      'Level 1: as wanted.',
      'Level 2: half a cone cool.',
    ]);
    const { body } = await s.visit(ida, `/kilns/loads/${number}/curve`);
    expect(body).toContain('Off by its cones');
    expect(body).toContain('half a cone cool');
    const over = (await s.api(ida, 'GET', `/firings/${number}`)).json();
    expect(over.verdict).toEqual({ by: 'cones', flagged: true });
    expect(over.cones[1]).toMatchObject({ level: 2, flagged: true, off: -0.5 });
    // Read once more, the level counts as it was read last.
    await s.as(wren, (act) => readCones(act, number, { levels: [cones(2, '5')] }));
    expect((await judged(number)).judgement.flagged).toBe(false);
    const near = await s.visit(ida, `/kilns/loads/${number}/curve`);
    expect(near.body).toContain('Within half a cone by its cones');
    expect(near.body).toContain('class="state is-ready"');
    // A third of a cone off is no fault, and nothing to be green about.
    await s.as(wren, (act) => readCones(act, number, { levels: [cones(2, '4')] }));
    const third = await s.visit(ida, `/kilns/loads/${number}/curve`);
    expect(third.body).toContain('<b>Within half a cone by its cones.</b>');
    await nothingIsWrong(s);
  });

  it('that tell against each other are asked about, level by level', async () => {
    const { number, page } = await fired();
    await s.as(wren, (act) => shutOff(act, number, {}));
    const { part = 'full' } = page.levels[0] ?? {};
    const read = (readings: string, confirm?: boolean) =>
      s.as(wren, (act) =>
        readCones(act, number, {
          levels: [
            {
              part,
              level: 1,
              cones: readings
                .split(' ')
                .map((reading, i) => ({ cone: String(5 + i), reading: reading as '2' })),
            },
          ],
          ...(confirm !== undefined && { confirm }),
        }),
      );
    await expect(read('2 2 2')).rejects.toThrow('Level 1: Cone 6 has bent as much as cone 5. Look again.');
    await expect(read('1 standing down')).rejects.toMatchObject({ status: 409 });
    for (const fine of ['flat down standing', 'down flat standing', 'standing standing standing', 'flat 3 1'])
      await read(fine);
    await read('2 2 2', true);
    const at = `/kilns/loads/${number}/cones`;
    const fields = (of: string) =>
      Object.fromEntries(
        of.split(' ').flatMap((reading, i) => [
          [`cone-1-${i + 1}`, String(5 + i)],
          [`reading-1-${i + 1}`, reading],
        ]),
      );
    const asked = await s.submit(wren, at, fields('2 2 2'));
    expect(asked.statusCode).toBe(409);
    expect(asked.body).toContain('href="#f-level-1"');
    const confirm = /name="confirm" value="([^"]+)"/.exec(asked.body)?.[1] ?? '';
    expect((await s.submit(wren, at, { ...fields('3 3 3'), confirm })).statusCode).toBe(409);
    expect((await s.submit(wren, at, { ...fields('2 2 2'), confirm })).statusCode).toBe(303);
  });

  it('are read from their page by level; what is no cone stands beside its field', async () => {
    const { number, page } = await fired();
    await s.as(wren, (act) => shutOff(act, number, {}));
    const at = `/kilns/loads/${number}/cones`;
    const form = await s.visit(wren, at);
    for (const cone of ['5', '6', '7']) expect(form.body).toContain(`value="${cone}"`);
    expect((await s.submit(wren, at, { 'cone-1-1': '6' })).statusCode).toBe(422);
    const wrong = await s.submit(wren, at, { 'cone-1-1': '66', 'reading-1-1': '3' });
    expect(wrong.statusCode).toBe(422);
    expect(wrong.body).toContain('f-cone-1-1-error');
    expect((await s.submit(wren, at, { 'cone-1-1': '6', 'reading-1-1': 'melted' })).statusCode).toBe(422);
    const done = await s.submit(wren, at, {
      'cone-1-1': '006',
      'reading-1-1': '3',
      'cone-1-2': '6',
      'reading-1-2': '',
    });
    expect(done.statusCode).toBe(303);
    expect((await judged(number)).cones).toEqual([
      { part: page.levels[0]?.part, level: 1, cones: [{ cone: '06', reading: '3' }] },
    ]);
    const strange = { levels: [cones(40, '3')] };
    await expect(s.as(wren, (act) => readCones(act, number, strange))).rejects.toThrow('no such level');
    await expect(
      s.as(wren, (act) => readCones(act, number, { levels: [cones(1, '3'), cones(1, '4')] })),
    ).rejects.toThrow('Name each level once.');
  });
});

describe('what a kiln’s own firings say', () => {
  it('after three of them: how it cools, and which level drifts', async () => {
    const kiln = await aKiln(s, { halfShelves: 0 });
    for (let n = 1; n <= 3; n++) {
      const { number } = await aLoadedKiln(s, { kiln, howMany: 1 });
      await started(s, number);
      s.clock.forward(HOURS * HOUR);
      if (n < 3) await imported(number, aLog({ everyS: 600 }));
      else {
        // Typed by hand the third time, from 400 °C on.
        const startedAt = s.clock.now() - HOURS * HOUR;
        for (const hour of [15, 16, 17, 18, 19])
          await s.as(wren, (act) =>
            noteReading(act, number, {
              celsius: Math.round(celsius(hour * 3600)),
              happenedAt: startedAt + hour * HOUR,
            }),
          );
      }
      await s.as(wren, (act) => shutOff(act, number, {}));
      await s.as(wren, (act) =>
        readCones(act, number, {
          levels: [
            {
              part: 'full',
              level: 1,
              cones: [
                { cone: '6', reading: '3' },
                { cone: '5', reading: 'flat' },
              ],
            },
          ],
        }),
      );
      expect((await kilnCooling(readAs(s, wren), kiln.id)).logs).toBe(0);
      await s.as(wren, (act) => openKiln(act, number, { celsius: 40, how: 'opened' }));
      const done = await s.submit(wren, `/kilns/loads/${number}/unload`, { celsius: '30' });
      expect(done.statusCode).toBe(303);
    }
    const cooling = await kilnCooling(readAs(s, wren), kiln.id);
    expect(cooling.logs).toBe(3);
    expect(cooling.kPerH).toBeCloseTo(0.2, 2);
    expect((await kilnTrend(readAs(s, wren), kiln.id)).map(({ words }) => words)).toEqual([
      'Bottom level half a cone cool, three firings running.',
    ]);
    const { number } = await aLoadedKiln(s, { kiln, howMany: 1 });
    await started(s, number);
    await s.as(wren, (act) => shutOff(act, number, { celsius: 300 }));
    const { body } = await s.visit(ida, `/kilns/loads/${number}/open`);
    expect(body).toContain(`From the last 3 firings of ${kiln.name} that were logged.`);
    expect((await s.visit(ida, `/kilns/loads/${number}/curve`)).body).toContain('three firings running');
  });
});

describe('how a piece came out, said better', () => {
  it('with a photo; the newest word counts, what was said before stays, its owner is told', async () => {
    const { number, pieces } = await aLoadedKiln(s, { howMany: 2 });
    await emptied(s, number, [{ piece: pieces[0] as number, outcome: 'crack' }]);
    const at = `/kilns/loads/${number}/outcomes/${pieces[0]}`;
    const done = await upload(
      s,
      wren,
      at,
      { outcome: 'burst', note: 'From the inside' },
      { bytes: await aPhoto() },
    );
    expect(done.headers.location).toBe(`/kilns/loads/${number}/outcomes?did=corrected`);
    expect((await outcomesOf(readAs(s, wren), number))[0]?.outcome).toBe('burst');
    expect((await findPieces(readAs(s, wren), pieces))[0]?.stage).toBe('fired');
    await nothingIsWrong(s);
  });

  it('refuses a photo that is not one, an outcome that is none, and a piece of another load', async () => {
    const { number, pieces } = await aLoadedKiln(s, { howMany: 1 });
    const other = await aLoadedKiln(s, { howMany: 1 });
    await emptied(s, number);
    const at = `/kilns/loads/${number}/outcomes/${pieces[0]}`;
    const notPhoto = await upload(
      s,
      wren,
      at,
      { outcome: 'crack' },
      { bytes: Buffer.from('GIF89a not a photo') },
    );
    expect(notPhoto.statusCode).toBe(422);
    expect(notPhoto.body).toContain('This is not a photo: JPEG, PNG or WebP.');
    expect((await upload(s, wren, at, { outcome: 'lovely' }, null)).statusCode).toBe(422);
    expect((await s.visit(wren, `/kilns/loads/${number}/outcomes/${other.pieces[0]}`)).statusCode).toBe(404);
    await expect(
      s.as(wren, (act) =>
        correctOutcome(act, number, { piece: other.pieces[0] as number, outcome: 'crack' }),
      ),
    ).rejects.toThrow('was not in load');
    expect((await outcomesOf(readAs(s, wren), number))[0]?.outcome).toBe('good');
  });
});

describe('faults', () => {
  it('by bucket, reading, level, kiln and clay, with what they rest on, two clicks from bucket and batch', async () => {
    const bad = await s.aBucket({ sg: 1.52, name: 'Runny Green' });
    const fine = await s.aBucket({ sg: 1.46, name: 'Steady White' });
    const kiln = await aKiln(s, { halfShelves: 0, name: 'Corner kiln' });
    const one = await aLoadedKiln(s, { kiln, bucket: bad, howMany: 4 });
    await emptied(
      s,
      one.number,
      one.pieces.slice(0, 3).map((piece) => ({ piece, outcome: 'crawl' })),
    );
    const two = await aLoadedKiln(s, { kiln, bucket: fine, howMany: 4 });
    await emptied(s, two.number, [{ piece: two.pieces[0] as number, outcome: 'crack' }]);
    // Said again: it was no crack. Only the newest word of a piece counts.
    await s.as(wren, (act) =>
      correctOutcome(act, two.number, { piece: two.pieces[0] as number, outcome: 'good' }),
    );
    const page = await s.visit(wren, '/kilns/faults?kind=glaze');
    expect(page.statusCode).toBe(200);
    expect(page.body).toContain('3 of 4');
    expect(page.body).toContain('0 of 4');
    expect(page.body).toContain(`href="/buckets/${bad}"`);
    expect(page.body).toContain(`href="/ware/${one.pieces[0]}"`);
    const tables = (await s.api(wren, 'GET', '/faults?kind=glaze&outcome=crawl')).json();
    const of = (lines: { what: string; share: { faulty: number; all: number } }[], name: string) =>
      lines.find(({ what }) => what.includes(name))?.share;
    expect(of(tables.buckets, 'Runny Green')).toMatchObject({ faulty: 3, all: 4 });
    expect(of(tables.buckets, 'Steady White')).toMatchObject({ faulty: 0, all: 4 });
    expect(of(tables.readings, 'Runny Green')).toMatchObject({ faulty: 3, all: 4 });
    expect(of(tables.kilns, 'Corner kiln')).toMatchObject({ faulty: 3, all: 8 });
    expect(tables.readings.some(({ what }: { what: string }) => what.includes('at 1.52'))).toBe(true);
    const cracks = (await s.api(wren, 'GET', '/faults?outcome=crack')).json();
    expect(of(cracks.buckets, 'Steady White')).toMatchObject({ faulty: 0, all: 4 });
  });

  it('asks no glaze of a bisque, and filters by time', async () => {
    const bisque = await aLoadedKiln(s, { kind: 'bisque', form: 'bowl', howMany: 2 });
    await emptied(s, bisque.number, [{ piece: bisque.pieces[0] as number, outcome: 'burst' }]);
    const { overall, buckets } = (await s.api(wren, 'GET', '/faults?kind=bisque')).json();
    expect(overall).toMatchObject({ faulty: 1, all: 2 });
    expect(buckets).toEqual([]);
    s.clock.forward(40 * 24 * HOUR);
    expect((await s.api(wren, 'GET', '/faults?kind=bisque&days=30')).json().overall.all).toBe(0);
    expect((await s.api(wren, 'GET', '/faults?kind=bisque&days=60')).json().overall.all).toBe(2);
  });

  it('pages take whatever an address asks, the API says what is wrong', async () => {
    for (const query of [
      'outcome=%00',
      'days=-1',
      'days=1e999',
      'kind=x&kind=y',
      'outcome=good',
      'days=30&outcome=run',
    ])
      expect((await s.visit(wren, `/kilns/faults?${query}`)).statusCode, query).toBe(200);
    for (const query of ['outcome=x', 'days=0', 'kind=x', 'more=1'])
      expect((await s.api(wren, 'GET', `/faults?${query}`)).statusCode, query).toBe(422);
    expect((await s.api(ida, 'GET', '/faults')).statusCode).toBe(403);
  });
});

it('a firing from start to empty over the API alone', async () => {
  const { number, pieces } = await aLoadedKiln(s, { howMany: 2 });
  const post = (verb: string, body: object) => s.api(wren, 'POST', `/loads/${number}/${verb}`, body);
  expect((await post('check', { posts: true, onCall: 'Wren' })).statusCode).toBe(200);
  // At whatever hour this runs: the studio's own may be over.
  const confirm = true;
  expect((await post('start', { confirm })).statusCode).toBe(422);
  expect((await post('start', { confirm, note: 'The rest was seen' })).json()).toMatchObject({
    state: 'firing',
  });
  expect((await post('reading', { celsius: 900 })).json()).toMatchObject({ measuredC: 900 });
  expect((await post('shut-off', { celsius: 1222 })).json()).toMatchObject({ state: 'cooling' });
  expect((await post('unload', { celsius: 30 })).statusCode).toBe(409);
  expect((await post('open', { celsius: 60, how: 'opened' })).statusCode).toBe(200);
  const levels = [{ part: 'full', level: 1, cones: [{ cone: '6', reading: 'down' }] }];
  expect((await post('cones', { levels })).statusCode).toBe(200);
  const exceptions = [{ piece: pieces[0], outcome: 'run' }];
  expect((await post('unload', { celsius: 30, exceptions })).json()).toMatchObject({ state: 'unloaded' });
  expect((await post('outcomes', { piece: pieces[1], outcome: 'crack' })).statusCode).toBe(200);
  const { verdict, from } = (await s.api(ida, 'GET', `/firings/${number}`)).json();
  expect(verdict).toEqual({ by: 'cones', flagged: false });
  // All of it within one moment: that is no curve.
  expect(from).toBe('nothing');
  await nothingIsWrong(s);
});
