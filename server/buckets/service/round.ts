import type { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { Doubtful, type FieldError, Invalid, Refusal } from '../../core/errors.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { fromStored } from '../events.ts';
import type { Entry, KINDS } from '../kinds.ts';
import { PROBLEMS } from '../problems.ts';
import { type Gear, type RoundBucket, type Why, whyCheck } from '../round.ts';
import * as roundStore from '../store/round.ts';
import * as store from '../store.ts';
import { arrange } from '../wall.ts';
import { listFloats } from './floats.ts';
import { listCups, listInstruments } from './gear.ts';
import { type BucketNow, bucketNow, factsOf } from './now.ts';
import { recordAct } from './record.ts';

/** A bucket on the wall with why it needs a check, if it does, and how it was last read. */
export interface RoundStop {
  bucket: BucketNow & RoundBucket;
  why: Why[];
  last: Entry | null;
}

/** Every bucket in wall order, by place and then by name, as the morning round looks at it. */
export async function lookRound(read: Read): Promise<RoundStop[]> {
  mustBeAllowed(read.actor, 'buckets.round');
  const { tx, now, actor } = read;
  const [rows, used, readings, problems] = await Promise.all([
    store.list(tx),
    roundStore.usedSinceReading(tx),
    roundStore.lastReadings(tx),
    store.openProblems(tx),
  ]);
  const all = rows.map((row): RoundStop['bucket'] => {
    const reported = problems.find(({ bucketId }) => bucketId === row.bucket.id);
    return {
      ...bucketNow(row, factsOf(row.state), actor.role, now),
      used: used.get(row.bucket.id) ?? { pieces: 0, litres: 0 },
      problem: reported ? PROBLEMS[reported.problem] : null,
    };
  });
  return arrange(all, { sort: 'place', cone: null, state: null })
    .flatMap(({ buckets }) => buckets)
    .map((bucket) => {
      const last = readings.get(bucket.id);
      return { bucket, why: whyCheck(bucket, now), last: last ? fromStored(last) : null };
    });
}

/** What the studio measures with. */
export async function listRoundGear(read: Read): Promise<Gear> {
  const [cups, floats, instruments] = await Promise.all([
    listCups(read),
    listFloats(read),
    listInstruments(read),
  ]);
  return { cups, floats, instruments };
}

/** A line of the clipboard sheet as it was typed in. */
export interface SheetRow {
  code: string;
  happenedAt: Instant;
  /** Somebody looked at it again: it is recorded though it is odd, or there already. */
  confirmed: boolean;
  reading: z.output<(typeof KINDS)['readings']['body']> | null;
  flow: z.output<(typeof KINDS)['flows']['body']> | null;
}

/**
 * Records a whole sheet, or nothing of it: what is wrong with any row is told for all of them at once, under
 * `number-CODE`, `flow-CODE`, `time-CODE` or, where a tick settles it, `confirm-CODE`.
 */
export async function recordSheet(act: Act, rows: SheetRow[]): Promise<void> {
  mustBeAllowed(act.actor, 'buckets.round');
  if (rows.length === 0) throw new Invalid('No number is filled in yet.');
  const ids = new Map((await store.list(act.tx)).map(({ bucket }) => [bucket.code, bucket.id]));
  const idOf = ({ code }: SheetRow) => ids.get(code) ?? 0;
  const errors: FieldError[] = [];
  // In the order of ids, as whoever locks several buckets does.
  for (const row of rows.toSorted((a, b) => idOf(a) - idOf(b))) {
    try {
      await recordRow(act, row, idOf(row));
    } catch (error) {
      // What refuses a row does so before anything of it is written.
      if (!(error instanceof Refusal)) throw error;
      errors.push(...errorsOf(row.code, error));
    }
  }
  if (errors.length > 0) throw new Invalid(errors);
}

async function recordRow(act: Act, row: SheetRow, bucketId: number): Promise<void> {
  const { code, happenedAt, confirmed, reading, flow } = row;
  if (!confirmed) {
    const kind = reading === null ? 'flow' : 'reading';
    const by = await roundStore.recorderAt(act.tx, bucketId, kind, happenedAt);
    if (by !== null)
      throw new Doubtful('', `One of this time is recorded already, by ${by}. Is this another?`);
  }
  if (reading) await recordAct(act, code, 'readings', reading);
  if (flow) await recordAct(act, code, 'flows', flow);
}

function errorsOf(code: string, refusal: Refusal): FieldError[] {
  const all = refusal.errors.length > 0 ? refusal.errors : [{ path: '', message: refusal.message }];
  return all.map(({ path, message }) => ({
    path: refusal instanceof Doubtful ? `confirm-${code}` : sheetField(path, code),
    message,
  }));
}

/** The field of the sheet that a field of a reading or a flow was typed into. */
export function sheetField(path: string, code: string): string {
  if (path === 'happenedAt') return `time-${code}`;
  return path === 'seconds' ? `flow-${code}` : `number-${code}`;
}
