import { LoadsPage } from '../../../views/kilns/proposals.tsx';
import { Conflict } from '../../core/errors.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import type { LoadState } from '../load-fold.ts';
import {
  listKilns,
  listLoads,
  prepareProposal,
  proposals,
  proposeForm,
  saveProposals,
} from '../service/index.ts';
import { loadReaderOf, unlessRetried } from './load-reader.ts';

const LIVE: LoadState[] = ['proposed', 'approved', 'loaded', 'firing', 'cooling'];
const OLD: LoadState[] = ['unloaded', 'cancelled'];
const A_PAGE = 20;

/** What waits, what may be proposed of it, and every load there is. */
export async function showLoads(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const reader = loadReaderOf(visit);
  const before = numbersIn(visit.query.before)[0];
  const [groups, live, old, kilns] = await Promise.all([
    reader.mayPlan ? proposals(visit.read) : [],
    listLoads(visit.read, { states: LIVE }),
    listLoads(visit.read, { states: OLD, before, limit: A_PAGE + 1 }),
    listKilns(visit.read),
  ]);
  const shown = old.slice(0, A_PAGE);
  return page(
    'Loads',
    'kilns',
    <LoadsPage
      groups={groups}
      live={live}
      old={shown}
      older={old.length > A_PAGE ? (shown.at(-1)?.number ?? null) : null}
      isPaged={before !== undefined}
      hasKiln={kilns.length > 0}
      form={form}
      made={numbersIn(visit.query.made)}
      reader={reader}
    />,
  );
}

/** Whatever in an address is a number of a load or a piece. */
export const numbersIn = (typed: string | string[] | undefined): number[] =>
  [typed ?? []]
    .flat()
    .filter((one) => /^[1-9]\d{0,8}$/.test(one))
    .slice(0, 20)
    .map(Number);

/** Packs what waits while nobody is kept waiting, and stores what came of it. */
export const proposeLoad = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showLoads(visit, form),
    async () => {
      const { kiln, alsoKilns, maxLoads, exceptProposed, ...firing } = visit.form(proposeForm);
      const prepared = await unlessRetried(visit, () =>
        prepareProposal(visit.read, { kiln, alsoKilns, firing, maxLoads, exceptProposed }),
      );
      const { loads } = await visit.act((act) => saveProposals(act, prepared));
      const [only] = loads;
      if (only === undefined) throw new Conflict('Nothing came of it.');
      return go(
        loads.length === 1
          ? `/kilns/loads/${only}`
          : `/kilns/loads?${loads.map((one) => `made=${one}`).join('&')}`,
      );
    },
  );
