import { findBucket } from '../server/buckets/service/index.ts';
import { DAY, type Instant } from '../server/core/clock.ts';
import { recordTest, testBody } from '../server/safety/service/food.ts';
import { listClays } from '../server/ware/service/index.ts';
import type { By } from './ware.ts';

/** Invented figures of an invented laboratory. */
const TESTS = [
  {
    bucket: 'HG',
    daysAgo: 12,
    lead: [0.06],
    cadmium: [0.01],
    ware: { shape: 'mug', internalDepthMm: 92, volumeMl: 340 },
  },
  {
    bucket: 'QH',
    daysAgo: 6,
    lead: [4.9, 4.2, 4.4, 4.3],
    cadmium: [0.02, 0.02, 0.01, 0.02],
    ware: { shape: 'bowl', internalDepthMm: 65, volumeMl: 620 },
  },
];

const dayOf = (at: Instant): string => new Date(at).toISOString().slice(0, 10);

/** Two glazes that were sent to a laboratory: one passed, one is decorative only. */
export async function sendGlazesToTheLab(by: By, now: Instant): Promise<void> {
  for (const { bucket, daysAgo, ...figures } of TESTS) {
    const wren = by('Wren', now - daysAgo * DAY);
    const [{ facts }, clays] = await Promise.all([findBucket(wren, bucket), listClays(wren)]);
    const clay = clays.find(({ name }) => name === 'Buff stoneware');
    if (!facts.recipe || !clay) continue;
    const command = testBody.parse({
      ...figures,
      recipe: facts.recipe.id,
      version: facts.recipe.version,
      clay: clay.id,
      cone: '6',
      rules: 'eu-84-500',
      unit: 'mg/L',
      lab: 'Weir Lane Testing',
      testedOn: dayOf(now - (daysAgo + 4) * DAY),
    });
    await recordTest(wren, command, null);
  }
}
