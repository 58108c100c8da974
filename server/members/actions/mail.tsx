import { z } from 'zod';
import { MailPage } from '../../../views/members/mail.tsx';
import { count } from '../../core/forms.ts';
import { listMail, reachable, tryAgain } from '../../core/outbox.ts';
import { may } from '../../core/policy.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { dayAt, setDayAt } from '../service/told.ts';
import { dayForm } from '../told-form.ts';

const DONE = {
  again: 'It is tried again now. Look again in a moment for what came of it.',
  saved: 'Saved.',
};

/** Mail that goes out, was sent, or could not be. */
export async function showMail(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const { now, studio, services, caller, read } = visit;
  const [outbox, digestAt] = await Promise.all([listMail(read), dayAt(read)]);
  return page(
    'Mail',
    'people',
    <MailPage
      {...outbox}
      sends={services.config.mail !== null}
      links={reachable(services.config.publicUrl) !== null}
      digestAt={may(caller.role, 'studio.edit') ? digestAt : null}
      done={visit.done(DONE)}
      {...{ now, form }}
      timeZone={studio.timeZone}
      newKey={randomSecret()}
    />,
  );
}

const againForm = z.strictObject({ mail: count(1, Number.MAX_SAFE_INTEGER) });

export async function sendAgain(visit: Visit): Promise<Answer> {
  const { mail } = visit.form(againForm);
  await visit.act((act) => tryAgain(act, mail));
  return go('/mail?done=again');
}

export async function saveDay(visit: Visit): Promise<Answer> {
  return visit.submit(
    (form) => showMail(visit, form),
    async () => {
      const entry = visit.form(dayForm);
      await visit.act((act) => setDayAt(act, entry));
      return go('/mail?done=saved');
    },
  );
}
