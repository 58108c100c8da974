import { expect, it } from 'vitest';
import { writeAndKill } from './mixed-writes.ts';

/** The demo starts four times, each as long as the machine takes for it. `npm run soak` does the same at length. */
it('mixed writes of twenty clients while everything is killed in turn: each act once, ledgers whole', {
  timeout: 900_000,
}, async () => {
  const outcome = await writeAndKill({
    writes: 300,
    clients: 20,
    seed: 20_261_128,
    between: [40, 70],
    kills: ['Node', 'a backend', 'Postgres'],
  });
  expect(outcome.wrong).toEqual([]);
  const acknowledged = Object.values(outcome.acknowledged).reduce((sum, n) => sum + n, 0);
  expect(acknowledged).toBeGreaterThan(280);
  for (const kind of [
    'reading',
    'stir',
    'top-up',
    'void',
    'pieces',
    'drying',
    'entry',
    'payment',
    'charge',
    'approve',
  ])
    expect(outcome.acknowledged[kind], kind).toBeGreaterThan(0);
  for (const times of Object.values(outcome.kills)) expect(times).toBeGreaterThan(0);
  expect(outcome.sentAgain).toBeGreaterThan(0);
});
