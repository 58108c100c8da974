import { FactorsPage, ItemsPage, LinesPage, RulesPage } from '../../../views/fees/price-edit.tsx';
import { Conflict, Invalid } from '../../core/errors.ts';
import type { Typed } from '../../core/forms.ts';
import { numberIn } from '../../core/param.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { rowCount, wantsMoreRows } from '../../kilns/typed-rows.ts';
import {
  factorsAsTyped,
  itemsAsTyped,
  linesAsTyped,
  readFactors,
  readItems,
  readLines,
  readRules,
  rulesAsTyped,
} from '../price-rows.ts';
import { feeSettings } from '../service/settings.ts';
import { changeTariff, draftFingerprint, findTariff, type TariffNow } from '../service/tariffs.ts';
import type { Tariff } from '../tariff.ts';
import { feeReader, seenIn, sentBack } from './reader.ts';

export const listNumber = (visit: Visit): number => numberIn(visit, 'number', 'There is no such price list.');

async function draftOf(visit: Visit, form: FormState | undefined) {
  const [list, { classes }] = await Promise.all([
    findTariff(visit.read, listNumber(visit)),
    feeSettings(visit.read),
  ]);
  if (list.isInForce)
    throw new Conflict(`Price list ${list.number} is in force and stays as it is: make a new version of it.`);
  return { list, classes, seen: seenIn(form, draftFingerprint(list, classes)), reader: feeReader(visit) };
}

const title = (list: TariffNow) => `Change ${list.name}`;

export async function showRules(visit: Visit, form?: FormState): Promise<Answer> {
  const draft = await draftOf(visit, form);
  const { list, classes } = draft;
  const state = form ?? emptyForm(rulesAsTyped(list, classes, visit.studio.currency));
  return page(title(list), 'fees', <RulesPage {...draft} form={state} />);
}

export const saveRules = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showRules(visit, form),
    async () => {
      const number = listNumber(visit);
      const { classes } = await feeSettings(visit.read);
      const { rules, ...rest } = readRules(visit.typed, visit.formSetting, classes);
      await visit.act((act) =>
        changeTariff(
          act,
          number,
          ({ value }) => ({ ...rest, value: { ...value, ...rules } }),
          sentBack(visit.typed),
        ),
      );
      return go(`/fees/prices/${number}?done=saved`);
    },
  );

export async function showLines(visit: Visit, form?: FormState): Promise<Answer> {
  const draft = await draftOf(visit, form);
  const { list } = draft;
  const state = form ?? emptyForm(linesAsTyped(list.value.lines, visit.studio.currency));
  return page(
    title(list),
    'fees',
    <LinesPage
      {...draft}
      form={state}
      rows={rowCount(state.typed, ['code', 'name', 'way'], { least: 2, spare: 1, most: 20 })}
    />,
  );
}

export async function showFactors(visit: Visit, form?: FormState): Promise<Answer> {
  const draft = await draftOf(visit, form);
  const { list } = draft;
  const state = form ?? emptyForm(factorsAsTyped(list.value.factors));
  return page(
    title(list),
    'fees',
    <FactorsPage
      {...draft}
      form={state}
      rows={rowCount(state.typed, ['name', 'factor'], { least: 2, spare: 1, most: 40 })}
    />,
  );
}

export async function showItems(visit: Visit, form?: FormState): Promise<Answer> {
  const draft = await draftOf(visit, form);
  const { list } = draft;
  const state = form ?? emptyForm(itemsAsTyped(list.value.items, visit.studio.currency));
  return page(
    title(list),
    'fees',
    <ItemsPage
      {...draft}
      form={state}
      rows={rowCount(state.typed, ['code', 'name', 'kind'], { least: 2, spare: 1, most: 40 })}
    />,
  );
}

/** Saves one list of rows; what does not go together in the whole comes back beside the field it was typed into. */
const savePart =
  <K extends 'lines' | 'factors' | 'items'>(
    part: K,
    show: (visit: Visit, form?: FormState) => Promise<Answer>,
    read: (typed: Typed, visit: Visit) => { value: Tariff[K]; fieldOf: Map<string, string> },
  ) =>
  (visit: Visit): Promise<Answer> =>
    wantsMoreRows(visit.typed)
      ? show(visit, emptyForm(visit.typed))
      : visit.submit(
          (form) => show(visit, form),
          async () => {
            const number = listNumber(visit);
            const { value, fieldOf } = read(visit.typed, visit);
            try {
              await visit.act((act) =>
                changeTariff(
                  act,
                  number,
                  (list) => ({ value: { ...list.value, [part]: value } }),
                  sentBack(visit.typed),
                ),
              );
            } catch (error) {
              if (!(error instanceof Invalid)) throw error;
              throw new Invalid(error.errors.map((one) => placed(one, fieldOf)));
            }
            return go(`/fees/prices/${number}?done=saved`);
          },
        );

function placed({ path, message }: { path: string; message: string }, fieldOf: Map<string, string>) {
  const field = fieldOf.get(path);
  return field ? { path: field, message } : { path: '', message: `Elsewhere on the list: ${message}` };
}

export const saveLines = savePart('lines', showLines, (typed, { formSetting }) =>
  readLines(typed, formSetting),
);
export const saveFactors = savePart('factors', showFactors, (typed, { formSetting }) =>
  readFactors(typed, formSetting),
);
export const saveItems = savePart('items', showItems, (typed, { formSetting }) =>
  readItems(typed, formSetting),
);
