import {
  isLabelSize,
  type Labelled,
  LabelsPage,
  type LabelsPageProps,
} from '../../../views/buckets/label.tsx';
import { printedAddress } from '../../core/address.ts';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { type BucketNow, findBucket, labelOf, listBuckets } from '../service/index.ts';

/** Labels of the buckets that were ticked, and a form to tick others. */
export async function showLabels(visit: Visit): Promise<Answer> {
  const all = await listBuckets(visit.read);
  const chosen = new Set([visit.query.code ?? []].flat());
  return labels(
    visit,
    all.filter(({ code }) => chosen.has(code)),
    { all },
  );
}

export async function showLabel(visit: Visit): Promise<Answer> {
  const bucket = await findBucket(visit.read, visit.param('code'));
  return labels(visit, [bucket], { only: bucket });
}

async function labels(
  visit: Visit,
  chosen: BucketNow[],
  from: Pick<LabelsPageProps, 'all' | 'only'>,
): Promise<Answer> {
  const { size } = visit.query;
  const labelled: Labelled[] = await Promise.all(
    chosen.map(async (bucket) => ({ ...bucket, hazards: await labelOf(visit.read, bucket) })),
  );
  return page(
    'Labels',
    'wall',
    <LabelsPage
      {...from}
      chosen={labelled}
      size={isLabelSize(size) ? size : 'sheet'}
      addressOf={(code) => printedAddress(visit.services.config, `/buckets/${code}`)}
      studio={visit.studio.name}
    />,
  );
}
