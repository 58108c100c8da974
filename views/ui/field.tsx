import { type ComponentChildren, createContext, toChildArray } from 'preact';
import { useContext } from 'preact/hooks';
import type { FieldError } from '../../server/core/errors.ts';
import type { Typed } from '../../server/core/forms.ts';

/** What was typed and what is wrong with it, as a refused form comes back. */
interface FormState {
  typed: Typed;
  errors: FieldError[];
}

const FormContext = createContext<FormState & { id: string }>({ typed: {}, errors: [], id: 'f' });

interface FormProps {
  action: string;
  method?: 'post' | 'get';
  form?: FormState | undefined;
  /** Makes a double tap or a retry record once; sent as `key`. */
  idempotencyKey?: string;
  hidden?: Record<string, string | number | undefined>;
  /** Begins the ids of its fields; needed when two forms of one page share field names. */
  id?: string;
  /** Has a field for a file. */
  takesFiles?: boolean;
  /** False: sent by the browser itself, which then goes to the place that the answer's address names after its #. */
  boosted?: boolean;
  children: ComponentChildren;
}

/** A form whose fields find their typed value and their error by name. */
export function Form({
  action,
  method = 'post',
  form,
  idempotencyKey,
  hidden,
  id = 'f',
  takesFiles = false,
  boosted = true,
  children,
}: FormProps) {
  const state = { typed: form?.typed ?? {}, errors: form?.errors ?? [], id };
  return (
    <FormContext.Provider value={state}>
      {/* Our own messages stand beside the fields, the same with and without scripts. */}
      <form
        class="form"
        action={action}
        method={method}
        encType={takesFiles ? 'multipart/form-data' : undefined}
        noValidate
        hx-sync="drop"
        hx-boost={boosted ? undefined : 'false'}
      >
        <ErrorSummary labels={labelsIn(children)} />
        {idempotencyKey && <input type="hidden" name="key" value={idempotencyKey} />}
        {Object.entries(hidden ?? {}).map(([name, value]) =>
          value === undefined ? null : <input key={name} type="hidden" name={name} value={value} />,
        )}
        {children}
      </form>
    </FormContext.Provider>
  );
}

/** The labels of the fields among these children, by name. */
function labelsIn(children: ComponentChildren): Map<string, string> {
  const labels = new Map<string, string>();
  for (const child of toChildArray(children)) {
    if (typeof child !== 'object') continue;
    const {
      name,
      label,
      children: inner,
    } = child.props as {
      name?: unknown;
      label?: unknown;
      children?: ComponentChildren;
    };
    if (typeof name === 'string' && typeof label === 'string') labels.set(name, label);
    for (const [key, value] of labelsIn(inner)) labels.set(key, value);
  }
  return labels;
}

/** All that is wrong, each with a link to its field. It takes the focus when the page opens. */
function ErrorSummary({ labels }: { labels: Map<string, string> }) {
  const { errors, id } = useContext(FormContext);
  if (errors.length === 0) return null;
  return (
    <div class="errors" role="alert" tabIndex={-1} autofocus>
      <h2>
        {errors.length === 1 ? 'One thing needs another look' : `${errors.length} things need another look`}
      </h2>
      <ul>
        {errors.map(({ path, message }) => (
          <li key={path}>
            {path === '' ? (
              message
            ) : (
              <a href={`#${fieldId(id, path)}`}>
                {labels.has(path) && `${labels.get(path)}: `}
                {message}
              </a>
            )}
          </li>
        ))}
      </ul>
    </div>
  );
}

const fieldId = (form: string, path: string) => `${form}-${path.replace(/[^\w-]+/g, '-')}`;

interface Common {
  name: string;
  label: ComponentChildren;
  hint?: ComponentChildren;
  /** Says so beside the label; every other field must be filled in. */
  optional?: boolean;
  /** Which of several fields of this name, from 0. */
  index?: number;
}

interface Wiring {
  id: string;
  error: string | undefined;
  hintId: string | undefined;
  errorId: string | undefined;
  describedBy: string | undefined;
  /** What was typed; '' where a refused form came back without it; undefined on a fresh form. */
  typed: string | undefined;
}

function useField({ name, hint, index }: Pick<Common, 'name' | 'hint' | 'index'>): Wiring {
  const form = useContext(FormContext);
  const path = index === undefined ? name : `${name}.${index}`;
  const id = fieldId(form.id, path);
  const error = form.errors.find((e) => e.path === path)?.message;
  const hintId = hint ? `${id}-hint` : undefined;
  const errorId = error ? `${id}-error` : undefined;
  const raw = form.typed[name];
  const typed = [raw ?? []].flat().at(index ?? -1);
  return {
    id,
    error,
    hintId,
    errorId,
    describedBy: [hintId, errorId].filter(Boolean).join(' ') || undefined,
    typed: typed ?? (form.errors.length > 0 ? '' : undefined),
  };
}

function Frame({
  field,
  label,
  hint,
  optional,
  children,
}: Omit<Common, 'name' | 'index'> & { field: Wiring; children: ComponentChildren }) {
  return (
    <div class="field">
      <label for={field.id}>
        {label}
        {optional && <Optional />}
      </label>
      <Explained field={field} hint={hint} />
      {children}
    </div>
  );
}

function Explained({ field, hint }: { field: Wiring; hint: ComponentChildren }) {
  return (
    <>
      {hint && (
        <p class="hint" id={field.hintId}>
          {hint}
        </p>
      )}
      {field.error && (
        <p class="error" id={field.errorId}>
          {field.error}
        </p>
      )}
    </>
  );
}

const Optional = () => <span class="optional"> (optional)</span>;

interface FieldProps extends Common {
  type?: 'text' | 'email' | 'password' | 'search' | 'datetime-local' | 'date' | 'time' | 'color';
  value?: string;
  autocomplete?: string;
  /** Which keys a touch screen offers. */
  inputMode?: 'numeric';
  maxlength?: number;
  readOnly?: boolean;
  autofocus?: boolean;
  /** Off for codes and names. */
  spellcheck?: boolean;
  /** Id of a datalist with suggestions. */
  list?: string;
}

export function Field({ type = 'text', value, label, hint, optional, index, ...rest }: FieldProps) {
  const field = useField({ name: rest.name, hint, index });
  return (
    <Frame field={field} label={label} hint={hint} optional={optional}>
      <input
        {...rest}
        class="input"
        id={field.id}
        type={type as 'text'} // preact types every kind of input apart
        value={type === 'password' ? undefined : (field.typed ?? value)}
        required={!optional}
        aria-invalid={field.error ? 'true' : undefined}
        aria-describedby={field.describedBy}
      />
    </Frame>
  );
}

interface NumberFieldProps extends Common {
  value?: number | string;
  unit?: string;
  /** What an empty field means. */
  placeholder?: string;
  /** The one number a page is about. */
  big?: boolean;
  autofocus?: boolean;
}

/** A number with its unit. It is a text input, so that "1,52" and "1.52" both arrive as typed. */
export function NumberField({ value, unit, big, label, hint, optional, index, ...rest }: NumberFieldProps) {
  const field = useField({ name: rest.name, hint, index });
  const unitId = unit ? `${field.id}-unit` : undefined;
  return (
    <Frame field={field} label={label} hint={hint} optional={optional}>
      <div class={big ? 'with-unit big' : 'with-unit'}>
        <input
          {...rest}
          class="input"
          id={field.id}
          type="text"
          inputMode="decimal"
          autocomplete="off"
          value={field.typed ?? value}
          required={!optional}
          aria-invalid={field.error ? 'true' : undefined}
          aria-describedby={[unitId, field.describedBy].filter(Boolean).join(' ') || undefined}
        />
        {unit && (
          <span class="unit" id={unitId}>
            {unit}
          </span>
        )}
      </div>
    </Frame>
  );
}

interface TextAreaProps extends Common {
  value?: string;
  rows?: number;
  maxlength?: number;
}

export function TextArea({ value, rows = 3, label, hint, optional, index, ...rest }: TextAreaProps) {
  const field = useField({ name: rest.name, hint, index });
  return (
    <Frame field={field} label={label} hint={hint} optional={optional}>
      <textarea
        {...rest}
        class="input"
        id={field.id}
        rows={rows}
        required={!optional}
        aria-invalid={field.error ? 'true' : undefined}
        aria-describedby={field.describedBy}
      >
        {field.typed ?? value}
      </textarea>
    </Frame>
  );
}

export interface Option {
  value: string;
  label: string;
  hint?: string;
}

interface SelectProps extends Common {
  value?: string;
  options: Option[];
  /** Words of the first entry, which chooses nothing. */
  none?: string;
}

export function Select({ name, value, options, none, label, hint, optional, index }: SelectProps) {
  const field = useField({ name, hint, index });
  const chosen = field.typed ?? value;
  return (
    <Frame field={field} label={label} hint={hint} optional={optional}>
      <select
        class="input"
        id={field.id}
        name={name}
        required={!optional}
        aria-invalid={field.error ? 'true' : undefined}
        aria-describedby={field.describedBy}
      >
        {none !== undefined && <option value="">{none}</option>}
        {options.map((option) => (
          <option key={option.value} value={option.value} selected={option.value === chosen}>
            {option.label}
          </option>
        ))}
      </select>
    </Frame>
  );
}

/** One of a few, each a big button. */
export function Choice({ name, value, options, label, hint, optional }: Omit<SelectProps, 'none' | 'index'>) {
  const field = useField({ name, hint });
  const chosen = field.typed ?? value;
  return (
    <fieldset class="field choice" aria-describedby={field.describedBy}>
      <legend>
        {label}
        {optional && <Optional />}
      </legend>
      <Explained field={field} hint={hint} />
      <div class="choice-options">
        {options.map((option, at) => (
          <label key={option.value}>
            <input
              type="radio"
              id={at === 0 ? field.id : undefined}
              name={name}
              value={option.value}
              checked={option.value === chosen}
              required={!optional}
            />
            <span>
              {option.label}
              {option.hint && <small>{option.hint}</small>}
            </span>
          </label>
        ))}
      </div>
    </fieldset>
  );
}

interface CheckProps extends Omit<Common, 'optional' | 'index'> {
  checked?: boolean;
  value?: string;
}

/** A tick. An empty one sends nothing. */
export function Check({ name, checked = false, value = 'yes', label, hint }: CheckProps) {
  const field = useField({ name, hint: undefined });
  const ticked = field.typed === undefined ? checked : field.typed !== '' && field.typed !== 'no';
  return (
    <div class="field check">
      {field.error && (
        <p class="error" id={field.errorId}>
          {field.error}
        </p>
      )}
      <label>
        <input
          type="checkbox"
          id={field.id}
          name={name}
          value={value}
          checked={ticked}
          aria-invalid={field.error ? 'true' : undefined}
          aria-describedby={field.errorId}
        />
        <span>
          {label}
          {hint && <small>{hint}</small>}
        </span>
      </label>
    </div>
  );
}

/** A photo: on a phone the camera opens. */
export const PhotoField = (props: Omit<Common, 'index'>) => (
  <FileField {...props} accept="image/*" capture="environment" />
);

/** A PDF. */
export const DocumentField = (props: Omit<Common, 'index'>) => (
  <FileField {...props} accept="application/pdf,.pdf" />
);

interface FileProps extends Omit<Common, 'index'> {
  accept: string;
  capture?: 'environment';
}

/** A browser never sends a file back, so a refused form comes without it. */
function FileField({ label, hint, optional, name, accept, capture }: FileProps) {
  const field = useField({ name, hint });
  return (
    <Frame field={field} label={label} hint={hint} optional={optional}>
      <input
        class="input"
        id={field.id}
        type="file"
        name={name}
        accept={accept}
        capture={capture}
        aria-invalid={field.error ? 'true' : undefined}
        aria-describedby={field.describedBy}
      />
    </Frame>
  );
}

/** Short fields in one row where there is room. */
export function Beside({ children }: { children: ComponentChildren }) {
  return <div class="beside">{children}</div>;
}

interface SubmitProps {
  label: string;
  small?: ComponentChildren;
  /** For the lesser of two, or for what cannot be taken back. */
  look?: 'do' | 'plain' | 'plain danger';
  name?: string;
  value?: string;
}

export function Submit({ label, small, look = 'do', name, value }: SubmitProps) {
  return (
    <button class={look} type="submit" name={name} value={value}>
      {label}
      {small && <small>{small}</small>}
    </button>
  );
}
