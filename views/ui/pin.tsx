import { Field } from './field.tsx';

interface PinFieldProps {
  label: string;
  hint?: string;
  autofocus?: boolean;
}

/** Four digits, hidden as they are typed; a browser neither keeps nor offers them. */
export const PinField = (props: PinFieldProps) => (
  <Field {...props} name="pin" type="password" inputMode="numeric" maxlength={4} autocomplete="off" />
);
