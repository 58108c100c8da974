import { systemClock } from '../core/clock.ts';
import { Invalid } from '../core/errors.ts';
import { parse } from '../core/forms.ts';
import { personForm } from '../members/forms.ts';
import { makeResetLinkAtTheServer } from '../members/service/links.ts';
import { onDatabase } from './on-database.ts';

/** `npm run reset-link -- EMAIL`: a link on which that person chooses a new password, once, within a day. */
await onDatabase(async (database, config) => {
  const args = process.argv.slice(2);
  if (args.length !== 1) throw new Invalid('Say whose password it is: npm run reset-link -- EMAIL');
  const { email } = parse(personForm, { email: args[0] });
  const now = systemClock.now();
  const { secret } = await database.transaction((tx) => makeResetLinkAtTheServer({ tx, now }, email));
  const origin = config.publicUrl?.origin ?? '(the address of your Wareboard)';
  process.stdout.write(`A link for ${email}, good once and for a day:\n${origin}/reset/${secret}\n`);
});
