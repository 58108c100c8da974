import { describe, expect, it } from 'vitest';
import { PackingStopped, packInWorker } from '../../server/kilns/packing/in-worker.ts';
import type { Problem } from '../../server/kilns/packing/problem.ts';

const problem: Problem = {
  shelf: { shape: 'round', diameterMm: 500 },
  usableHeightMm: 300,
  shelfThicknessMm: 10,
  pieceGapMm: 5,
  clearanceMm: 12,
  topClearanceMm: 40,
  posts: [],
  pieces: Array.from({ length: 60 }, (_, i) => ({
    id: `${i}`,
    footprint: { shape: 'circle', diameterMm: 60 + (i % 7) * 10 },
    heightMm: 80,
  })),
  timeLimitMs: 300,
};

/** Takes all of its time: 17 of these stand on the shelf, what is proven is that no 19 do. */
const endless: Problem = {
  ...problem,
  pieces: problem.pieces.map((piece) => ({ ...piece, footprint: { shape: 'circle', diameterMm: 100 } })),
  maxLoads: 1,
  timeLimitMs: 60_000,
};

describe('packing in a thread of its own', () => {
  it('brings the plan', async () => {
    const plan = await packInWorker(problem);
    expect(plan.loads.length).toBeGreaterThan(0);
    expect(plan.unplaced).toEqual([]);
  });

  it('leaves this thread free meanwhile', async () => {
    let turns = 0;
    const counting = setInterval(() => turns++, 1);
    await packInWorker(problem);
    clearInterval(counting);
    expect(turns).toBeGreaterThan(3);
  });

  it('runs one after another, and both come back', async () => {
    const order: string[] = [];
    const begins = () => order.push('begins');
    process.on('worker', begins);
    const [a, b] = await Promise.all(
      [1, 2].map(async () => {
        const plan = await packInWorker({ ...problem, iterations: 50 });
        order.push('ends');
        return plan;
      }),
    );
    process.off('worker', begins);
    expect(order).toEqual(['begins', 'ends', 'begins', 'ends']);
    expect(a?.loads).toEqual(b?.loads);
  });

  it('says so when it is called off, and the next one runs', async () => {
    const control = new AbortController();
    const long = packInWorker(endless, { signal: control.signal });
    const waiting = packInWorker(problem);
    setTimeout(() => control.abort(), 400);
    await expect(long).rejects.toMatchObject({ name: 'PackingStopped', reason: 'called off' });
    expect((await waiting).loads.length).toBeGreaterThan(0);
  });

  it('is called off before it starts as well', async () => {
    await expect(packInWorker(problem, { signal: AbortSignal.abort() })).rejects.toBeInstanceOf(
      PackingStopped,
    );
  });

  it('refuses a problem that makes no sense with the reason', async () => {
    const wrong = { ...problem, usableHeightMm: Number.NaN };
    await expect(packInWorker(wrong)).rejects.toThrow('usableHeightMm: must be more than 0');
  });

  it('rejects when the thread dies under it, and the next one runs', async () => {
    process.once('worker', (thread) => setTimeout(() => void thread.terminate(), 500));
    const killed = packInWorker(endless);
    const waiting = packInWorker(problem);
    await expect(killed).rejects.toMatchObject({ name: 'PackingStopped', reason: 'died' });
    expect((await waiting).loads.length).toBeGreaterThan(0);
  });
});
