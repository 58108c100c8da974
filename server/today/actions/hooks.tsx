import { z } from 'zod';
import { HookSecretPage, HooksPage } from '../../../views/today/hooks.tsx';
import type { Act } from '../../core/actor.ts';
import { choice, text } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { WHATS } from '../hook-call.ts';
import * as hooks from '../service/hooks.ts';

const DONE = {
  tested: 'A test call is on its way. Look again in a moment for what came of it.',
  paused: 'The hook is paused. What changes meanwhile is told when it goes on.',
  resumed: 'The hook goes on.',
  ended: 'The hook has ended. Nothing is sent there any more.',
};

const nameForm = z.object({ name: text(60) });
const hookForm = nameForm.extend({
  url: text(500),
  whats: z
    .array(choice(WHATS), { error: 'Tick at least one.' })
    .min(1, 'Tick at least one.')
    .max(WHATS.length, 'Tick each once.'),
});

export async function showHooks(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const { now, studio, services } = visit;
  return page(
    'Hooks',
    'people',
    <HooksPage
      hooks={await hooks.listHooks(visit.read)}
      toPrivate={services.config.hooksToPrivate}
      done={visit.done(DONE)}
      {...{ form, now }}
      timeZone={studio.timeZone}
      newKey={randomSecret()}
    />,
  );
}

export async function makeHook(visit: Visit): Promise<Answer> {
  return visit.submit(
    (form) => showHooks(visit, form),
    async () => {
      const { database, config } = visit.services;
      const wish = visit.form(hookForm);
      // Its answer is a secret, so it is not kept for a retry.
      const secret = await database.transaction((tx) =>
        hooks.makeHook({ tx, actor: visit.caller, now: visit.now }, wish, {
          toPrivate: config.hooksToPrivate,
        }),
      );
      return page('The secret of the hook', 'people', <HookSecretPage name={wish.name} secret={secret} />);
    },
  );
}

/** One of the buttons beside a hook. */
const button =
  (done: keyof typeof DONE, run: (act: Act, name: string) => Promise<void>) =>
  (visit: Visit): Promise<Answer> =>
    visit.submit(
      ({ errors }) => showHooks(visit, { typed: {}, errors }),
      async () => {
        const { name } = visit.form(nameForm);
        await visit.act((act) => run(act, name));
        return go(`/hooks?done=${done}`);
      },
    );

export const testHook = button('tested', hooks.testHook);
export const pauseHook = button('paused', hooks.pauseHook);
export const resumeHook = button('resumed', hooks.resumeHook);
export const endHook = button('ended', hooks.endHook);
