import { FloatSheetPage } from '../../../views/buckets/float-sheet.tsx';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { findFloat, listBuckets } from '../service/index.ts';
import { readerOf } from './reader.ts';

/** Where every bucket's lines go on a float, to print. */
export async function showFloatSheet(visit: Visit): Promise<Answer> {
  const [float, buckets] = await Promise.all([
    findFloat(visit.read, visit.param('code')),
    listBuckets(visit.read),
  ]);
  return page(
    `Lines for ${float.name}`,
    'wall',
    <FloatSheetPage float={float} buckets={buckets} reader={readerOf(visit)} />,
  );
}
