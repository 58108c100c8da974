import { z } from 'zod';
import { BisquePage, ROWS, StrikeTestPage } from '../../../views/ware/bisque.tsx';
import { Doubtful, type FieldError, Invalid } from '../../core/errors.ts';
import { choice, parse, type Typed } from '../../core/forms.ts';
import { beforeIn, numberIn } from '../../core/param.ts';
import { may } from '../../core/policy.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { BISQUE_METHODS } from '../bisque.ts';
import {
  aboutTest,
  bisqueTestBody,
  boiledSpecimen,
  findBisqueTest,
  keepBisqueTest,
  listBisqueTests,
  soakedSpecimen,
  strikeBisqueTest,
  strikeTestForm,
  wallFigures,
} from '../service/bisque.ts';
import { findClay } from '../service/clays.ts';
import { readerOf } from './reader.ts';

const DONE: Record<string, string> = {
  kept: 'The test is kept.',
  struck: 'Struck out. It counts no longer.',
};

/** What the bisque of a clay absorbs. */
export async function showBisque(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const { read } = visit;
  const id = clayId(visit);
  const before = beforeIn(visit);
  const [clay, { tests, next }, wall] = await Promise.all([
    findClay(read, id),
    listBisqueTests(read, id, { before }),
    wallFigures(read, id),
  ]);
  const paged = { isFirst: before === null, next };
  return page(
    `Bisque of ${clay.name}`,
    'ware',
    <BisquePage
      clay={clay}
      mayEdit={may(visit.caller.role, 'ware.edit')}
      tests={tests}
      paged={paged}
      wall={wall}
      done={visit.done(DONE)}
      form={form}
      reader={readerOf(visit)}
    />,
  );
}

/** Keeps a test. */
export const saveTest = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showBisque(visit, form),
    async () => {
      const id = clayId(visit);
      const { method } = visit.form(z.object({ method: choice(BISQUE_METHODS) }));
      const { rows, specimens } = rowsIn(visit, method);
      const about = visit.form(z.object(aboutTest));
      const body = parse(bisqueTestBody, { method, ...about, specimens });
      await visit.act(async (act) => {
        await besideRows(keepBisqueTest(act, id, body), rows);
        return null;
      });
      return go(`/clays/${id}/bisque?done=kept`);
    },
  );

/** Masses are typed into numbered rows, dryGrams1, saturatedGrams1 and so on; empty rows are left out. */
function rowsIn(visit: Visit, method: (typeof BISQUE_METHODS)[number]) {
  const schema = method === 'boiled' ? boiledSpecimen : soakedSpecimen;
  const names = Object.keys(schema.shape);
  const errors: FieldError[] = [];
  const rows: number[] = [];
  const specimens: unknown[] = [];
  for (let row = 1; row <= ROWS; row++) {
    const typed: Typed = Object.fromEntries(names.map((name) => [name, visit.typed[`${name}${row}`]]));
    if (Object.values(typed).every((value) => [value ?? ''].flat().join('').trim() === '')) continue;
    try {
      specimens.push(visit.form(schema, typed));
      rows.push(row);
    } catch (error) {
      if (!(error instanceof Invalid)) throw error;
      errors.push(...error.errors.map(({ path, message }) => ({ path: `${path}${row}`, message })));
    }
  }
  if (errors.length > 0) throw new Invalid(errors);
  if (rows.length === 0) throw new Invalid([{ path: 'dryGrams1', message: 'Weigh at least one specimen.' }]);
  return { rows, specimens };
}

/** The same refusal with the fields as the form's rows name them. */
async function besideRows<T>(work: Promise<T>, rows: readonly number[]): Promise<T> {
  const there = (path: string) => {
    const [, at, name] = /^specimens\.(\d+)\.(\w+)$/.exec(path) ?? [];
    return name === undefined ? path : `${name}${rows[Number(at)] ?? ''}`;
  };
  try {
    return await work;
  } catch (error) {
    if (error instanceof Invalid)
      throw new Invalid(error.errors.map(({ path, message }) => ({ path: there(path), message })));
    const [odd] = error instanceof Doubtful ? error.errors : [];
    throw odd ? new Doubtful(there(odd.path), odd.message) : error;
  }
}

/** Asks why a test does not count. */
export async function showStrikeTest(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const [id, number] = [clayId(visit), testId(visit)];
  const [clay, test] = await Promise.all([findClay(visit.read, id), findBisqueTest(visit.read, id, number)]);
  return page(
    'Strike out',
    'ware',
    <StrikeTestPage clay={clay} test={test} form={form} reader={readerOf(visit)} />,
  );
}

/** Strikes a test out. */
export const strikeTest = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showStrikeTest(visit, form),
    async () => {
      const id = clayId(visit);
      const command = visit.form(strikeTestForm);
      await visit.act(async (act) => {
        await strikeBisqueTest(act, id, testId(visit), command);
        return null;
      });
      return go(`/clays/${id}/bisque?done=struck`);
    },
  );

const clayId = (visit: Visit): number => numberIn(visit, 'id', 'There is no such clay.');
const testId = (visit: Visit): number => numberIn(visit, 'test', 'There is no such test of this clay.');
