import {
  InductionsPage,
  NewInductionsPage,
  OwnInductionsPage,
  StrikeOutInductionPage,
} from '../../../views/safety/inductions.tsx';
import { RulesPage } from '../../../views/safety/rules.tsx';
import { beforeIn, numberIn } from '../../core/param.ts';
import { may } from '../../core/policy.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { studioDay } from '../../core/session.ts';
import {
  findInduction,
  giveInductions,
  inductionsForm,
  listInductions,
  listStandings,
  ownInductions,
  strikeOutForm,
  strikeOutInduction,
} from '../service/inductions.ts';
import { VERBS } from '../settings.ts';

const DONE: Record<string, string> = {
  noted: 'Noted. It counts from now on.',
  'struck-out': 'Struck out. It counts no longer.',
};

export async function showInductions(visit: Visit): Promise<Answer> {
  const { read, query } = visit;
  const [{ settings, people }, list] = await Promise.all([
    listStandings(read),
    listInductions(read, { before: beforeIn(visit) }),
  ]);
  return page(
    'Inductions',
    'safety',
    <InductionsPage
      settings={settings}
      people={people}
      verb={VERBS.find((one) => one === query.verb) ?? null}
      {...list}
      mayChoose={may(visit.caller.role, 'safety.settings')}
      done={visit.done(DONE)}
    />,
  );
}

export async function showNewInductions(visit: Visit, form?: FormState): Promise<Answer> {
  const { read, query } = visit;
  const [{ people }, today] = await Promise.all([listStandings(read), studioDay(read)]);
  const asked = emptyForm({ people: query.person, verbs: query.verb });
  return page(
    'Note inductions',
    'safety',
    <NewInductionsPage people={people} form={form ?? asked} today={today} newKey={randomSecret()} />,
  );
}

export const saveInductions = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showNewInductions(visit, form),
    async () => {
      const command = visit.form(inductionsForm);
      await visit.act((act) => giveInductions(act, command));
      return go('/safety/inductions?done=noted');
    },
  );

const idIn = (visit: Visit): number => numberIn(visit, 'id', 'There is no induction with this number.');

export async function showStrikeOut(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const induction = await findInduction(visit.read, idIn(visit));
  return page(
    'Strike out',
    'safety',
    <StrikeOutInductionPage induction={induction} form={form} newKey={randomSecret()} />,
  );
}

export const saveStrikeOut = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showStrikeOut(visit, form),
    async () => {
      const id = idIn(visit);
      await findInduction(visit.read, id);
      const command = visit.form(strikeOutForm);
      await visit.act((act) => strikeOutInduction(act, id, command));
      return go('/safety/inductions?done=struck-out');
    },
  );

export const showOwnInductions = async (visit: Visit): Promise<Answer> =>
  page('What you were shown', 'safety', <OwnInductionsPage {...(await ownInductions(visit.read))} />);

export async function showRules(visit: Visit): Promise<Answer> {
  const { verbs } = await ownInductions(visit.read);
  const own = verbs.find(({ verb }) => verb === 'common') ?? null;
  return page('The common rules', 'safety', <RulesPage own={own} />);
}
