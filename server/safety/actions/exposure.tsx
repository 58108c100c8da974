import { ExposurePage } from '../../../views/safety/exposure.tsx';
import { type FieldError, Invalid } from '../../core/errors.ts';
import { readForm } from '../../core/forms.ts';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { gather, movedPaths, rowsIn } from '../../kilns/typed-rows.ts';
import {
  type ExposureCommand,
  exposureBody,
  type JudgedExposure,
  judgeExposure,
  taskBody,
} from '../service/exposure.ts';

const FIELDS = { hours: 'hours', concentration: 'air', basis: 'basis' } as const;
const limitForm = exposureBody.pick({ substance: true, limit: true });

/** Everything is in the address: nothing of it is kept. */
export async function showExposure(visit: Visit): Promise<Answer> {
  const { query } = visit;
  let judged: JudgedExposure | null = null;
  let errors: FieldError[] = [];
  try {
    if (query.asked !== undefined) judged = judgeExposure(visit.read, commandIn(visit));
  } catch (error) {
    if (!(error instanceof Invalid)) throw error;
    errors = error.errors;
  }
  return page(
    'Dust in the air',
    'safety',
    <ExposurePage judged={judged} form={{ typed: query, errors }} />,
    errors.length > 0 ? 422 : 200,
  );
}

function commandIn({ query, formSetting }: Visit): ExposureCommand {
  const errors: FieldError[] = [];
  const limit = gather(errors, () => readForm(limitForm, query, formSetting), null);
  // A row has its choice of basis whether or not it is used.
  const used = rowsIn(query, FIELDS).filter(({ typed }) => typed.hours || typed.concentration);
  const tasks = used.flatMap(({ number, typed }) =>
    gather(
      errors,
      () => [readForm(taskBody, typed, formSetting)],
      [],
      (path) => fieldOf(path, number),
    ),
  );
  if (used.length === 0) errors.push({ path: 'hours1', message: 'How long does it take?' });
  if (!limit || errors.length > 0) throw new Invalid(errors);
  const missing = tasks.flatMap(({ basis, concentration }, at) =>
    basis !== 'not-measured' && concentration === undefined
      ? [
          {
            path: `tasks.${at}.concentration`,
            message: 'Type what the air held, or say that it was not measured.',
          },
        ]
      : [],
  );
  if (missing.length > 0)
    throw new Invalid(movedPaths(missing, (_, at, key) => fieldOf(key, used[at]?.number ?? 1)));
  return { unit: 'ug/m3', tasks, ...limit };
}

const fieldOf = (key: string, number: number): string =>
  `${(FIELDS as Record<string, string>)[key] ?? 'hours'}${number}`;
