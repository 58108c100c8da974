import { DAY, type Instant } from '../server/core/clock.ts';
import {
  countStock,
  deliver,
  disposeStock,
  listStock,
  setReorderLevel,
  takeStock,
} from '../server/materials/service/index.ts';
import type { By } from './ware.ts';

interface DemoDelivery {
  material: string;
  lot: string;
  kg: number;
  supplier: string;
  daysAgo: number;
  /** Days from now to its last good day. */
  goodFor?: number;
  reorderKg?: number;
}

const EARTHS = 'Ridgeway Earths';
const COLOURS = 'Fellmoor Minerals';

/** Invented suppliers; the lots are those that batches are weighed from. */
const DELIVERIES: DemoDelivery[] = [
  { material: 'Potash feldspar', lot: 'PF 0317', kg: 25, supplier: EARTHS, daysAgo: 21, reorderKg: 8 },
  { material: 'Silica', lot: 'S 88', kg: 25, supplier: EARTHS, daysAgo: 21, reorderKg: 10 },
  { material: 'Whiting', lot: 'W 12-4', kg: 12.5, supplier: COLOURS, daysAgo: 21, reorderKg: 5 },
  { material: 'Ball clay', lot: 'BC 951', kg: 25, supplier: EARTHS, daysAgo: 21 },
  { material: 'Kaolin', lot: 'K 20', kg: 25, supplier: EARTHS, daysAgo: 21, reorderKg: 5 },
  { material: 'Nepheline syenite', lot: 'NS 7', kg: 25, supplier: EARTHS, daysAgo: 21 },
  { material: 'Cobalt carbonate', lot: 'CC 41', kg: 0.5, supplier: COLOURS, daysAgo: 20, reorderKg: 0.5 },
  { material: 'Copper carbonate', lot: 'CU 19', kg: 1, supplier: COLOURS, daysAgo: 20, reorderKg: 0.5 },
  { material: 'Manganese dioxide', lot: 'MN 6', kg: 1, supplier: COLOURS, daysAgo: 20 },
  /** Takes up water and cakes. */
  { material: 'Soda ash', lot: 'SA 3', kg: 2, supplier: EARTHS, daysAgo: 20, goodFor: -12 },
];

/**
 * Deliveries of three weeks ago, with one lot that has expired since and one material that runs short. To be called once
 * recipes are written and before any batch is weighed.
 */
export async function fillStore(by: By, now: Instant): Promise<void> {
  const at = (days: number) => by('Wren', now - days * DAY);
  const ids = new Map((await listStock(at(21))).map(({ name, id }) => [name, id]));
  const idOf = (material: string): number => {
    const id = ids.get(material);
    if (id === undefined) throw new Error(`No recipe names ${material}.`);
    return id;
  };
  for (const { material, lot, kg, supplier, daysAgo, goodFor, reorderKg } of DELIVERIES) {
    const expiresOn =
      goodFor === undefined ? undefined : new Date(now + goodFor * DAY).toISOString().slice(0, 10);
    await deliver(at(daysAgo), idOf(material), { lot, kg, supplier, expiresOn });
    if (reorderKg !== undefined) await setReorderLevel(at(daysAgo), idOf(material), { kg: reorderKg });
  }
  await takeStock(at(12), idOf('Cobalt carbonate'), {
    lot: 'CC 41',
    kg: 0.12,
    confirm: false,
    note: 'Slip for the decorating class',
  });
  await countStock(at(9), idOf('Ball clay'), { lot: 'BC 951', kg: 23.4, note: 'Weighed with the bag' });
  await disposeStock(at(8), idOf('Manganese dioxide'), {
    lot: 'MN 6',
    kg: 0.05,
    confirm: false,
    note: 'Spilt, taken up wet, in the jar for the hazardous waste collection',
  });
}
