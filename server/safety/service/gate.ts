import { fillBucketGate } from '../../buckets/service/safety-gate.ts';
import { fillFileGate } from '../../core/files.ts';
import { fillKilnGate, fillKilnNotices } from '../../kilns/service/safety-gate.ts';
import { fillSheetYears } from '../../materials/service/sheet-years.ts';
import { fillFoodWords } from '../../ware/service/food-gate.ts';
import { foodLine } from '../food.ts';
import { mixtureOf } from './classify.ts';
import { rinsed } from './containers.ts';
import { foodAtCode, foodOfBucket, foodOfPiece } from './food.ts';
import { mustBeInducted } from './inductions.ts';
import { mayOpenPhoto } from './log-read.ts';
import { bucketsToRead, mustHaveRead, noticesAtCode, noticesOnKiln } from './notices.ts';
import { safetySettings } from './settings.ts';

/** What buckets, kilns and ware ask of safety, which they cannot know. */
export function fillSafetyGates(): void {
  fillBucketGate({
    async shown(read, code, bucket) {
      const [notices, food] = await Promise.all([noticesAtCode(read, code), foodAtCode(read, code, bucket)]);
      return { notices, food: food ? foodLine(food) : '' };
    },
    async label(read, bucket) {
      const { recipe } = bucket;
      const [mixture, food] = await Promise.all([
        recipe ? mixtureOf(read, recipe) : null,
        foodOfBucket(read, bucket),
      ]);
      return {
        signalWord: mixture?.signalWord ?? null,
        pictograms: mixture?.pictograms ?? [],
        hCodes: mixture?.hStatements ?? [],
        pCodes: mixture?.pStatements ?? [],
        supplement: mixture?.supplement ?? [],
        isPartUnknown: (mixture?.unknown.length ?? 1) > 0,
        food: food?.words ?? '',
      };
    },
    unread: bucketsToRead,
    async before(act, verb, bucket) {
      const inducted = mustBeInducted(act, verb);
      if (verb === 'add-water') return inducted;
      // Both are asked for in one round trip; of two refusals the induction comes first.
      const asked = await Promise.allSettled([inducted, mustHaveRead(act, bucket)]);
      for (const one of asked) if (one.status === 'rejected') throw one.reason;
    },
    after: rinsed,
  });
  fillFileGate(mayOpenPhoto);
  fillSheetYears(async (read) => (await safetySettings(read)).sheetYears);
  fillKilnGate(mustBeInducted);
  fillKilnNotices(noticesOnKiln);
  fillFoodWords(foodOfPiece);
}
