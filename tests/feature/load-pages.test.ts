import { beforeAll, describe, expect, it } from 'vitest';
import { prepareProposal, saveProposals, showLoad } from '../../server/kilns/service/index.ts';
import { aKiln } from '../helpers/kilns.ts';
import { aClay, GLAZE, quickly, readAs, readyPieces } from '../helpers/loads.ts';
import { aStudio, PARTIAL, type Person, type Studio } from '../helpers/studio.ts';
import { aPhoto, upload } from '../helpers/upload.ts';

let s: Studio;
let ida: Person;
let wren: Person;
let tomas: Person;
let kiln: string;
let clay: string;
let photo: Buffer;
beforeAll(async () => {
  s = await aStudio();
  ({ member: ida, technician: wren } = s.people);
  tomas = await s.aPerson('member', 'Tomas');
  clay = await aClay(s);
  kiln = (await aKiln(s, { code: 'TOP' })).code;
  photo = await aPhoto();
});

const load = (number: number, who = wren) => showLoad(readAs(s, who), number);
const version = async (number: number) => String((await load(number)).load.version);

/** A proposal of what the two handed in just now; whatever else waits is in another firing by then. */
async function aLoad(mine = 3, theirs = 2): Promise<{ number: number; ida: number[]; tomas: number[] }> {
  const own = await readyPieces(s, ida, { for: 'glaze', clay, howMany: mine });
  const others = theirs > 0 ? await readyPieces(s, tomas, { for: 'glaze', clay, howMany: theirs }) : [];
  const prepared = await prepareProposal(
    readAs(s, wren),
    { kiln, firing: GLAZE, exceptProposed: true },
    quickly,
  );
  const { loads } = await s.as(wren, (act) => saveProposals(act, prepared));
  return { number: loads[0] as number, ida: own, tomas: others };
}

const post = async (
  number: number,
  act: string,
  fields: Record<string, string> = {},
  who = wren,
  headers = {},
) => s.submit(who, `/kilns/loads/${number}/${act}`, { version: await version(number), ...fields }, headers);

describe('the list of loads', () => {
  it('has words for a studio with no kiln, and for nothing that waits', async () => {
    const empty = await aStudio();
    const { technician, member } = empty.people;
    expect((await empty.visit(technician, '/kilns/loads')).body).toContain('Add the first kiln');
    expect((await empty.visit(member, '/kilns/loads')).body).toContain('A technician adds the first one.');
    await aKiln(empty);
    expect((await empty.visit(technician, '/kilns/loads')).body).toContain('Nothing waits to be fired');
  });

  it('says what waits of each firing and why to fire it, and proposes a load without a script', async () => {
    await readyPieces(s, ida, { for: 'bisque', clay, howMany: 4 });
    const page = (await s.visit(wren, '/kilns/loads')).body;
    expect(page).toContain('Bisque, cone 06 oxidation');
    expect(page).toContain('<b>4 ready</b>');
    expect(page).toMatch(/Round kiln<\/b>: \d+\s?% of what it usually takes/);
    // What is under way comes first; a kiln without a reason is under a fold.
    expect(page.indexOf('Under way')).toBeLessThan(page.indexOf('What waits'));
    expect(page).toMatch(/No reason to fire it yet\.<\/p><details[^>]*><summary>The kilns/);
    const fields = { kiln, kind: 'bisque', cone: '06', atmosphere: 'oxidation', key: 'propose-bisque-1' };
    const answer = await s.submit(wren, '/kilns/loads', fields);
    expect(answer.statusCode).toBe(303);
    const at = answer.headers.location as string;
    expect(at).toMatch(/^\/kilns\/loads\/\d+$/);
    expect((await s.visit(wren, at)).body).toContain('proposed · bisque, cone 06 oxidation');
    // A second tap packs nothing anew.
    expect((await s.submit(wren, '/kilns/loads', fields)).headers.location).toBe(at);
  });

  it('says in words why nothing is proposed', async () => {
    const fields = { kiln, kind: 'lustre', cone: '019', atmosphere: 'oxidation' };
    const answer = await s.submit(wren, '/kilns/loads', fields);
    expect(answer.statusCode).toBe(409);
    expect(answer.body).toContain('Nothing waits for lustre or decal, cone 019 oxidation.');
    for (const bad of [
      { ...fields, cone: '99' },
      { ...fields, kiln: 'NONE' },
      { kiln },
      { ...fields, maxLoads: '1e9' },
    ])
      expect([404, 422]).toContain(
        (await s.submit(wren, '/kilns/loads', bad as Record<string, string>)).statusCode,
      );
  });

  it('is no place where members propose', async () => {
    const { body } = await s.visit(ida, '/kilns/loads');
    expect(body).not.toContain('Propose a');
    expect(body).not.toContain('What waits');
    expect((await s.submit(ida, '/kilns/loads', { kiln, ...GLAZE })).statusCode).toBe(403);
  });

  it('answers whatever number the earlier ones are asked from', async () => {
    for (const before of ['7', '0', 'x', '99999999999999'])
      expect((await s.visit(ida, `/kilns/loads?before=${before}`)).statusCode).toBe(200);
  });
});

describe('the page of a load', () => {
  it('tells a technician at a glance what it is, and who has what in it', async () => {
    const made = await aLoad();
    const { body } = await s.visit(wren, `/kilns/loads/${made.number}`);
    expect(body).toContain('proposed · glaze, cone 6 oxidation');
    expect(body).toContain('5 pieces of 2 owners on one level in Round kiln');
    expect(body).toMatch(/\d+\s?% of the shelves, \d+\s?% of the space/);
    expect(body).toContain('Not on the calendar yet.');
    expect(body).toContain('Tomas');
    expect(body).toContain('Every clay and every glaze takes cone 6.');
    expect(body).toContain('Approve this load');
    expect(body).toMatch(/Still fits: one \d+ mm piece/);
    expect(body).not.toContain(' style=');
    for (const number of [...made.ida, ...made.tomas]) expect(body).toContain(`>${number}</text>`);
  });

  it('shows members numbers and forms, their own marked, and no acts', async () => {
    const made = await aLoad();
    const { body } = await s.visit(ida, `/kilns/loads/${made.number}`);
    expect(body).toContain('5 pieces on one level in Round kiln, 3 of them yours');
    expect(body).toContain('Your 3 pieces in it');
    expect(body).not.toContain('Tomas');
    expect(body).not.toContain('Wren</');
    for (const act of ['Approve', 'Cancel this load', 'Change it', 'Pack the rest', 'id="drag"'])
      expect(body).not.toContain(act);
    expect(body.match(/class="piece is-mine"/g)).toHaveLength(3);
    for (const number of made.tomas) expect(body).toContain(`>${number}</text>`);
  });

  it('is closed to strangers, and to numbers that are none', async () => {
    expect((await s.visit(null, '/kilns/loads/1')).statusCode).toBe(303);
    for (const number of ['0', 'x', '999999', '99999999999', '1.5'])
      expect((await s.visit(wren, `/kilns/loads/${number}`)).statusCode).toBe(404);
  });

  it('refuses members every act', async () => {
    const { number, ida: own } = await aLoad();
    const fields = { version: await version(number), piece: String(own[0]), reason: 'x', level: '1' };
    for (const act of [
      'approve',
      'cancel',
      'repack',
      'schedule',
      'move',
      'unpin',
      'load/reopen',
      'load/finish',
    ])
      expect((await post(number, act, fields, ida)).statusCode, act).toBe(403);
    for (const act of ['move', 'put-in', 'take-out', 'leave-out', 'pin', 'unpin'])
      expect((await post(number, `pieces/${own[0]}/${act}`, fields, ida)).statusCode, act).toBe(403);
    expect((await s.visit(ida, `/kilns/loads/${number}/pieces/${own[0]}`)).statusCode).toBe(403);
    expect((await s.visit(ida, `/kilns/loads/${number}/load`)).statusCode).toBe(403);
  });
});

describe('moving a piece', () => {
  it('picks a level and a lettered place, all by plain forms', async () => {
    const made = await aLoad();
    const piece = made.ida[0] as number;
    const page = (await s.visit(wren, `/kilns/loads/${made.number}/pieces/${piece}`)).body;
    expect(page).toContain('>A</text>');
    expect(page).toMatch(/class="piece is-chosen"[^>]*data-piece="\d+"/);
    const form =
      /<form[^>]*action="([^"]+\/move)"[^>]*>(?:(?!<\/form>).)*name="xMm"(?:(?!<\/form>).)*>A<(?:(?!<\/form>).)*<\/form>/s.exec(
        page,
      );
    const fields = Object.fromEntries(
      [...(form?.[0] ?? '').matchAll(/name="(\w+)" value="([^"]*)"/g)].map(([, name, value]) => [
        name,
        value,
      ]),
    ) as Record<string, string>;
    const answer = await s.submit(wren, form?.[1] ?? '', fields);
    expect(answer.headers.location).toBe(`/kilns/loads/${made.number}?did=move&piece=${piece}#level-1`);
    const moved = (await load(made.number)).pieces.find(({ number }) => number === piece);
    expect(moved?.xMm).toBeCloseTo(Number(fields.xMm));
    expect(moved?.yMm).toBeCloseTo(Number(fields.yMm));
    const after = await s.visit(wren, answer.headers.location as string);
    expect(after.body).toContain(`Piece ${piece} moved.`);
  });

  it('is typed in whole millimetres, and keeps to the last digit what is left as it was shown', async () => {
    const made = await aLoad();
    const [piece] = made.ida as [number];
    const at = async () => (await load(made.number)).pieces.find(({ number }) => number === piece);
    const before = await at();
    if (!before) throw new Error('It is in the load.');
    const { xMm, yMm } = before;
    expect(Number.isInteger(xMm) && Number.isInteger(yMm), 'the packer left it on whole millimetres').toBe(
      false,
    );
    const { body } = await s.visit(wren, `/kilns/loads/${made.number}/pieces/${piece}`);
    const form =
      /<form[^>]*>(?:(?!<\/form>).)*id="place-xMm"(?:(?!<\/form>).)*<\/form>/s.exec(body)?.[0] ?? '';
    const inputs = [...form.matchAll(/<input[^>]*>/g)].map(([input]) => input);
    const shownIn = (name: string) =>
      /value="([^"]*)"/.exec(inputs.find((input) => input.includes(`name="${name}"`)) ?? '')?.[1] ?? '';
    const shown = Object.fromEntries(['xMm', 'yMm', 'wasXMm', 'wasYMm'].map((name) => [name, shownIn(name)]));
    expect(shown).toEqual({
      xMm: String(Math.round(xMm)),
      yMm: String(Math.round(yMm)),
      wasXMm: String(xMm),
      wasYMm: String(yMm),
    });
    const { part, level, turned } = before;
    const where = { piece: String(piece), part, level: String(level), ...(turned && { turned: 'yes' }) };
    const same = await post(made.number, `pieces/${piece}/move`, { ...where, ...shown });
    expect(same.statusCode).toBe(303);
    expect(await at()).toMatchObject({ xMm, yMm });
  });

  it('is refused in words, keeps what was typed, and leaves the piece where it was', async () => {
    const made = await aLoad();
    const [piece, other] = made.ida as [number, number];
    const before = await load(made.number);
    const there = before.pieces.find(({ number }) => number === other);
    const fields = {
      piece: String(piece),
      part: 'full',
      level: '1',
      xMm: String((there?.xMm ?? 0) + 20),
      yMm: String(there?.yMm ?? 0),
    };
    for (const act of [`pieces/${piece}/move`, 'move']) {
      const answer = await post(made.number, act, fields);
      expect(answer.statusCode).toBe(422);
      expect(answer.body).toContain('class="flash is-do-not-use"');
    }
    const page = await post(made.number, `pieces/${piece}/move`, fields);
    expect(page.body).toContain('It stays where it is.');
    expect(page.body).toContain(`value="${fields.xMm}"`);
    expect((await load(made.number)).load.version).toBe(before.load.version);
  });

  it('tells who was faster', async () => {
    const made = await aLoad();
    const seen = await version(made.number);
    const maro = s.people.manager;
    await post(made.number, `pieces/${made.ida[0]}/pin`, { piece: String(made.ida[0]), level: '1' }, maro);
    const fields = { piece: String(made.ida[1]), version: seen };
    for (const headers of [{}, PARTIAL]) {
      const late = await post(made.number, `pieces/${made.ida[1]}/take-out`, fields, wren, headers);
      expect(late.statusCode).toBe(409);
      expect(late.body).toContain('Maro changed this load a moment ago: look again.');
    }
    // What is gone meanwhile has no page of its own: the reason is said on the load's page.
    await post(made.number, `pieces/${made.ida[1]}/leave-out`, { piece: String(made.ida[1]) }, maro);
    const gone = await post(made.number, `pieces/${made.ida[1]}/take-out`, fields);
    expect(gone.statusCode).toBe(409);
    expect(gone.body).toContain('Maro changed this load a moment ago: look again.');
  });

  it('answers nonsense without falling over', async () => {
    const made = await aLoad();
    const piece = String(made.ida[0]);
    const good = { piece, part: 'full', level: '1', xMm: '0', yMm: '0' };
    const bads: Record<string, string>[] = [
      { xMm: 'NaN' },
      { xMm: '1e308' },
      { yMm: '' },
      { part: 'middle' },
      { part: 'left' },
      { level: '0' },
      { level: '99' },
      { piece: '999999' },
      { piece: '-1' },
      { version: '0' },
      { turned: 'maybe', yMm: '9999' },
    ];
    for (const bad of bads)
      expect([409, 422], JSON.stringify(bad)).toContain(
        (await post(made.number, `pieces/${piece}/move`, { ...good, ...bad })).statusCode,
      );
    for (const on of ['left-9', 'x', 'full-1&on=full-2', '%00'])
      expect((await s.visit(wren, `/kilns/loads/${made.number}/pieces/${piece}?on=${on}`)).statusCode).toBe(
        200,
      );
    for (const odd of ['0', 'x', '999999'])
      expect((await s.visit(wren, `/kilns/loads/${made.number}/pieces/${odd}`)).statusCode).toBe(404);
  });
});

describe('what is in a load', () => {
  it('goes out and comes in again by forms', async () => {
    const made = await aLoad();
    const [piece] = made.ida as [number];
    const fields = { piece: String(piece) };
    const out = await post(made.number, `pieces/${piece}/leave-out`, fields);
    expect((await s.visit(wren, out.headers.location as string)).body).toContain(
      `Piece ${piece} is left out of this load. It waits on.`,
    );
    expect((await s.visit(wren, `/kilns/loads/${made.number}`)).body).toContain(`Put ${piece} in`);
    const page = (await s.visit(wren, `/kilns/loads/${made.number}/pieces/${piece}`)).body;
    expect(page).toContain('Put it in where it fits best');
    const back = await post(made.number, `pieces/${piece}/put-in`, fields);
    expect(back.headers.location).toBe(`/kilns/loads/${made.number}?did=put-in&piece=${piece}`);
    expect((await load(made.number)).pieces.map(({ number }) => number)).toContain(piece);
  });

  it('is pinned, and packed again around the pin', async () => {
    const made = await aLoad();
    const piece = String(made.ida[0]);
    await post(made.number, `pieces/${piece}/pin`, { piece, level: '1' });
    expect((await s.visit(wren, `/kilns/loads/${made.number}`)).body).toContain(
      `Piece ${piece} stays on level 1.`,
    );
    const fields = { version: await version(made.number), key: `repack-${made.number}-once` };
    const packed = await s.submit(wren, `/kilns/loads/${made.number}/repack`, fields);
    expect(packed.headers.location).toBe(`/kilns/loads/${made.number}?did=repack`);
    // The same form again is answered the same, though the load is another now.
    const again = await s.submit(wren, `/kilns/loads/${made.number}/repack`, fields);
    expect(again.headers.location).toBe(packed.headers.location);
    expect((await load(made.number)).pieces.find(({ number }) => String(number) === piece)?.level).toBe(1);
    const unpinned = await post(made.number, 'unpin', { piece });
    expect(unpinned.headers.location).toContain('did=unpin');
  });
});

describe('from approval to a loaded kiln', () => {
  it('is one act with its checks, then level by level with a photo, then cancelled with a reason', async () => {
    const made = await aLoad();
    const at = `/kilns/loads/${made.number}`;
    const approved = await post(made.number, 'approve');
    expect(approved.headers.location).toBe(`${at}?did=approve`);
    expect((await post(made.number, 'approve')).statusCode).toBe(409);
    const page = (await s.visit(wren, at)).body;
    expect(page).toContain('One level at a time from the floor');

    const loading = (await s.visit(wren, `${at}/load`)).body;
    expect(loading).toContain('Tick only what is not in');
    const { levels, pieces } = await load(made.number);
    const [first, ...others] = [...levels].sort(
      (a, b) => a.baseMm - b.baseMm || a.part.localeCompare(b.part),
    );
    const on = (shelf: typeof first) => ({ part: String(shelf?.part), level: String(shelf?.level) });
    const missing = pieces.find(({ level }) => level === first?.level)?.number as number;
    const fields = { ...on(first), notIn: String(missing) };
    const without = await upload(s, wren, `${at}/load`, fields, null);
    expect(without.statusCode).toBe(422);
    expect(without.body).toContain('Take a photo of this level before the next shelf goes on');
    expect(without.body).toMatch(new RegExp(`name="notIn" value="${missing}" checked`));
    const notAPhoto = await upload(s, wren, `${at}/load`, fields, { bytes: Buffer.from('hello') });
    expect(notAPhoto.statusCode).toBe(422);
    // A photo that came with a form which was refused for something else is kept.
    const odd = await upload(s, wren, `${at}/load`, { ...fields, notIn: '999999' }, { bytes: photo });
    expect(odd.statusCode).toBe(422);
    expect(odd.body).toContain('This photo is kept');
    const kept = /name="kept" value="([0-9a-f]{64})"/.exec(odd.body)?.[1] ?? '';
    const ticked = await upload(s, wren, `${at}/load`, { ...fields, kept }, null);
    expect(ticked.headers.location).toBe(`${at}/load`);

    expect((await s.visit(wren, `${at}/load`)).body).toContain(`all but ${missing}`);
    const reopened = await s.submit(wren, `${at}/load/reopen`, on(first));
    expect(reopened.statusCode).toBe(303);
    expect((await s.submit(wren, `${at}/load/finish`, {})).statusCode).toBe(409);
    for (const shelf of [first, ...others])
      await upload(s, wren, `${at}/load`, { ...on(shelf), why: 'Camera is flat' }, null);
    const full = (await s.visit(wren, `${at}/load`)).body;
    expect(full).toContain('Every level is in');
    expect(full).toContain('no photo: Camera is flat');
    const finished = await s.submit(wren, `${at}/load/finish`, {});
    expect(finished.headers.location).toBe(`${at}?did=loaded`);
    const loaded = (await s.visit(wren, finished.headers.location as string)).body;
    expect(loaded).toContain('The list before firing');
    expect(loaded).toContain('Shelves and pots in the middle are hotter than the probe.');
    expect((await s.visit(wren, `${at}/load`)).headers.location).toBe(at);

    expect((await post(made.number, 'cancel', { reason: ' ' })).body).toContain('Write something here.');
    const cancelled = await post(made.number, 'cancel', { reason: 'Element broken' });
    expect(cancelled.headers.location).toBe(`${at}?did=cancel`);
    const end = (await s.visit(wren, at)).body;
    expect(end).toContain('cancelled · glaze');
    expect(end).toContain('Element broken');
    expect((await s.visit(ida, at)).body).not.toContain('Element broken');
  });
});

describe('the load sheet', () => {
  it('holds all that is needed at the kiln, on paper', async () => {
    const made = await aLoad(30, 20);
    const { levels, pieces } = await load(made.number);
    const { body } = await s.visit(wren, `/kilns/loads/${made.number}/sheet`);
    expect(levels.length).toBeGreaterThan(1);
    expect(body).toContain('class="load-sheet"');
    expect(body).toMatch(/\d+ posts of \d+ mm/);
    expect(body).toMatch(/Then 3 posts of \d+ mm and the next shelf\./);
    expect(body).toContain('Nothing goes above it.');
    expect(body).toContain('Tomas');
    for (const { number } of pieces) expect(body).toContain(`>${number}<`);
    const members = (await s.visit(ida, `/kilns/loads/${made.number}/sheet`)).body;
    expect(members).not.toContain('Tomas');
  });
});
