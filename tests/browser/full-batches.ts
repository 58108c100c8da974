import {
  abandonBatch,
  addTile,
  bucketBody,
  countersign,
  createBucketWithRecipe,
  planNewBatch,
  pourBatch,
  showBatch,
  weighLine,
} from '../../server/buckets/service/index.ts';
import { pictureIn } from '../../server/core/files.ts';
import type { RecipeLine } from '../../server/materials/recipe.ts';
import type { Studio } from '../helpers/studio.ts';
import { aPhoto } from '../helpers/upload.ts';

/** The numbers of batches, one a stage: begun, weighed, countersigned, used, abandoned. */
export const BATCHES = [1, 2, 3, 4, 5];

/** Batches of a bucket called MIXED, which holds the fourth, in every stage. */
export async function someBatches(studio: Studio, name: string, recipe: RecipeLine[]): Promise<void> {
  const { manager, technician } = studio.people;
  const command = { code: 'MIXED', name, capacityLitres: 25, target: { aim: 1.46 }, recipe };
  await studio.as(technician, (act) => createBucketWithRecipe(act, bucketBody.parse(command)));
  for (const number of BATCHES) {
    await studio.as(technician, async (act) => {
      await planNewBatch(act, { bucket: 'MIXED', litres: 7 });
      const { lines } = await showBatch(act, number);
      for (const { position } of number === 1 ? lines.slice(0, 2) : lines)
        await weighLine(act, number, { position, lot: name.slice(0, 40) });
    });
    if (number > 2) await studio.as(manager, (act) => countersign(act, number));
  }
  await studio.as(technician, async (act) => {
    await pourBatch(act, 4, { how: 'setup', bucket: 'MIXED', waterLitres: 4.5, note: name });
    await abandonBatch(act, 5, 'mis-weighed');
  });
}

/** Tiles of READY and of the bucket on test, with and without photos. */
export async function someTiles(studio: Studio, name: string): Promise<void> {
  const { technician } = studio.people;
  const picture = await pictureIn({ bytes: await aPhoto(300, 200), isTooLarge: false }, 'photo');
  await studio.as(technician, async (act) => {
    for (const over of [undefined, 'LONG', 'THICK'])
      await addTile(
        act,
        'READY',
        { clay: name, cone: '04', atmosphere: 'reduction', over, note: name },
        picture,
      );
    await addTile(act, 'READY', { clay: 'Buff stoneware', cone: '6' }, null);
    await addTile(act, 'MIXED', { clay: 'Buff stoneware', cone: '6', verdict: 'picture-only' }, picture);
    await addTile(act, 'MIXED', { clay: name, cone: '6', verdict: 'not-accepted' }, picture);
  });
}
