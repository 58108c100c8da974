import { systemClock } from '../core/clock.ts';
import { Invalid } from '../core/errors.ts';
import { parse } from '../core/forms.ts';
import { personForm } from '../members/forms.ts';
import { issueToken } from '../members/service/tokens.ts';
import { onDatabase } from './on-database.ts';

/** `npm run token -- EMAIL`: the last line printed is a token of that person, good for a year. */
await onDatabase(async (database) => {
  const args = process.argv.slice(2);
  if (args.length !== 1) throw new Invalid('Say whose token it shall be: npm run token -- EMAIL');
  const { email } = parse(personForm, { email: args[0] });
  const now = systemClock.now();
  const name = `From the server, ${new Date(now).toISOString()}`;
  const token = await database.transaction((tx) => issueToken({ tx, now }, email, { name, days: 365 }));
  process.stdout.write(`A token of ${email}, good for a year and shown only now:\n${token}\n`);
});
