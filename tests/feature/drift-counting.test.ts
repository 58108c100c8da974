import { beforeAll, beforeEach, describe, expect, it } from 'vitest';
import type { KindPath } from '../../server/buckets/kinds.ts';
import { KINDS } from '../../server/buckets/kinds.ts';
import { findBucket, recordAct, showBucket, voidEvent } from '../../server/buckets/service/index.ts';
import { HOUR, MINUTE } from '../../server/core/clock.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';

// A reading that was not ticked as stirred counts if something stirred the bucket shortly before. Pages must say
// of each reading what the ledger made of it.

let studio: Studio;
let code: string;
beforeAll(async () => {
  studio = await aStudio();
});
beforeEach(async () => {
  code = await studio.aBucket();
  studio.clock.forward(HOUR);
});

const record = async (minutesAgo: number, path: KindPath, body: object) => {
  const happenedAt = new Date(studio.clock.now() - minutesAgo * MINUTE).toISOString();
  const { event } = await studio.as(studio.people.technician, (act) =>
    recordAct(act, code, path, KINDS[path].body.parse({ ...body, happenedAt }) as never),
  );
  return event.number;
};
const read = (minutesAgo: number) =>
  record(minutesAgo, 'readings', { method: 'hydrometer', value: 1.46, stirred: false, confirm: true });
const strike = (number: number) =>
  studio.as(studio.people.technician, (act) => voidEvent(act, code, number, 'Wrong bucket'));

/** What the trend and the ledger say of a reading, once both agree with the state that was folded. */
async function counts(number: number): Promise<boolean | undefined> {
  const { trend, ledger, bucket } = await studio.as(studio.people.member, (act) => showBucket(act, code));
  const shown = trend.events.find((e) => e.number === number)?.counts;
  expect(ledger.events.find((e) => e.number === number)?.counts).toBe(shown);
  expect(bucket.facts.readingNumber === number).toBe(shown);
  return shown;
}

describe('a reading that was not ticked as stirred', () => {
  it('does not count by itself', async () => {
    expect(await counts(await read(0))).toBe(false);
    const { body } = await studio.visit(studio.people.member, `/buckets/${code}`);
    expect(body).toContain('unstirred: not used');
  });

  it('counts up to two minutes after a stir, and not beyond', async () => {
    await record(10, 'stirs', {});
    expect(await counts(await read(8))).toBe(true);
    expect(await counts(await read(7.99))).toBe(false);
  });

  it('counts after "Stirred, dipping", not after an unstirred dipping', async () => {
    await record(10, 'dippings', { pieces: 1, stirred: false });
    expect(await counts(await read(9))).toBe(false);
    await record(8, 'dippings', { pieces: 1, stirred: true });
    expect(await counts(await read(7))).toBe(true);
  });

  it('does not count once the stir is struck out, nor when it came after', async () => {
    const stir = await record(10, 'stirs', {});
    const reading = await read(9);
    expect(await counts(reading)).toBe(true);
    await strike(stir);
    expect(await counts(reading)).toBe(false);
    await record(8.5, 'stirs', {});
    expect(await counts(reading)).toBe(false);
  });

  it('does not count by a stir of what was in the bucket before it was set up anew', async () => {
    await record(10, 'stirs', {});
    const setUp = await record(9.5, 'setup', { litres: 12, specificGravity: 1.46 });
    const reading = await read(9);
    expect(await counts(reading)).toBe(false);
    await strike(setUp);
    expect(await counts(reading)).toBe(true);
  });

  it('is drawn as one that counts, though its stir is too long ago for the rows shown', async () => {
    await record(50, 'stirs', {});
    const reading = await read(49);
    for (let i = 0; i < 14; i++) await record(40 - i, 'dippings', { pieces: 1, stirred: false });
    const { trend, ledger, bucket } = await studio.as(studio.people.member, (act) => showBucket(act, code));
    expect(ledger.events.some((e) => e.number === reading)).toBe(false);
    expect(trend.events.find((e) => e.number === reading)?.counts).toBe(true);
    expect(bucket.facts.readingNumber).toBe(reading);
    const { body } = await studio.visit(studio.people.member, `/buckets/${code}`);
    expect(body).toContain('Specific gravity from');
    expect(body).toContain(': 1 reading.');
    expect(body).not.toContain('not stirred');
    expect((await studio.as(studio.people.member, (act) => findBucket(act, code))).verdict.needs).toBeNull();
  });
});
