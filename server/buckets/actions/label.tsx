import { isLabelSize, LabelsPage, type LabelsPageProps } from '../../../views/buckets/label.tsx';
import { printedAddress } from '../../core/address.ts';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { findBucket, listBuckets } from '../service/index.ts';

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

function labels(
  visit: Visit,
  chosen: LabelsPageProps['chosen'],
  from: Pick<LabelsPageProps, 'all' | 'only'>,
): Answer {
  const { size } = visit.query;
  return page(
    'Labels',
    'wall',
    <LabelsPage
      {...from}
      chosen={chosen}
      size={isLabelSize(size) ? size : 'sheet'}
      addressOf={(code) => printedAddress(visit.services.config, `/buckets/${code}`)}
      studio={visit.studio.name}
    />,
  );
}
