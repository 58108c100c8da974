import { ClayFormPage, ClaysPage } from '../../../views/ware/clays.tsx';
import type { Act } from '../../core/actor.ts';
import type { Typed } from '../../core/forms.ts';
import { numberIn } from '../../core/param.ts';
import { may } from '../../core/policy.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { newestAbsorptions } from '../service/bisque.ts';
import {
  addClay,
  type Clay,
  changeClay,
  clayForm,
  findClay,
  listClays,
  retireClay,
  reviveClay,
} from '../service/clays.ts';

export async function showClays(visit: Visit): Promise<Answer> {
  const mayEdit = may(visit.caller.role, 'ware.edit');
  const [clays, absorbed] = await Promise.all([
    listClays(visit.read, { withRetired: mayEdit }),
    newestAbsorptions(visit.read),
  ]);
  return page(
    'Clays',
    'ware',
    <ClaysPage clays={clays} absorbed={absorbed} mayEdit={mayEdit} done={done(visit, clays)} />,
  );
}

const DONE: Record<string, (clay: Clay) => string> = {
  saved: ({ name }) => `${name} is saved.`,
  retired: ({ name }) => `${name} is no longer offered.`,
  revived: ({ name }) => `${name} is offered again.`,
};

function done(visit: Visit, clays: Clay[]): string | null {
  const clay = clays.find(({ id }) => String(id) === visit.query.clay);
  const did = String(visit.query.done);
  return clay && Object.hasOwn(DONE, did) ? (DONE[did]?.(clay) ?? null) : null;
}

export async function showNewClay(form: FormState = emptyForm()): Promise<Answer> {
  return page('New clay', 'ware', <ClayFormPage clay={null} form={form} newKey={randomSecret()} />);
}

export const makeClay = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showNewClay(form),
    async () => {
      const command = visit.form(clayForm);
      const id = await visit.act((act) => addClay(act, command));
      return go(`/clays?clay=${id}&done=saved`);
    },
  );

export async function showClay(visit: Visit, form?: FormState): Promise<Answer> {
  const clay = await findClay(visit.read, clayId(visit));
  const shown = form ?? emptyForm(typedFrom(clay));
  return page(clay.name, 'ware', <ClayFormPage clay={clay} form={shown} newKey={randomSecret()} />);
}

export const saveClay = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showClay(visit, form),
    async () => {
      const id = clayId(visit);
      const command = visit.form(clayForm);
      await visit.act((act) => changeClay(act, id, command));
      return go(`/clays?clay=${id}&done=saved`);
    },
  );

const onClay =
  (work: (act: Act, id: number) => Promise<void>, said: string) =>
  async (visit: Visit): Promise<Answer> => {
    const id = clayId(visit);
    await visit.act((act) => work(act, id));
    return go(`/clays?clay=${id}&done=${said}`);
  };

export const takeClayOut = onClay(retireClay, 'retired');
export const bringClayBack = onClay(reviveClay, 'revived');

/** The address of an act on a clay, opened by itself, leads to the clays. */
export const backToClays = async (): Promise<Answer> => go('/clays');

const clayId = (visit: Visit): number => numberIn(visit, 'id', 'There is no such clay.');

const typedFrom = (clay: Clay): Typed => ({
  name: clay.name,
  maxCone: clay.maxCone,
  bisqueCone: clay.bisqueCone,
  bisqueProgramme: clay.bisqueProgramme,
  absorptionLow: clay.band === null ? '' : String(clay.band.low),
  absorptionHigh: clay.band === null ? '' : String(clay.band.high),
  dryShrinkPercent: String(clay.dryShrinkPercent),
  firedShrinkPercent: String(clay.firedShrinkPercent),
  note: clay.note,
});
