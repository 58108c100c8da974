import { Field } from '../ui/field.tsx';

/** For a password manager: whose password the field below it is. */
export const Whose = ({ email }: { email: string }) => (
  <Field name="email" label="E-mail address" type="email" value={email} autocomplete="username" readOnly />
);

export const CurrentPassword = ({ name, label }: { name: string; label: string }) => (
  <Field name={name} label={label} type="password" autocomplete="current-password" />
);

export const NewPassword = ({ label = 'Password' }: { label?: string }) => (
  <Field
    name="password"
    label={label}
    type="password"
    autocomplete="new-password"
    hint="At least 12 characters: four or five words that make no sense together, for example."
  />
);
