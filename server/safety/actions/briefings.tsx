import { BriefingPage, BriefingsPage, NewBriefingPage } from '../../../views/safety/briefings.tsx';
import { beforeIn, numberIn } from '../../core/param.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { studioDay } from '../../core/session.ts';
import { namesIn } from '../induction.ts';
import {
  briefingForm,
  bucketsForClass,
  findBriefing,
  holdBriefing,
  listBriefings,
} from '../service/briefings.ts';
import { safetySettings } from '../service/settings.ts';

export const showBriefings = async (visit: Visit): Promise<Answer> =>
  page(
    'Briefings of classes',
    'safety',
    <BriefingsPage {...(await listBriefings(visit.read, { before: beforeIn(visit) }))} />,
  );

export async function showNewBriefing(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const { read } = visit;
  const [buckets, { childAge }, today] = await Promise.all([
    bucketsForClass(read),
    safetySettings(read),
    studioDay(read),
  ]);
  return page(
    'Brief a class',
    'safety',
    <NewBriefingPage
      buckets={buckets}
      childAge={childAge}
      form={form}
      today={today}
      newKey={randomSecret()}
    />,
  );
}

export const saveBriefing = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showNewBriefing(visit, form),
    async () => {
      const { roster, ...command } = visit.form(briefingForm);
      const { number } = await visit.act((act) => holdBriefing(act, { ...command, roster: namesIn(roster) }));
      return go(`/safety/briefings/${number}?done=held`);
    },
  );

export async function showBriefing(visit: Visit): Promise<Answer> {
  const number = numberIn(visit, 'number', 'There is no briefing with this number.');
  const [briefing, { childAge }] = await Promise.all([
    findBriefing(visit.read, number),
    safetySettings(visit.read),
  ]);
  return page(
    briefing.className,
    'safety',
    <BriefingPage briefing={briefing} childAge={childAge} done={visit.query.done === 'held'} />,
  );
}
