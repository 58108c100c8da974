import { ScheduleFormPage, SchedulePage, SchedulesPage } from '../../../views/kilns/schedules.tsx';
import { Invalid } from '../../core/errors.ts';
import { numberIn } from '../../core/param.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { fieldOfStep, readSchedule, stepRows, typedFrom, withUsualSteps } from '../schedule-form.ts';
import {
  findSchedule,
  kilnSettings,
  listKilns,
  listSchedules,
  replaceSchedule,
  retireSchedule,
  type Schedule,
  writeSchedule,
  writeUsualSchedules,
} from '../service/index.ts';
import { movedPaths, wantsMoreRows } from '../typed-rows.ts';
import { kilnReader } from './kiln-reader.ts';

export async function showSchedules(visit: Visit): Promise<Answer> {
  const [schedules, settings] = await Promise.all([
    listSchedules(visit.read, { retired: true }),
    kilnSettings(visit.read),
  ]);
  const word = settings.scheduleWord;
  return page(
    `Firing ${word}s`,
    'kilns',
    <SchedulesPage schedules={schedules} word={word} reader={kilnReader(visit)} />,
  );
}

const scheduleNumber = (visit: Visit): number =>
  numberIn(visit, 'number', 'There is no schedule with this number.');

export async function showSchedule(visit: Visit): Promise<Answer> {
  const number = scheduleNumber(visit);
  const [schedule, settings, kilns] = await Promise.all([
    findSchedule(visit.read, number),
    kilnSettings(visit.read),
    listKilns(visit.read),
  ]);
  return page(
    schedule.name,
    'kilns',
    <SchedulePage schedule={schedule} settings={settings} kilns={kilns} reader={kilnReader(visit)} />,
  );
}

export async function addUsualSchedules(visit: Visit): Promise<Answer> {
  await visit.act(writeUsualSchedules);
  return go('/kilns/schedules');
}

export async function takeScheduleOut(visit: Visit): Promise<Answer> {
  await visit.act((act) => retireSchedule(act, scheduleNumber(visit)));
  return go('/kilns/schedules');
}

async function showForm(
  visit: Visit,
  replaced: Schedule | null,
  form: FormState,
  usual?: FormState,
): Promise<Answer> {
  const { scheduleWord: word } = await kilnSettings(visit.read);
  return page(
    replaced ? `Change ${replaced.name}` : `New ${word}`,
    'kilns',
    <ScheduleFormPage
      replaced={replaced}
      {...(usual && { usual })}
      form={form}
      rows={stepRows(form.typed)}
      word={word}
      reader={kilnReader(visit)}
    />,
  );
}

/** Kind and cone first; the usual steps for them, once they stand in the address. */
export async function showNewSchedule(visit: Visit, form?: FormState): Promise<Answer> {
  if (form) return showForm(visit, null, form);
  const asked = emptyForm({ kind: 'bisque', ...visit.query });
  try {
    if (visit.query.cone !== undefined)
      return await showForm(visit, null, emptyForm(withUsualSteps(visit.query, visit.formSetting)));
  } catch (error) {
    if (!(error instanceof Invalid)) throw error;
    asked.errors.push(...error.errors);
  }
  return showForm(visit, null, emptyForm({ kind: 'bisque' }), asked);
}

export async function showEditSchedule(visit: Visit, form?: FormState): Promise<Answer> {
  const schedule = await findSchedule(visit.read, scheduleNumber(visit));
  return showForm(visit, schedule, form ?? emptyForm(typedFrom(schedule)));
}

export const saveNewSchedule = (visit: Visit): Promise<Answer> =>
  save(
    visit,
    (form) => showNewSchedule(visit, form),
    (command) => visit.act((act) => writeSchedule(act, command)),
  );

export const saveSchedule = (visit: Visit): Promise<Answer> =>
  save(
    visit,
    (form) => showEditSchedule(visit, form),
    (command) => visit.act((act) => replaceSchedule(act, scheduleNumber(visit), command)),
  );

/** The button that only adds rows does that; else it is saved, its faults beside the steps they were typed into. */
function save(
  visit: Visit,
  again: (form: FormState) => Promise<Answer>,
  write: (command: ReturnType<typeof readSchedule>) => Promise<number>,
): Promise<Answer> {
  const { typed, formSetting } = visit;
  if (wantsMoreRows(typed)) return again(emptyForm(typed));
  return visit.submit(again, async () => {
    const command = readSchedule(typed, formSetting);
    try {
      return go(`/kilns/schedules/${await write(command)}`);
    } catch (error) {
      if (!(error instanceof Invalid)) throw error;
      throw new Invalid(
        movedPaths(error.errors, (list, at, key) =>
          list === 'segments' ? fieldOfStep(typed, at, key) : null,
        ),
      );
    }
  });
}
