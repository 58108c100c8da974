import { FoodTestPage, FoodTestsPage, NewTestPage, VoidTestPage } from '../../../views/safety/food.tsx';
import { documentIn } from '../../core/files.ts';
import { beforeIn, numberIn } from '../../core/param.ts';
import { may } from '../../core/policy.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { listRecipes } from '../../materials/service/index.ts';
import { listClays } from '../../ware/service/index.ts';
import { findTest, fromForm, listTests, recordTest, testForm, voidForm, voidTest } from '../service/food.ts';
import { safetySettings } from '../service/settings.ts';

const ROWS = 40;
const DONE: Record<string, string> = {
  kept: 'Kept. Buckets, labels and pieces say it from now on.',
  'struck-out': 'Struck out. It counts no longer.',
};

const mayRecord = ({ caller }: Visit): boolean => may(caller.role, 'food.record');

export async function showTests(visit: Visit): Promise<Answer> {
  const before = beforeIn(visit) ?? undefined;
  const list = await listTests(visit.read, { limit: ROWS, before });
  return page('Food contact', 'safety', <FoodTestsPage {...list} mayRecord={mayRecord(visit)} />);
}

export async function showNewTest(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const [recipes, clays, { leachRules }] = await Promise.all([
    listRecipes(visit.read),
    listClays(visit.read),
    safetySettings(visit.read),
  ]);
  return page(
    'A test for lead and cadmium',
    'safety',
    <NewTestPage recipes={recipes} clays={clays} rules={leachRules} form={form} newKey={randomSecret()} />,
  );
}

export const saveTest = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showNewTest(visit, form),
    async () => {
      const { mixed, ...typed } = visit.typed;
      const [recipe = '', version = ''] = String(mixed ?? '').split('.');
      const command = fromForm(visit.form(testForm, { ...typed, recipe, version }));
      const upload = visit.upload('report');
      const report = upload && documentIn(upload, 'report');
      const number = await visit.act((act) => recordTest(act, command, report));
      return go(`/safety/food/${number}?done=kept`);
    },
  );

const numberOf = (visit: Visit): number => numberIn(visit, 'number', 'There is no test with this number.');

export async function showTest(visit: Visit): Promise<Answer> {
  const test = await findTest(visit.read, numberOf(visit));
  return page(
    `Test ${test.number}`,
    'safety',
    <FoodTestPage test={test} mayRecord={mayRecord(visit)} done={visit.done(DONE)} />,
  );
}

export async function showVoid(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const test = await findTest(visit.read, numberOf(visit));
  return page('Strike out', 'safety', <VoidTestPage test={test} form={form} newKey={randomSecret()} />);
}

export const saveVoid = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showVoid(visit, form),
    async () => {
      const { reason } = visit.form(voidForm);
      const number = numberOf(visit);
      await visit.act((act) => voidTest(act, number, reason));
      return go(`/safety/food/${number}?done=struck-out`);
    },
  );
