import { ChartPage } from '../../../views/buckets/chart.tsx';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { showChart as findChart } from '../service/index.ts';
import { readerOf } from './reader.ts';

export async function showChart(visit: Visit): Promise<Answer> {
  const contents = await findChart(visit.read, visit.param('code'));
  return page(
    `Control chart of ${contents.bucket.name}`,
    'wall',
    <ChartPage {...contents} reader={readerOf(visit)} />,
  );
}
