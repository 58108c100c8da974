import { beforeAll, describe, expect, it } from 'vitest';
import { listLoads } from '../../server/kilns/service/index.ts';
import { aKiln } from '../helpers/kilns.ts';
import { aClay, aProposal, nothingIsWrong, ownGroup, readAs, readyPieces } from '../helpers/loads.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
let wren: Person;
let ida: Person;
let clay: string;
let kiln: string;
beforeAll(async () => {
  s = await aStudio();
  ({ technician: wren, member: ida } = s.people);
  clay = await aClay(s);
  kiln = (await aKiln(s)).code;
});

const post = (path: string, body: object, who: Person | null = wren, headers = {}) =>
  s.api(who, 'POST', `/loads${path}`, body, headers);
const get = (path: string, who: Person | null = wren) => s.api(who, 'GET', `/loads${path}`);

async function ready(howMany = 3) {
  const firing = ownGroup();
  const numbers = await readyPieces(s, ida, { for: 'glaze', clay, cone: firing.cone, howMany });
  return { firing, numbers };
}

/** A proposed load of three bowls. */
async function aLoad() {
  const { firing, numbers } = await ready();
  return { load: await aProposal(s, { kiln, firing }), firing, numbers };
}

describe('a load by programs, from the proposal to the full kiln', () => {
  it('goes its way', async () => {
    const { firing, numbers } = await ready(4);
    const waiting = (await get('/waiting')).json().groups;
    const group = waiting.find((one: { cone: string }) => one.cone === firing.cone);
    expect(group).toMatchObject({
      ...firing,
      ready: 4,
      notReady: 0,
      inProposals: 0,
      kilns: [{ kiln, cannot: [] }],
    });

    const proposed = await post('/propose', { kiln, ...firing });
    expect(proposed.statusCode).toBe(201);
    const [load] = proposed.json().loads;
    expect(load).toMatchObject({
      state: 'proposed',
      version: 1,
      kiln,
      ...firing,
      pieces: 4,
      approvedAt: null,
    });
    expect(proposed.json().unplaced).toEqual([]);

    const page = (await get(`/${load.number}`)).json();
    expect(page.pieces.map((piece: { number: number }) => piece.number).sort()).toEqual([...numbers].sort());
    expect(page.checks).toHaveLength(6);
    const [piece] = page.pieces;
    const verb = async (name: string, body: object, status = 200) => {
      const answer = await post(`/${load.number}/${name}`, body);
      expect(answer.statusCode, answer.body).toBe(status);
      return answer.json();
    };
    expect(await verb('take-out', { piece: piece.number, version: 1, keepOut: true })).toMatchObject({
      pieces: 3,
      version: 2,
    });
    expect(await verb('put-in', { piece: piece.number, part: 'full', level: 1, version: 2 })).toMatchObject({
      pieces: 4,
    });
    const [other] = (await get(`/${load.number}`)).json().pieces;
    const place = { part: other.part, level: other.level, xMm: other.xMm, yMm: other.yMm };
    expect(await verb('move', { piece: other.number, ...place, version: 3 })).toMatchObject({ version: 4 });
    expect(await verb('pin', { piece: other.number, level: 1, version: 4 })).toMatchObject({ version: 5 });
    expect(await verb('pin', { piece: other.number, level: null, version: 5 })).toMatchObject({ version: 6 });
    expect(await verb('repack', { version: 6 })).toMatchObject({ version: 7, pieces: 4 });
    expect(await verb('approve', { version: 7 })).toMatchObject({ state: 'approved' });
    const [{ part, level }] = (await get(`/${load.number}`)).json().levels;
    await verb('load', { did: 'level', part, level }, 422);
    await verb('load', { did: 'level', part, level, why: 'No camera here', notIn: [numbers[0]] });
    await verb('load', { did: 'reopen', part, level });
    await verb('load', { did: 'level', part, level, why: 'No camera here' });
    expect(await verb('load', { did: 'finish' })).toMatchObject({ state: 'loaded' });
    expect(await verb('cancel', { reason: 'Only a try' })).toMatchObject({ state: 'cancelled' });
    await verb('cancel', { reason: 'Only a try' }, 409);
    await nothingIsWrong(s);
  });

  it('a retry with the same key does it once and answers the same, even when nothing waits any more', async () => {
    const { firing } = await ready(2);
    const before = (await listLoads(readAs(s, wren))).length;
    const body = { kiln, ...firing };
    const send = () => post('/propose', body, wren, { 'idempotency-key': 'proposal-1' });
    const first = await send();
    expect(first.statusCode).toBe(201);
    const [{ number }] = first.json().loads;
    await post(`/${number}/approve`, { version: 1 });
    expect((await post('/propose', body)).statusCode).toBe(409);
    const again = await send();
    expect(again.statusCode).toBe(201);
    expect(again.headers['idempotency-replayed']).toBe('true');
    expect(again.json()).toEqual(first.json());
    expect(await listLoads(readAs(s, wren))).toHaveLength(before + 1);
    const other = await post('/propose', { ...body, maxLoads: 2 }, wren, { 'idempotency-key': 'proposal-1' });
    expect(other.statusCode).toBe(422);
  });

  it('lists them by pages and by state', async () => {
    await aLoad();
    const first = (await get('?limit=2')).json();
    expect(first.loads).toHaveLength(2);
    const rest = (await get(`?limit=2&before=${first.next}`)).json();
    expect(rest.loads[0].number).toBeLessThan(first.next);
    const cancelled = (await get('?state=cancelled')).json().loads;
    expect(new Set(cancelled.map((load: { state: string }) => load.state))).toEqual(new Set(['cancelled']));
    expect((await get('?state=melted')).statusCode).toBe(422);
    expect((await get('?limit=0')).statusCode).toBe(422);
  });
});

describe('who may do what', () => {
  const ACTS = {
    approve: { version: 1 },
    load: { did: 'finish' },
    cancel: { reason: 'x' },
    move: { piece: 1, part: 'full', level: 1, xMm: 0, yMm: 0, version: 1 },
    'put-in': { piece: 1, version: 1 },
    'take-out': { piece: 1, version: 1 },
    pin: { piece: 1, level: 1, version: 1 },
    schedule: { schedule: 1, version: 1 },
    repack: { version: 1 },
  };

  it('members look, technicians do', async () => {
    const { load } = await aLoad();
    expect((await get('', ida)).statusCode).toBe(200);
    const page = (await get(`/${load}`, ida)).json();
    expect(page.pieces[0]).toMatchObject({ isMine: true, owner: 'Ida' });
    expect(page.checks).toEqual([]);
    expect((await get('/waiting', ida)).statusCode).toBe(403);
    for (const [name, body] of Object.entries(ACTS)) {
      expect((await post(`/${load}/${name}`, body, ida)).statusCode, name).toBe(403);
      expect((await post(`/${load}/${name}`, body, null)).statusCode, name).toBe(401);
      expect((await post(`/99999/${name}`, body)).statusCode, name).toBe(404);
    }
    expect(
      (await post('/propose', { kiln, kind: 'glaze', cone: '6', atmosphere: 'oxidation' }, ida)).statusCode,
    ).toBe(403);
    expect((await get(`/${load}`, null)).statusCode).toBe(401);
  });

  it('whatever is sent, nothing breaks and nothing is changed', async () => {
    const { load } = await aLoad();
    const before = (await get(`/${load}`)).json();
    const values = [null, '', 'x', -1, 0, 1.5, 1e9, 1e308, '1', [], {}, true, 'full', '\u0000', '½'];
    for (const [name, body] of Object.entries(ACTS)) {
      for (const field of Object.keys(body))
        for (const value of values) {
          if (field === 'reason' && typeof value === 'string' && value.trim() !== '' && value !== '\u0000')
            continue;
          const sent = { ...body, version: 999, [field]: value };
          if (!('version' in body)) delete (sent as { version?: number }).version;
          if (field === 'version' && value === 1) continue;
          const { statusCode } = await post(`/${load}/${name}`, sent);
          expect([400, 409, 422], `${name} ${field} ${JSON.stringify(value)}: ${statusCode}`).toContain(
            statusCode,
          );
        }
      expect((await post(`/${load}/${name}`, { ...body, more: 1 })).statusCode, name).toBe(422);
      expect((await post(`/${load}/${name}`, [] as never)).statusCode, name).toBe(422);
    }
    for (const number of ['0', '-1', 'x', '1.5', '9999999999', '%00']) {
      expect([404, 422, 400]).toContain((await get(`/${number}`)).statusCode);
    }
    for (const body of [
      {},
      { kiln },
      { kiln: 'x'.repeat(99), kind: 'glaze', cone: '6', atmosphere: 'oxidation' },
      { kiln, kind: 'glaze', cone: '99', atmosphere: 'oxidation' },
      { kiln, kind: 'raku', cone: '6', atmosphere: 'oxidation' },
      { kiln, kind: 'glaze', cone: '6', atmosphere: 'oxidation', maxLoads: 0 },
      { kiln, kind: 'glaze', cone: '6', atmosphere: 'oxidation', maxLoads: 1e6 },
      { kiln, kind: 'glaze', cone: '6', atmosphere: 'oxidation', alsoKilns: [kiln] },
    ])
      expect((await post('/propose', body)).statusCode, JSON.stringify(body)).toBe(422);
    expect((await get(`/${load}`)).json()).toEqual(before);
  });
});
