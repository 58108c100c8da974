/** The process beside a worker of the tests: see `other-process.ts`. It ends when its parent does. */
import { anAppOn } from './app.ts';
import type { Answered, Question } from './other-process.ts';

const apps = new Map<number, Awaited<ReturnType<typeof anAppOn>>>();

async function answer(question: Question): Promise<Answered | null> {
  if ('open' in question) {
    const { id, appUrl, env } = question.open;
    apps.set(id, await anAppOn(appUrl, env));
    return null;
  }
  if ('close' in question) {
    const { id } = question.close;
    await apps.get(id)?.app.close();
    await apps.get(id)?.database.close();
    apps.delete(id);
    return null;
  }
  const { id, now, options } = question.ask;
  const found = apps.get(id);
  if (!found) throw new Error('There is no such app.');
  found.clock.setTo(now);
  const { statusCode, statusMessage, headers, body, rawPayload, cookies } = await found.app.inject(options);
  return { statusCode, statusMessage, headers, body, rawPayload, cookies } as Answered;
}

process.on('message', ({ n, question }: { n: number; question: Question }) => {
  answer(question).then(
    (answer) => process.send?.({ n, answer }),
    (error) => process.send?.({ n, error: String(error.stack) }),
  );
});
process.on('disconnect', () => process.exit(0));
