import { HazardsPage, NothingInside } from '../../../views/safety/hazards.tsx';
import { NotFound } from '../../core/errors.ts';
import { numberIn } from '../../core/param.ts';
import { may } from '../../core/policy.ts';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { hazardsOfBucket, hazardsOfRecipe } from '../service/classify.ts';

const NUMBER = /^[1-9]\d{0,8}$/;

const readerOf = ({ caller: { role } }: Visit) => ({
  mayPost: may(role, 'notices.post'),
  maySeeMaterials: may(role, 'materials.see'),
});

export async function showRecipeHazards(visit: Visit): Promise<Answer> {
  const id = numberIn(visit, 'id', 'There is no such recipe.');
  const { version } = visit.query;
  if (version !== undefined && !NUMBER.test(String(version)))
    throw new NotFound('There is no such version of this recipe.');
  const hazards = await hazardsOfRecipe(visit.read, id, version === undefined ? undefined : Number(version));
  return page(
    `Hazards of ${hazards.name}`,
    'safety',
    <HazardsPage hazards={hazards} reader={readerOf(visit)} />,
  );
}

export async function showBucketHazards(visit: Visit): Promise<Answer> {
  const { bucket, hazards } = await hazardsOfBucket(visit.read, visit.param('code'));
  const title = `Hazards of ${bucket.name}`;
  if (!hazards) return page(title, 'safety', <NothingInside bucket={bucket} />);
  return page(title, 'safety', <HazardsPage hazards={hazards} reader={readerOf(visit)} />);
}
