import { systemClock } from '../core/clock.ts';
import { Invalid } from '../core/errors.ts';
import { parse } from '../core/forms.ts';
import { SCOPE_NAMES } from '../core/policy.ts';
import { personForm } from '../members/forms.ts';
import { issueToken } from '../members/service/tokens.ts';
import { onDatabase } from './on-database.ts';

/** `npm run token -- EMAIL [SCOPE …]`: the last line printed is a token of that person, good for a year. */
await onDatabase(async (database) => {
  const [whose, ...named] = process.argv.slice(2);
  if (whose === undefined) throw new Invalid('Say whose token it shall be: npm run token -- EMAIL [SCOPE …]');
  const scopes = SCOPE_NAMES.filter((name) => named.includes(name));
  if (named.some((name) => !SCOPE_NAMES.some((known) => known === name)))
    throw new Invalid(`No such scope: npm run token -- EMAIL [SCOPE …], with ${SCOPE_NAMES.join(', ')}.`);
  const { email } = parse(personForm, { email: whose });
  const now = systemClock.now();
  const name = `From the server, ${new Date(now).toISOString()}`;
  const token = await database.transaction((tx) =>
    issueToken({ tx, now }, email, { name, days: 365, scopes: scopes.length > 0 ? scopes : null }),
  );
  process.stdout.write(
    `A token of ${email}${scopes.length > 0 ? ` for ${scopes.join(', ')}` : ''}, good for a year and shown only now:\n${token}\n`,
  );
});
