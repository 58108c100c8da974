import { systemClock } from '../core/clock.ts';
import { Invalid } from '../core/errors.ts';
import { parse } from '../core/forms.ts';
import { personForm } from '../members/forms.ts';
import { makeResetLinkAtTheServer } from '../members/service/links.ts';
import { endFactorAtTheServer, isCodeAskedOf } from '../members/service/second-factor.ts';
import { onDatabase } from './on-database.ts';

const USE = 'npm run reset-link -- EMAIL [--second-factor]';

/**
 * `npm run reset-link -- EMAIL`: a link on which that person chooses a new password, once, within a day. With
 * `--second-factor` what their phone shows is not asked for any more, either.
 */
await onDatabase(async (database, config) => {
  const args = process.argv.slice(2);
  const emails = args.filter((arg) => arg !== '--second-factor');
  const endsFactor = emails.length < args.length;
  if (emails.length !== 1) throw new Invalid(`Say whose password it is: ${USE}`);
  const { email } = parse(personForm, { email: emails[0] });
  const now = systemClock.now();
  const { secret, asksCode } = await database.transaction(async (tx) => {
    if (endsFactor) await endFactorAtTheServer({ tx, now }, email);
    return {
      ...(await makeResetLinkAtTheServer({ tx, now }, email)),
      asksCode: await isCodeAskedOf(tx, email),
    };
  });
  const origin = config.publicUrl?.origin ?? '(the address of your Wareboard)';
  if (endsFactor) process.stdout.write('Their second factor has ended.\n');
  if (asksCode)
    process.stdout.write(
      'They have a second factor and are asked for a code as well; if the phone is lost, add --second-factor.\n',
    );
  process.stdout.write(`A link for ${email}, good once and for a day:\n${origin}/reset/${secret}\n`);
});
