import type { ComponentChildren } from 'preact';
import type { FormState } from '../../server/core/routes.ts';

interface Tick {
  value: string;
  label: ComponentChildren;
  hint?: ComponentChildren;
}

interface Props {
  name: string;
  legend: string;
  hint?: ComponentChildren;
  options: Tick[];
  form: FormState;
  /** As that of the form it stands in. */
  id?: string;
}

/** Several ticks under one name. */
export function Ticks({ name, legend, hint, options, form, id = 'f' }: Props) {
  const ticked = [form.typed[name] ?? []].flat();
  const error = form.errors.find(({ path }) => path === name || path.startsWith(`${name}.`))?.message;
  return (
    <fieldset class="field" aria-describedby={error ? `${id}-${name}-error` : undefined}>
      <legend>{legend}</legend>
      {hint && <p class="hint">{hint}</p>}
      {error && (
        <p class="error" id={`${id}-${name}-error`}>
          {error}
        </p>
      )}
      <ul class="tick-list">
        {options.map(({ value, label, hint: more }, i) => (
          <li key={value}>
            <div class="check">
              <label>
                <input
                  type="checkbox"
                  id={i === 0 ? `${id}-${name}` : undefined}
                  name={name}
                  value={value}
                  checked={ticked.includes(value)}
                />
                <span>
                  {label}
                  {more && <small>{more}</small>}
                </span>
              </label>
            </div>
          </li>
        ))}
      </ul>
    </fieldset>
  );
}
