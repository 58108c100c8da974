import { TagsPage } from '../../../views/ware/tags.tsx';
import { printedAddress } from '../../core/address.ts';
import { NotFound } from '../../core/errors.ts';
import { type Answer, emptyForm, type FormState, page, type Visit } from '../../core/routes.ts';
import { MOST_NUMBERS, numbersIn } from '../numbers.ts';
import { findOwn, type PieceNow } from '../service/now.ts';

/** Tags of the pieces that the address names: own ones, or anybody's for a technician. */
export async function showTags(visit: Visit): Promise<Answer> {
  const typed = [visit.query.pieces ?? ''].flat().join(', ');
  const numbers = numbersIn(typed);
  if (numbers === null)
    return tags(visit, [], refused(typed, `Numbers such as 12, 14-17; at most ${MOST_NUMBERS}.`));
  try {
    return tags(visit, await findOwn(visit.read, numbers), emptyForm());
  } catch (error) {
    if (!(error instanceof NotFound)) throw error;
    return tags(visit, [], refused(typed, error.message));
  }
}

const refused = (typed: string, message: string): FormState => ({
  typed: { pieces: typed },
  errors: [{ path: 'pieces', message }],
});

function tags(visit: Visit, pieces: PieceNow[], form: FormState): Answer {
  return page(
    'Rack tags',
    'ware',
    <TagsPage
      pieces={pieces}
      form={form}
      addressOf={(number) => printedAddress(visit.services.config, `/ware/${number}`)}
      studio={visit.studio.name}
    />,
    form.errors.length > 0 ? 422 : 200,
  );
}
