import {
  BriefingPage,
  BriefingsPage,
  NewBriefingPage,
  StrikeOutBriefingPage,
} from '../../../views/safety/briefings.tsx';
import { beforeIn, numberIn } from '../../core/param.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { studioDay } from '../../core/session.ts';
import { namesIn } from '../induction.ts';
import {
  briefingForm,
  bucketsForClass,
  findBriefing,
  findToStrikeOut,
  holdBriefing,
  listBriefings,
  strikeOutBriefing,
} from '../service/briefings.ts';
import { strikeOutForm } from '../service/inductions.ts';
import { safetySettings } from '../service/settings.ts';

const DONE: Record<string, string> = {
  held: 'Written down.',
  'struck-out': 'Struck out. It counts no longer.',
};

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

const numberOf = (visit: Visit): number =>
  numberIn(visit, 'number', 'There is no briefing with this number.');

export async function showBriefing(visit: Visit): Promise<Answer> {
  const number = numberOf(visit);
  const [briefing, { childAge }] = await Promise.all([
    findBriefing(visit.read, number),
    safetySettings(visit.read),
  ]);
  return page(
    briefing.className,
    'safety',
    <BriefingPage briefing={briefing} childAge={childAge} done={visit.done(DONE)} />,
  );
}

export async function showStrikeOutBriefing(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const briefing = await findToStrikeOut(visit.read, numberOf(visit));
  return page(
    'Strike out',
    'safety',
    <StrikeOutBriefingPage briefing={briefing} form={form} newKey={randomSecret()} />,
  );
}

export const saveStrikeOutBriefing = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showStrikeOutBriefing(visit, form),
    async () => {
      const number = numberOf(visit);
      await findToStrikeOut(visit.read, number);
      const command = visit.form(strikeOutForm);
      await visit.act((act) => strikeOutBriefing(act, number, command));
      return go(`/safety/briefings/${number}?done=struck-out`);
    },
  );
