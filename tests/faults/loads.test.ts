import { chmod, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { packInWorker } from '../../server/kilns/packing/in-worker.ts';
import { listLoads, type Packer, prepareProposal, saveProposals } from '../../server/kilns/service/index.ts';
import { aKiln } from '../helpers/kilns.ts';
import { aClay, BISQUE, nothingIsWrong, readAs, readyPieces } from '../helpers/loads.ts';
import { aStudio } from '../helpers/studio.ts';
import { descendants, survivors } from './processes.ts';
import { runScript, type Service, startService } from './service.ts';

describe('the packer killed while it packs', () => {
  it('nothing is recorded, the service goes on, and the next try is packed', async () => {
    const s = await aStudio();
    const { technician, member } = s.people;
    const kiln = await aKiln(s);
    const clay = await aClay(s);
    for (const form of ['bowl', 'plate', 'vase'] as const)
      await readyPieces(s, member, { for: 'bisque', clay, form, howMany: 40 });
    const wish = { kiln: kiln.code, firing: BISQUE };
    const killing = new AbortController();
    const killed: Packer = (problem) => {
      const packing = packInWorker({ ...problem, timeLimitMs: 20_000 }, { signal: killing.signal });
      setTimeout(() => killing.abort(), 300);
      return packing;
    };
    await expect(prepareProposal(readAs(s, technician), wish, killed)).rejects.toMatchObject({
      status: 503,
      message: 'The packer stopped before it was done. Nothing was recorded: try again.',
    });
    expect(await listLoads(readAs(s, technician))).toEqual([]);
    await nothingIsWrong(s);
    const prepared = await prepareProposal(readAs(s, technician), wish);
    await s.as(technician, (act) => saveProposals(act, prepared));
    expect(await listLoads(readAs(s, technician))).toHaveLength(1);
    await nothingIsWrong(s);
  });
});

describe('the service killed between approving a load and filling it', () => {
  let dataDir: string;
  beforeEach(async () => {
    dataDir = await mkdtemp(join(tmpdir(), 'wareboard-loads-'));
    // For root, Postgres runs as another account: in a closed folder it would leave its cluster elsewhere.
    await chmod(dataDir, 0o755);
  });
  afterEach(() => rm(dataDir, { recursive: true, force: true }));

  async function tokenOf(email: string): Promise<string> {
    const command = runScript(['run', '--silent', 'token', '--', email], { DATA_DIR: dataDir });
    expect((await command.ended).code, command.output()).toBe(0);
    return command.output().trim().split('\n').at(-1) as string;
  }

  async function killNode(service: Service): Promise<void> {
    const family = descendants(service.process.pid as number);
    const node = family.find(({ name }) => /^(node|MainThread)$/.test(name));
    if (!node) throw new Error('no such process');
    process.kill(node.pid, 'SIGKILL');
    await service.ended;
    expect(await survivors(family)).toEqual([]);
  }

  /** The JSON routes of a running service, as the technician. */
  const client = (service: Service, token: string) => {
    const headers = { authorization: `Bearer ${token}`, 'content-type': 'application/json' };
    const asked = async (method: string, path: string, body?: object) => {
      const url = `${service.address}/api/v1${path}`;
      const answer = await fetch(url, { method, headers, ...(body && { body: JSON.stringify(body) }) });
      const said = (await answer.json()) as Record<string, never>;
      return { status: answer.status, said };
    };
    return {
      get: async (path: string) => (await asked('GET', path)).said as never,
      post: async (path: string, body: object = {}) => {
        const { status, said } = await asked('POST', path, body);
        expect(status, `${path}: ${JSON.stringify(said)}`).toBeLessThan(300);
        return said as never;
      },
    };
  };

  interface Seen {
    load: { state: string; version: number };
    levels: { part: string; level: number; loadedAt: string | null }[];
    pieces: { number: number; isIn: boolean | null }[];
  }

  it('starts again with the load approved and every piece in it, and goes on from there', async () => {
    let service = await startService('demo', { DATA_DIR: dataDir, PORT: '0' });
    const token = await tokenOf('technician@millrace.example');
    let api = client(service, token);
    await api.post('/kilns', {
      code: 'TRY',
      name: 'A kiln to try',
      opens: 'top',
      shelf: { shape: 'round', diameterMm: 450 },
      fullShelves: 4,
      shelfThicknessMm: 15,
      usableHeightMm: 600,
      posts: [{ heightMm: 100, count: 12 }],
      maxCone: '8',
      atmospheres: ['oxidation'],
      power: 'electric',
      kilowatts: 8,
    });
    const bowls = {
      form: 'bowl',
      howMany: 6,
      begins: 'drying',
      ownClay: 'From the river',
      kind: 'bisque',
      cone: '03',
    };
    const { numbers } = (await api.post('/pieces', bowls)) as { numbers: number[] };
    for (const number of numbers) {
      await api.post(`/pieces/${number}/dry`);
      await api.post(`/pieces/${number}/yes`, { trayMm: 5 });
    }
    const wish = { kiln: 'TRY', kind: 'bisque', cone: '03', atmosphere: 'oxidation' };
    const { loads } = (await api.post('/loads/propose', wish)) as { loads: { number: number }[] };
    const at = `/loads/${loads[0]?.number}`;
    await api.post(`${at}/approve`, { version: 1 });

    await killNode(service);
    service = await startService('demo', { DATA_DIR: dataDir, PORT: '0' });
    api = client(service, token);
    const page: Seen = await api.get(at);
    expect(page.load.state).toBe('approved');
    expect(page.pieces.map(({ number }) => number).sort((a, b) => a - b)).toEqual(numbers);
    const place = async (number: number) =>
      (await api.get(`/pieces/${number}`)) as { stage: string; load: number | null };
    for (const { number } of page.pieces) expect(await place(number)).toMatchObject({ stage: 'in-load' });

    const [first, ...others] = page.levels;
    const { part, level } = first as Seen['levels'][number];
    await api.post(`${at}/load`, { did: 'level', part, level, why: 'No camera' });
    await killNode(service);
    service = await startService('demo', { DATA_DIR: dataDir, PORT: '0' });
    api = client(service, token);
    const again: Seen = await api.get(at);
    expect(again.levels[0]?.loadedAt).not.toBeNull();
    expect(again.pieces.some(({ isIn }) => isIn)).toBe(true);
    for (const one of others)
      await api.post(`${at}/load`, { did: 'level', part: one.part, level: one.level, why: 'No camera' });
    await api.post(`${at}/load`, { did: 'finish' });
    await api.post(`${at}/cancel`, { reason: 'Only a try' });
    for (const number of numbers)
      expect(await place(number)).toMatchObject({ stage: 'waiting-bisque', load: null });
    service.process.kill('SIGTERM');
    await service.ended;
  }, 180_000);
});
