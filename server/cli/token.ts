import { systemClock } from '../core/clock.ts';
import { Invalid } from '../core/errors.ts';
import { parse } from '../core/forms.ts';
import { SCOPE_NAMES } from '../core/policy.ts';
import { personForm } from '../members/forms.ts';
import { issueToken } from '../members/service/tokens.ts';
import { onDatabase } from './on-database.ts';

/** `npm run token -- EMAIL [SCOPE]`: the last line printed is a token of that person, good for a year. */
await onDatabase(async (database) => {
  const args = process.argv.slice(2);
  if (args.length < 1 || args.length > 2)
    throw new Invalid('Say whose token it shall be: npm run token -- EMAIL [SCOPE]');
  const scopes = args[1] === undefined ? null : SCOPE_NAMES.filter((name) => name === args[1]);
  if (scopes?.length === 0)
    throw new Invalid(`No such scope: npm run token -- EMAIL [SCOPE], with ${SCOPE_NAMES.join(' or ')}.`);
  const { email } = parse(personForm, { email: args[0] });
  const now = systemClock.now();
  const name = `From the server, ${new Date(now).toISOString()}`;
  const token = await database.transaction((tx) =>
    issueToken({ tx, now }, email, { name, days: 365, scopes }),
  );
  process.stdout.write(
    `A token of ${email}${scopes ? ` for ${scopes.join(', ')}` : ''}, good for a year and shown only now:\n${token}\n`,
  );
});
