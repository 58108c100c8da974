import { BenchPosterPage } from '../../../views/ware/bench-poster.tsx';
import { NotFound } from '../../core/errors.ts';
import { numberOf } from '../../core/param.ts';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { routeSteps } from '../route.ts';
import { findRoute, wareSettings } from '../service/index.ts';

/** The whole way from bisque to the kiln, to hang on a wall; for one piece by its plan. */
export async function showPoster(visit: Visit): Promise<Answer> {
  const { piece } = visit.query;
  const number = numberOf(piece);
  if (piece !== undefined && number === null) throw new NotFound('There is no such piece of yours.');
  const [found, settings] = await Promise.all([
    number === null ? null : findRoute(visit.read, number),
    wareSettings(visit.read),
  ]);
  return page(
    'From bisque to the kiln',
    'ware',
    <BenchPosterPage
      steps={routeSteps(found?.route.plan ?? null, null)}
      number={number}
      settings={settings}
      studio={visit.studio.name}
    />,
  );
}
