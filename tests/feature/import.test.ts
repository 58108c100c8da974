import { existsSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { eq } from 'drizzle-orm';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { bucketEvents, bucketState } from '../../server/buckets/schema.ts';
import {
  findBucket,
  listEvents,
  type PastReading,
  recordAct,
  recordPastReadings,
  refold,
  voidEvent,
} from '../../server/buckets/service/index.ts';
import { lockRow } from '../../server/buckets/service/now.ts';
import { examine } from '../../server/cli/examine.ts';
import type { Invited } from '../../server/cli/import/kind.ts';
import { chooseKind, runImport } from '../../server/cli/import/run.ts';
import { readTable } from '../../server/cli/import/table.ts';
import type { Act } from '../../server/core/actor.ts';
import { DAY, HOUR, MINUTE } from '../../server/core/clock.ts';
import { audit, people } from '../../server/core/schema.ts';
import { listRegister, saveMaterial } from '../../server/materials/service/index.ts';
import { links } from '../../server/members/schema.ts';
import { runCommand } from '../helpers/command.ts';
import { parseCsv } from '../helpers/csv.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';

let s: Studio;
beforeAll(async () => {
  s = await aStudio();
});

interface How {
  kind?: string;
  as?: string | null;
  isDryRun?: boolean;
  keep?: (invitations: readonly Invited[]) => void;
}

/** Brings a file in as the command does. */
function bring(text: string | Buffer, { kind, as = null, isDryRun = false, keep = () => {} }: How = {}) {
  const table = readTable(Buffer.from(text as string));
  const chosen = chooseKind(table, kind ?? null);
  return runImport(s.database, { table, kind: chosen, as, isDryRun, now: s.clock.now(), keep });
}

/** Every table's rows, counted: what a run that must leave nothing behind leaves behind. */
async function rows(): Promise<Record<string, unknown>> {
  const found = await s.database.db.execute<{ name: string; rows: string }>(
    `select c.relname as name, (xpath('/row/n/text()', query_to_xml(format('select count(*) as n from %I', c.relname),
      false, true, '')))[1]::text as rows from pg_class c join pg_namespace n on n.oid = c.relnamespace
      where c.relkind = 'r' and n.nspname = 'public' order by 1`,
  );
  return Object.fromEntries(found.map((row) => [row.name, row.rows]));
}

/** The minute so long ago, and as a file says it: with its offset, since a wall's clock shows some hours twice. */
const atMinute = (ago: number) => Math.floor((s.clock.now() - ago) / MINUTE) * MINUTE;
const when = (ago: number) => new Date(atMinute(ago)).toISOString();

describe('members', () => {
  const file =
    'E-Mail;Name;Role\nana@mill.example;Ana;member\nBO@mill.example;Bo;Technician\ncy@mill.example;;\n';

  it('get an invitation each, and the same file again makes none', async () => {
    let made: readonly Invited[] = [];
    const keep = (invitations: readonly Invited[]) => {
      made = invitations;
    };
    expect(await bring(file, { keep })).toMatchObject({ faults: [], added: 3, leftAlone: [] });
    expect(made).toMatchObject([
      { email: 'ana@mill.example', name: 'Ana', role: 'member' },
      { email: 'bo@mill.example', name: 'Bo', role: 'technician' },
      { email: 'cy@mill.example', name: '', role: 'member' },
    ]);
    const before = await rows();
    const again = await bring(file);
    expect(again).toMatchObject({ faults: [], added: 0, invitations: [] });
    expect(again.leftAlone.map(({ line }) => line)).toEqual([2, 3, 4]);
    expect(again.leftAlone[0]?.why).toMatch(/^ana@mill.example was invited; that works until /);
    expect(await rows()).toEqual(before);

    const password = 'nine kiln shelves drying';
    const accept = { name: 'Ana of the mill', password };
    expect((await s.submit(null, `/welcome/${made[0]?.secret}`, accept)).statusCode).toBe(303);
    expect((await bring(file)).leftAlone[0]?.why).toBe('ana@mill.example is here.');
  });

  it('who left is not let back in by a list', async () => {
    const gone = await s.aPerson();
    await s.database.db.update(people).set({ active: false }).where(eq(people.id, gone.id));
    const { added, leftAlone } = await bring(`email\n${gone.email}\n`);
    expect(added).toBe(0);
    expect(leftAlone[0]?.why).toContain('was here before');
  });

  it('every bad line is listed and no invitation is made', async () => {
    const before = await rows();
    const { faults, added } = await bring(
      'email,role\ndee@mill.example,member\nnot an address,\neve@mill.example,king\n,member\nDEE@mill.example,\n=A1,member\nx@mill.example\n',
      { keep: () => expect.unreachable() },
    );
    expect(added).toBe(1);
    expect(faults).toEqual([
      { line: 3, column: 'email', message: 'An e-mail address, such as ida@millrace.example.' },
      { line: 4, column: 'role', message: 'One of member, technician, manager.' },
      { line: 5, column: 'email', message: 'Is empty.' },
      { line: 6, column: null, message: 'The same address as line 2.' },
      { line: 7, column: 'email', message: 'A formula instead of what comes of it. Save the values.' },
      { line: 8, column: null, message: expect.stringContaining('The first line has 2 cells, this one 1.') },
    ]);
    expect(await rows()).toEqual(before);
  });

  it('where the links cannot be kept, none is made', async () => {
    const before = await rows();
    const keep = () => {
      throw new Error('no space left');
    };
    await expect(bring('email\nfay@mill.example\n', { keep })).rejects.toThrow('no space left');
    expect(await rows()).toEqual(before);
  });
});

describe('materials', () => {
  it('come into the register with what the file knows of them', async () => {
    const text = [
      'Name,Density g/cm³,CAS,Hazards,Source,Other names,P statements',
      'Mill Frit 7,2.5,,,,frit 7; old frit,',
      'Silica,,14808-60-7,STOT RE 1 H372,"Sheet of 2025-03-01, read by Wren",,P260; p264',
      '',
    ].join('\r\n');
    expect(await bring(text)).toMatchObject({ faults: [], added: 2 });
    const register = await s.as(s.people.manager, listRegister);
    expect(register.find(({ name }) => name === 'Mill Frit 7')).toMatchObject({
      density: 2.5,
      version: 1,
      facts: { classification: 'unknown', otherNames: ['frit 7', 'old frit'] },
    });
    expect(register.find(({ name }) => name === 'Silica')).toMatchObject({
      density: 2.65,
      facts: {
        classification: 'classified',
        substances: [{ name: 'Silica', cas: '14808-60-7', percent: null }],
        hazards: [{ hazardClass: 'STOT RE 1', hCode: 'H372' }],
        pStatements: ['P260', 'P264'],
      },
    });
    const before = await rows();
    expect(await bring(text)).toMatchObject({ faults: [], added: 0, leftAlone: [{ line: 2 }, { line: 3 }] });
    expect(await rows()).toEqual(before);
  });

  it('one that was only met in a recipe is filled in, one the studio wrote of stays', async () => {
    await bring('code,name,capacity,aim,solids density\nMM,Met,20,1.46,2.6\n');
    await s.api(s.people.technician, 'POST', '/buckets', {
      code: 'MET1',
      name: 'Met 1',
      capacityLitres: 20,
      target: { aim: 1.46 },
      recipe: [{ material: 'Met clay', parts: 1, density: 2.6 }],
    });
    const own = { name: 'Own clay', density: 2.7 };
    const facts = (await s.as(s.people.manager, listRegister))[0]?.facts;
    if (!facts) throw new Error('an empty register');
    await s.as(s.people.manager, (act) =>
      saveMaterial(act, null, { ...own, facts: { ...facts, supplier: 'The quarry' } }),
    );
    const brought = await bring('name,density,supplier\nMET CLAY,2.61,Mill\nown clay,2,Mill\n');
    expect(brought).toMatchObject({ faults: [], added: 1, leftAlone: [{ line: 3 }] });
    const register = await s.as(s.people.manager, listRegister);
    expect(register.filter(({ name }) => /met clay/i.test(name))).toMatchObject([
      { density: 2.61, version: 1, facts: { supplier: 'Mill' } },
    ]);
    expect(register.find(({ name }) => name === 'Own clay')).toMatchObject({ density: 2.7, version: 1 });
  });

  it('says what is wrong by column', async () => {
    const { faults } = await bring(
      'name,density,cas,hazards,source\nOdd dust,,,,\nWhiting,2.7,471-34-2,,\nTalc,400,,,\nZinc,5.6,,Aquatic Chronic 1 H999,x\nTin,6.9,,STOT RE 1 H372,\nA,2,,,\na,3,,,\n',
    );
    expect(faults.map(({ line, column }) => [line, column])).toEqual([
      [2, 'density'],
      [3, 'cas'],
      [4, 'density'],
      [5, 'hazards'],
      [6, 'source'],
      [8, null],
    ]);
  });
});

describe('buckets', () => {
  it('come with a recipe that is here, or with the density of their dry glaze', async () => {
    await bring('code,name,capacity,aim,solids density\nR1,First,20,1.46,2.6\n');
    const text = [
      'sep=;',
      'Code;Name;Capacity (litres);Aim SG;Low;High;Recipe;Solids density;Cone;Stir minutes;Reclaim;Flow low;Flow high;Bottom mm;Height mm',
      'TEN-1;Tenmoku;25;1,46;1,44;1,48;first (R1);;10;10;no;12;20,5;300;400',
      'WH-2;White;12,5;1,5;;;;2,65;6;;;;;;',
      '',
    ].join('\r\n');
    expect(await bring(text)).toMatchObject({ faults: [], added: 2 });
    const [ten, white] = await Promise.all(
      ['TEN-1', 'WH-2'].map((code) => s.as(s.people.member, (act) => findBucket(act, code))),
    );
    expect(ten).toMatchObject({
      name: 'Tenmoku',
      capacityLitres: 25,
      target: { low: 1.44, aim: 1.46, high: 1.48 },
      recipeName: 'First (R1)',
      cones: { from: '10', to: '10' },
      stirIntervalMinutes: 10,
      flow: { low: 12, high: 20.5 },
      shape: { bottomMm: 300, topMm: 300, heightMm: 400 },
    });
    expect(white).toMatchObject({ capacityLitres: 12.5, recipeName: 'White (WH-2)', stirIntervalMinutes: 5 });
    const before = await rows();
    expect(await bring(text)).toMatchObject({ added: 0, leftAlone: [{ line: 3 }, { line: 4 }] });
    expect(await rows()).toEqual(before);
  });

  it('one bad line undoes all of them, and what only the use case refuses is found as well', async () => {
    const before = await rows();
    const { faults } = await bring(
      [
        'code,name,capacity,aim,low,high,solids density,recipe,flow low,flow high',
        'OK-1,Fine,20,1.46,,,2.6,,,',
        'new,Taken word,20,1.46,,,2.6,,,',
        'A B,Blank,20,1.46,,,2.6,,,',
        'B-1,Band,20,1.46,1.47,1.5,2.6,,,',
        'B-2,Heavy,20,2.7,,2.9,2.6,,,',
        'B-3,No recipe,20,1.46,,,,,,',
        'B-4,Both,20,1.46,,,2.6,Whatever,,',
        'B-5,Unknown,20,1.46,,,,Whatever,,',
        'B-6,Flow,20,1.46,,,2.6,,9,',
        'B-7,Flow,20,1.46,,,2.6,,9,8',
        'ok-1,Again,20,1.46,,,2.6,,,',
        'B-8,,1e308,1.46,,,2.6,,,',
        'OK-2,Fine,20,1.46,,,2.6,,,',
        '',
      ].join('\n'),
    );
    expect(faults.map(({ line, column }) => [line, column])).toEqual([
      [3, 'code'],
      [4, 'code'],
      [5, 'aim'],
      [6, 'high'],
      [7, null],
      [8, null],
      [9, 'recipe'],
      [10, 'flow high'],
      [11, 'flow high'],
      [12, null],
      [13, 'name'],
      [13, 'capacity'],
    ]);
    expect(await rows()).toEqual(before);
  });

  it('keeps what looks like a formula as the text it is, and hands it out harmless', async () => {
    await bring('code,name,capacity,aim,solids density\nFX,"+cmd|\' /C calc\'!A0",20,1.46,2.6\n');
    await bring(`bucket,when,sg\nFX,${when(DAY)},1.46\n`);
    const csv = (await s.visit(s.people.technician, '/history.csv?bucket=FX')).body;
    expect(csv).toContain("'+cmd|");
    expect(csv).not.toContain(',+cmd');
  });
});

describe('readings', () => {
  it('come into the ledger as taken then, by whoever took them', async () => {
    const code = await s.aBucket({ litres: null });
    const { member, manager } = s.people;
    const text = [
      'Bucket,When,SG,Grams,mL,Temperature,Stirred,By,Note',
      `${code},${when(3 * DAY)},,146,100,,yes,${member.email},from the book`,
      `${code.toLowerCase()},${when(9 * DAY)},1.5,,,18,no,,`,
      `${code},${when(5 * DAY)},1.47,,,,,,`,
    ].join('\n');
    expect(await bring(text)).toMatchObject({ faults: [], added: 3, leftAlone: [] });
    const { events } = await s.as(manager, (act) => listEvents(act, code, { limit: 50, before: null }));
    const told = [...events]
      .reverse()
      .map((e) => [e.number, e.entry.kind, e.happenedAt, e.byId, e.note, e.counts]);
    expect(told).toEqual([
      [1, 'reading', atMinute(9 * DAY), manager.id, null, false],
      [2, 'stir', atMinute(5 * DAY), manager.id, null, true],
      [3, 'reading', atMinute(5 * DAY), manager.id, null, true],
      [4, 'stir', atMinute(3 * DAY), member.id, null, true],
      [5, 'reading', atMinute(3 * DAY), member.id, 'from the book', true],
    ]);
    expect(events.every(({ recordedAt }) => recordedAt === s.clock.now())).toBe(true);
    const { facts } = await s.as(manager, (act) => findBucket(act, code));
    expect(facts).toMatchObject({
      gravity: 1.46,
      readingAt: atMinute(3 * DAY),
      readingNumber: 5,
      lastNumber: 5,
    });
    const [row] = await s.database.db.select().from(audit).where(eq(audit.act, 'import.readings'));
    expect(row).toMatchObject({ by: manager.id });

    const before = await rows();
    const again = await bring(text);
    expect(again).toMatchObject({ faults: [], added: 0 });
    expect(again.leftAlone).toHaveLength(3);
    expect(await rows()).toEqual(before);
  });

  it('leave the same ledger and state as if each had been recorded late by itself', async () => {
    const one = await s.aBucket({ sg: 1.52, stirredMinutesAgo: 30 });
    const other = await s.aBucket({ sg: 1.52, stirredMinutesAgo: 30 });
    const taken = Array.from({ length: 30 }, (_, i) => ({
      ago: (i + 1) * 7 * HOUR,
      value: 1.4 + ((i * 37) % 20) / 100,
      stirred: i % 4 !== 0,
    }));
    const lines = taken.map(
      ({ ago, value, stirred }) => `${one},${when(ago)},${value},${stirred ? 'yes' : 'no'}`,
    );
    expect(await bring(`bucket,when,sg,stirred\n${lines.join('\n')}`)).toMatchObject({
      faults: [],
      added: 30,
    });
    for (const { ago, value, stirred } of [...taken].reverse())
      await s.as(s.people.manager, (act) => {
        const body = {
          method: 'hydrometer',
          value,
          stirred,
          confirm: true,
          happenedAt: atMinute(ago),
        } as const;
        return recordAct(act, other, 'readings', body);
      });
    const ledger = async (code: string) => {
      const { id } = await s.as(s.people.manager, (act) => findBucket(act, code));
      const { number, kind, happenedAt, by, payload } = bucketEvents;
      const events = await s.database.db
        .select({ number, kind, happenedAt, by, payload })
        .from(bucketEvents)
        .where(eq(bucketEvents.bucketId, id))
        .orderBy(number);
      const [state] = await s.database.db.select().from(bucketState).where(eq(bucketState.bucketId, id));
      return { events, state: { ...state, bucketId: 0, recipe: { ...state?.recipe, id: 0 } } };
    };
    expect(await ledger(one)).toEqual(await ledger(other));
    const folded = await s.as(s.people.manager, async (act) => refold(act.tx, await lockRow(act, one)));
    expect((await s.as(s.people.manager, (act) => findBucket(act, one))).facts).toEqual(folded);
  });

  it('one that was struck out stays so; another of its time takes its place; two at a time do not', async () => {
    const code = await s.aBucket({ litres: null });
    const line = (sg: string) => `bucket,when,sg\n${code},${when(2 * DAY)},${sg}\n`;
    await bring(line('1.46'));
    expect((await bring(line('1.47'))).faults).toEqual([
      {
        line: 2,
        column: 'when',
        message: expect.stringContaining('The ledger has 1.460 of this very time.'),
      },
    ]);
    await s.as(s.people.manager, (act) => voidEvent(act, code, 2, 'misread'));
    expect(await bring(line('1.46'))).toMatchObject({ added: 0, leftAlone: [{ line: 2 }] });
    expect(await bring(line('1.47'))).toMatchObject({ added: 1, faults: [] });
    expect((await s.as(s.people.manager, (act) => findBucket(act, code))).facts.gravity).toBe(1.47);
  });

  it('every bad line of every bucket is listed, and nothing is recorded', async () => {
    const code = await s.aBucket({ litres: null });
    const other = await s.aBucket({ litres: null });
    const before = await rows();
    const t = when(DAY);
    const { faults } = await bring(
      [
        'bucket,when,sg,grams,ml,stirred,by',
        `${code},${t},1.46,,,,`,
        `${code},${when(-HOUR)},1.46,,,,`,
        `${code},2026-03-29 01:30,1.46,,,,`,
        `${code},29.3.2026 12:30,1.46,,,,`,
        `${code},1999-03-29 12:30,1.46,,,,`,
        `NO-SUCH,${t},1.46,,,,`,
        `${code},${when(DAY + HOUR)},,,,,`,
        `${code},${when(DAY + HOUR)},1.4,140,100,,`,
        `${code},${when(DAY + HOUR)},,140,,,`,
        `${other},${when(DAY + HOUR)},,90,100,,`,
        `${other},${when(DAY + 2 * HOUR)},3.2,,,,`,
        `${other},${when(DAY + 3 * HOUR)},1.46,,,perhaps,`,
        `${other},${when(DAY + 4 * HOUR)},1.46,,,,nobody@mill.example`,
        `${code},${t},1.46,,,,`,
        '',
      ].join('\n'),
    );
    expect(faults.map(({ line, column }) => [line, column])).toEqual([
      [3, 'when'],
      [4, 'when'],
      [5, 'when'],
      [6, 'when'],
      [7, 'bucket'],
      [8, null],
      [9, null],
      [10, 'ml'],
      [11, 'grams'],
      [12, 'sg'],
      [13, 'stirred'],
      [14, 'by'],
      [15, null],
    ]);
    expect(faults.at(-1)?.message).toBe('The same bucket and time as line 2.');
    expect(await rows()).toEqual(before);
  });

  it('are of the studio’s clock where they name no offset', async () => {
    const code = await s.aBucket({ litres: null });
    await bring(`bucket;when;sg\n${code};2025-07-15 14:30;1,46\n`);
    const { facts } = await s.as(s.people.manager, (act) => findBucket(act, code));
    expect(facts.readingAt).toBe(Date.UTC(2025, 6, 15, 13, 30));
  });

  it('are for technicians to bring, and none of a list comes twice', async () => {
    const code = await s.aBucket({ litres: null });
    const reading = (value: number, ago: number): PastReading => ({
      by: s.people.member.id,
      body: { method: 'hydrometer', value, stirred: true, confirm: false, happenedAt: atMinute(ago) },
    });
    const list = [reading(1.46, DAY), reading(1.46, DAY), reading(1.47, HOUR)];
    const work = (act: Act) => recordPastReadings(act, code, list);
    await expect(s.as(s.people.member, work)).rejects.toThrow('This needs a technician.');
    expect(await s.as(s.people.technician, work)).toEqual(new Set([1]));
    expect(await s.as(s.people.technician, work)).toEqual(new Set([0, 1, 2]));
    list.push(reading(1.48, HOUR), reading(1.48, -HOUR), reading(1.3, 2 * DAY));
    await expect(s.as(s.people.technician, work)).rejects.toMatchObject({
      errors: [{ path: '3.happenedAt' }, { path: '4.happenedAt', message: 'This lies in the future.' }],
    });
    expect((await s.as(s.people.member, (act) => findBucket(act, code))).facts.lastNumber).toBe(4);
  });

  it('thousands into one bucket that people went on using, folded once', async () => {
    const code = await s.aBucket({ sg: 1.46, stirredMinutesAgo: 10 });
    const lines = Array.from(
      { length: 5000 },
      (_, i) => `${code},${when((i + 1) * HOUR)},${1.4 + (i % 100) / 1000}`,
    );
    const text = `bucket,when,sg\n${lines.join('\n')}\n`;
    expect(await bring(text)).toMatchObject({ faults: [], added: 5000 });
    const { facts } = await s.as(s.people.manager, (act) => findBucket(act, code));
    expect(facts).toMatchObject({ gravity: 1.46, lastNumber: 3 + 2 * 5000 });
  }, 120_000);
});

describe('a dry run', () => {
  it.each([
    ['members', () => 'email\ngus@mill.example\n'],
    ['materials', () => 'name,density\nDry clay,2.6\n'],
    ['buckets', () => 'code,name,capacity,aim,solids density\nDRY,Dry,20,1.46,2.6\n'],
    ['readings', () => `bucket,when,sg\nTRY,${when(DAY)},1.46\n`],
  ])('of %s says what would be added and adds nothing', async (kind, text) => {
    if (kind === 'readings') await s.aBucket({ code: 'TRY' });
    const before = await rows();
    const keep = () => expect.unreachable();
    expect(await bring(text(), { kind, isDryRun: true, keep })).toMatchObject({ added: 1, faults: [] });
    expect(await rows()).toEqual(before);
  });
});

describe('who does it', () => {
  it('is the only manager, or the one who is named; nobody else', async () => {
    const { technician } = s.people;
    const text = 'name,density\nWhose clay,2.6\n';
    await expect(bring(text, { as: technician.email })).rejects.toThrow('is no manager here.');
    const second = await s.aPerson('manager');
    await expect(bring(text)).rejects.toThrow('There are several managers');
    await bring(text, { as: second.email });
    const found = await s.database.db.select().from(audit).where(eq(audit.by, second.id));
    expect(found.map(({ act }) => act)).toContain('import.materials');
    await s.database.db.update(people).set({ active: false }).where(eq(people.id, second.id));
    await expect(bring(text, { as: second.email })).rejects.toThrow('is no manager here.');
  });
});

it('takes the four files that the README shows', async () => {
  const section =
    readFileSync('README.md', 'utf8').split('**From spreadsheets.**')[1]?.split('\n**')[0] ?? '';
  const files = [...section.matchAll(/(?:^ {4}.*\n)+/gm)].map(([block]) => block.replace(/^ {4}/gm, ''));
  expect(files).toHaveLength(4);
  const studio = await aStudio();
  for (const text of files) {
    const table = readTable(Buffer.from(text));
    const order = { table, kind: chooseKind(table, null), as: null, isDryRun: false, keep: () => {} };
    const brought = await runImport(studio.database, { ...order, now: studio.clock.now() });
    expect(brought).toMatchObject({ faults: [], added: 1, leftAlone: [] });
  }
});

it('leaves books and ledgers that the doctor finds sound', async () => {
  expect((await examine(s.database)).faults).toEqual([]);
});

describe('the command', () => {
  let folder: string;
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'wareboard-import-'));
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  const run = (text: string | Buffer, ...args: string[]) => {
    const file = join(folder, 'list.csv');
    writeFileSync(file, text);
    const DATABASE_URL = s.services.config.databaseUrl as string;
    return runCommand('import', [file, ...args], { DATABASE_URL, PUBLIC_URL: 'http://localhost' });
  };

  it('lists what is bad and ends with 1', async () => {
    expect(await run('email,role\nhal@mill.example,king\n\nnobody\n')).toEqual({
      code: 1,
      stdout: '',
      stderr:
        'line 2, role: One of member, technician, manager.\n' +
        'line 4: The first line has 2 cells, this one 1.\n' +
        '2 lines are bad: nothing was written.\n',
    });
    expect(existsSync(join(folder, 'list-invitations.csv'))).toBe(false);
  });

  it('writes invitations where only its owner reads them, and not over others', async () => {
    const text = 'email,name\nhal@mill.example,Hal\n';
    const dry = await run(text, '--dry-run');
    expect(dry).toEqual({
      code: 0,
      stdout: 'Nothing was written. It would add 1 invitation; 0 lines left alone.\n',
      stderr: '',
    });
    const { code, stdout } = await run(text);
    const path = join(folder, 'list-invitations.csv');
    expect({ code, stdout }).toEqual({
      code: 0,
      stdout:
        'Added 1 invitation; 0 lines left alone.\n' +
        `The links are in ${path}, which only you can read; each works once, for a day.\n`,
    });
    expect(statSync(path).mode & 0o777).toBe(0o600);
    const [, row] = parseCsv(readFileSync(path, 'utf8').replace('\uFEFF', ''));
    expect(row?.slice(0, 3)).toEqual(['hal@mill.example', 'Hal', 'member']);
    expect((await s.visit(null, new URL(row?.[3] ?? '').pathname)).body).toContain('hal@mill.example');
    const before = await s.database.db.select().from(links);
    const again = await run('email\nivy@mill.example\n');
    expect(again).toMatchObject({ code: 1, stdout: '' });
    expect(again.stderr).toContain('is there already, with links that may still work');
    expect(await s.database.db.select().from(links)).toEqual(before);
  });

  it.each([
    [
      Buffer.from('name,density\nTerre brûlée,2.6\n', 'latin1'),
      [],
      'line 2: not UTF-8. Save the file as CSV (UTF-8).\n',
    ],
    ['name,densty\nClay,2.6\n', [], 'line 1, densty: No column is called this here. Is it “density”?\n'],
    [
      'name,density\nClay,2.6\n',
      ['--kind', 'kilns'],
      '--kind is one of members, materials, buckets, readings.\n',
    ],
    ['name,density\nClay,2.6\n', ['--force'], "Unknown option '--force'"],
    [
      'name,density\nClay,2.6\n',
      ['--as', 'ida@nowhere.example'],
      'ida@nowhere.example is no manager here.\n',
    ],
  ])('%# is refused in words', async (text, args, words) => {
    const { code, stdout, stderr } = await run(text, ...args);
    expect({ code, stdout }).toEqual({ code: 1, stdout: '' });
    expect(stderr.startsWith(words)).toBe(true);
    expect(stderr).not.toContain('    at ');
  });
});
