import { z } from 'zod';
import type { Studio } from '../core/actor.ts';
import { Invalid } from '../core/errors.ts';
import { choice, email, type FormSetting, flag, text } from '../core/forms.ts';
import { currencies } from '../core/money.ts';
import { SCOPE_NAMES } from '../core/policy.ts';
import { isTimeZone } from '../core/wall-time.ts';
import { isCommonPassword } from './common-passwords.ts';
import { passwordProblem } from './password-rules.ts';

/** For forms of people who are not known yet; none of these has a quantity, an amount or a time in it. */
export const NOBODY_YET: FormSetting = { units: 'metric', timeZone: 'UTC', currency: 'EUR' };

const ROLES = ['member', 'technician', 'manager'] as const;

// Bounded only: the rules for a new password need to know whose it is, and an old one is right or wrong.
const password = () => z.string({ error: 'Type the password.' }).max(1000, 'At most 1000 characters.');
const name = () => text(80);
const units = () => choice(['metric', 'us']);
const timeZone = () =>
  z
    .string({ error: 'Choose a time zone.' })
    .max(64)
    .refine((zone) => isTimeZone(zone), 'Choose a time zone from the list.');
const currency = () =>
  z
    .string({ error: 'Choose a currency.' })
    .refine((code) => currencies().includes(code), 'Choose a currency from the list.');
/** Of six digits or a recovery code; bounded only, since a wrong one of any form is a wrong one. */
const oneTimeCode = () => text(40);

export const setUpForm = z.object({
  setupKey: text(100),
  studio: name(),
  timeZone: timeZone(),
  currency: currency(),
  units: units(),
  name: name(),
  email: email(),
  password: password(),
});
export type SetUp = z.output<typeof setUpForm>;

export const signInForm = z.object({ email: email(), password: password() });
export const inviteForm = z.object({ email: email(), role: choice(ROLES) });
export const welcomeForm = z.object({ name: name(), password: password() });
export const newPasswordForm = z.object({ password: password() });
export const changePasswordForm = z.object({ current: password(), password: password() });
export const ownForm = z.object({ name: name(), units: choice(['metric', 'us', 'studio']) });
export const studioForm = z.object({
  name: name(),
  timeZone: timeZone(),
  units: units(),
  staffSecondFactor: flag(),
});

export const codeForm = z.object({ code: oneTimeCode() });
export const beginFactorForm = z.object({ password: password() });
export const confirmFactorForm = z.object({ secondFactorKey: text(64), code: oneTimeCode() });
export const endFactorForm = z.object({ password: password(), code: oneTimeCode() });

const TOKEN_DAYS = { '30': 30, '90': 90, '365': 365, never: null } as const;
export const tokenForm = z.object({
  name: text(60),
  expires: choice(['30', '90', '365', 'never']).transform((chosen) => TOKEN_DAYS[chosen]),
  may: z
    .array(choice(['everything', ...SCOPE_NAMES]), { error: 'Tick what it may do.' })
    .refine(
      (chosen) => !chosen.includes('everything') || chosen.length === 1,
      'Either everything, or what is ticked below it.',
    )
    .transform((chosen) => SCOPE_NAMES.filter((name) => chosen.includes(name)))
    .transform((scopes) => (scopes.length === 0 ? null : scopes)),
  /** Asked of whoever has a second factor. */
  code: oneTimeCode().optional(),
});
export const revokeForm = z.object({ name: text(60) });

export const deviceForm = z.object({ name: text(40) });
export const pairForm = z.object({ code: text(40) });
/** Bounded only: which digits make a PIN is for `pinProblem` to say. */
export const pinForm = z.object({
  pin: z.string({ error: 'Type the four digits.' }).max(20, 'Four digits.'),
});

/** A person is named by e-mail address, which is unique; ids stay inside. */
export const personForm = z.object({ email: email() });
export const roleForm = z.object({ email: email(), role: choice(ROLES) });
export const activityForm = z.object({
  email: email(),
  active: choice(['yes', 'no']).transform((chosen) => chosen === 'yes'),
});

/** Throws `Invalid` beside the field where this must not become somebody's password. */
export function mustBeGoodPassword(
  password: string,
  person: { name: string; email: string },
  studio: Pick<Studio, 'name'>,
): void {
  const problem = passwordProblem(password, { ...person, studio: studio.name, isCommon: isCommonPassword });
  if (problem) throw new Invalid([{ path: 'password', message: problem }]);
}
