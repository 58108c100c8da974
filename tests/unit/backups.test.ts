import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { backupName, madeAt, toDrop } from '../../server/core/backups.ts';
import { DAY, HOUR } from '../../server/core/clock.ts';

const at = (day: string) => Date.parse(`${day}Z`);
const named = (day: string) => backupName(at(day));

describe('backups that need not be kept', () => {
  it('says when one was made by its name, to the minute', () => {
    expect(named('2026-11-28T03:07:59')).toBe('wareboard-2026-11-28-0307.backup');
    expect(madeAt('wareboard-2026-11-28-0307.backup')).toBe(at('2026-11-28T03:07:00'));
    for (const name of [
      'wareboard-2026-13-40-9999.backup',
      'wareboard-2026-11-28-0307.backup.part',
      'x.backup',
    ])
      expect(madeAt(name)).toBeNull();
  });

  it('keeps the newest of each of the last days and the first of each month', () => {
    const names = [
      named('2026-09-30T03:00:00'),
      named('2026-10-01T03:00:00'),
      named('2026-10-02T03:00:00'),
      named('2026-11-26T03:00:00'),
      named('2026-11-27T03:00:00'),
      named('2026-11-27T20:00:00'),
      named('2026-11-28T03:00:00'),
      'letter.txt',
    ];
    expect(toDrop(names, 2)).toEqual([named('2026-10-02T03:00:00'), named('2026-11-27T03:00:00')]);
  });

  it('never drops the newest, nor anything that is not its own, and comes to rest', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: 0, max: 800 * 24 }), { minLength: 1, maxLength: 60 }),
        fc.integer({ min: 1, max: 30 }),
        (hours, days) => {
          const names = [...new Set(hours.map((h) => backupName(h * HOUR)))];
          const drop = toDrop([...names, 'mine.backup'], days);
          const kept = names.filter((name) => !drop.includes(name));
          expect(drop).not.toContain('mine.backup');
          expect(kept).toContain(names.toSorted().at(-1));
          expect(toDrop(kept, days)).toEqual([]);
          const lastDays = new Set(names.toSorted().map((name) => Math.floor((madeAt(name) ?? 0) / DAY)));
          expect(kept.length).toBeGreaterThanOrEqual(Math.min(days, lastDays.size));
          expect(kept.length).toBeLessThanOrEqual(days + 12);
        },
      ),
    );
  });
});
