import { GearPage } from '../../../views/buckets/gear.tsx';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { addCup, cupBody, listCups, retireCup } from '../service/index.ts';

export async function showGear(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const cups = await listCups(visit.read);
  const added = cups.find(({ code }) => code === visit.query.added) ?? null;
  return page('Cups', 'wall', <GearPage cups={cups} added={added} form={form} newKey={randomSecret()} />);
}

export const saveCup = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showGear(visit, form),
    async () => {
      const cup = visit.form(cupBody);
      await visit.act((act) => addCup(act, cup));
      return go(`/gear?added=${cup.code}`);
    },
  );

export async function takeOutOfUse(visit: Visit): Promise<Answer> {
  await visit.act((act) => retireCup(act, visit.param('code')));
  return go('/gear');
}
