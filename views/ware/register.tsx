import type { FormState } from '../../server/core/routes.ts';
import { massUnit } from '../../server/core/units.ts';
import type { Reader } from '../../server/ware/actions/reader.ts';
import type { Atmosphere, FiringKind } from '../../server/ware/firing.ts';
import { FORMS, type Form as FormName, formWord, PRESETS } from '../../server/ware/presets.ts';
import type { PieceFees } from '../../server/ware/service/fee-gate.ts';
import type { Clay, Group, PieceNow } from '../../server/ware/service/index.ts';
import { upper } from '../../server/ware/words.ts';
import { Because } from '../fees/parts.tsx';
import {
  Beside,
  Check,
  Choice,
  Field,
  Form,
  NumberField,
  PhotoField,
  Select,
  Submit,
  TextArea,
} from '../ui/field.tsx';
import { More } from '../ui/panel.tsx';
import { FormOutline } from './shapes.tsx';

const HINTS: Record<FormName, string> = {
  cup: 'with a handle',
  beaker: 'no handle',
  bowl: 'any round one',
  plate: 'flat or low',
  vase: 'tall or bottle',
  tile: 'flat, with corners',
  other: 'you measure it',
};

/** The first tap: what it is. */
export function PickFormPage({ technician }: { technician: boolean }) {
  return (
    <>
      <h1>What is it?</h1>
      <ul class="form-picks">
        {FORMS.map((form) => (
          <li key={form}>
            <a class="plain form-pick" href={`/ware/new?form=${form}`}>
              <FormOutline form={form} />
              {form === 'other' ? 'Something else' : upper(PRESETS[form].word)}
              <small>{HINTS[form]}</small>
            </a>
          </li>
        ))}
      </ul>
      {technician && (
        <p>
          <a href="/ware/found/new">A piece without a name that stood about</a>
        </p>
      )}
      <p>
        <a href="/ware">Back to my ware</a>
      </p>
    </>
  );
}

/** What a piece is, as its form starts out. */
export interface Start {
  form: FormName;
  called?: string | undefined;
  shape: 'circle' | 'rectangle';
  widthMm: number;
  depthMm: number;
  heightMm: number;
  thickestMm: number;
  kg?: number | undefined;
  isClosed: boolean;
  hasHole: boolean;
  clay: string | null;
  ownClay: string | null;
  kind: FiringKind;
  cone: string;
  atmosphere: Atmosphere;
  wantedBy?: string | undefined;
  group: string | null;
  /** 'me', the name of a group or of somebody else who pays, or null for whoever owns it. */
  payer: string | null;
  mark: string;
  place: string;
  note?: string | undefined;
}

interface FieldsProps {
  start: Start;
  clays: Clay[];
  groups: Group[];
  /** Marks of whoever asks, to choose from. */
  marks: string[];
  form: FormState;
  reader: Reader;
  /** Whose it is where it is not a group's. */
  person: string;
}

/** Fields that may hide: something wrong in one of them, or something typed into it, opens them. */
const RARE = [
  'ownClay',
  'kg',
  'wantedBy',
  'payer',
  'mark',
  'place',
  'note',
  'closed',
  'hole',
  'photo',
  'once',
];

/** What was carried over into fields that are folded away. */
const carriedOver = ({ mark, place }: Start): string =>
  [mark && `mark ${mark}`, place].filter(Boolean).join(', ');

function sizeFields({ form, shape, widthMm, depthMm, heightMm, thickestMm }: Start) {
  const isRound = shape === 'circle';
  return (
    <>
      {form === 'other' && (
        <Choice
          name="shape"
          label="Seen from above"
          value={shape}
          options={[
            { value: 'circle', label: 'Round' },
            { value: 'rectangle', label: 'With corners, or a handle' },
          ]}
        />
      )}
      <Beside>
        <NumberField
          name="widthMm"
          label={
            form === 'other' ? 'Widest' : isRound ? 'Across' : form === 'cup' ? 'Across, with handle' : 'Wide'
          }
          unit="mm"
          value={widthMm}
        />
        {(!isRound || form === 'other') && (
          <NumberField
            name="depthMm"
            label={form === 'cup' ? 'Across, without' : 'Deep'}
            unit="mm"
            value={isRound ? undefined : depthMm}
            optional={form === 'other'}
          />
        )}
        <NumberField name="heightMm" label="High" unit="mm" value={heightMm} />
        <NumberField name="thickestMm" label="Thickest part" unit="mm" value={thickestMm} />
      </Beside>
    </>
  );
}

/** Function, not component: the form above finds the labels of these fields for what it says is wrong. */
function pieceFields(
  { start, clays, groups, marks, form, reader, person }: FieldsProps,
  { isNew }: { isNew: boolean },
) {
  const isRefused = form.errors.length > 0;
  const isStrange = clays.length === 0 || (start.clay === null && start.ownClay !== null);
  const ownClay = (
    <Field
      name="ownClay"
      label="Clay not on the list"
      hint="Only then: its name. A technician looks at it before it goes into a kiln."
      value={start.ownClay ?? undefined}
      maxlength={60}
      autocomplete="off"
      optional
    />
  );
  const { mark, place, note, wantedBy, kg, isClosed, payer } = start;
  const isOpen = isRefused
    ? form.errors.some(({ path }) => [...RARE, 'clay'].includes(path)) ||
      RARE.some((name) => form.typed[name])
    : !isNew && [mark, place, note, wantedBy, kg, isClosed, payer].some(Boolean);
  const carried = isNew && !isRefused ? carriedOver(start) : '';
  const own = groups.filter(({ mayRegister, name }) => mayRegister || name === start.group);
  const payers = new Set(own.map(({ name }) => name));
  if (payer !== null && payer !== 'me') payers.add(payer);
  return (
    <>
      {start.form === 'other' && (
        <Field
          name="called"
          label="What it is"
          hint="Such as: teapot, lid, figure."
          value={start.called}
          maxlength={40}
          autocomplete="off"
        />
      )}
      <Select
        name="clay"
        label="Clay"
        value={start.clay ?? undefined}
        none={isStrange ? 'A clay not on the list' : 'Not on the list: name it under More'}
        options={clays.map(({ name, maxCone }) => ({ value: name, label: `${name}, up to cone ${maxCone}` }))}
      />
      {isStrange && ownClay}
      {sizeFields(start)}
      <Select
        name="kind"
        label="Firing it is for in the end"
        value={start.kind}
        options={[
          { value: 'glaze', label: 'Glaze' },
          { value: 'bisque', label: 'Bisque only' },
          { value: 'lustre', label: 'Lustre or decal' },
          { value: 'other', label: 'Other' },
        ]}
      />
      <Beside>
        <Field
          name="cone"
          label="Cone, such as 6"
          value={start.cone || undefined}
          maxlength={6}
          autocomplete="off"
        />
        <Select
          name="atmosphere"
          label="Fired in"
          value={start.atmosphere}
          options={[
            { value: 'oxidation', label: 'Oxidation' },
            { value: 'reduction', label: 'Reduction' },
          ]}
        />
      </Beside>
      {own.length > 0 && (
        <Select
          name="group"
          label="Whose it is"
          value={start.group ?? undefined}
          none={person}
          options={own.map(({ name }) => ({ value: name, label: name }))}
          optional
        />
      )}
      <More
        summary={
          carried
            ? `More: ${carried}, photo, closed form, note`
            : 'More: photo, mark, place, closed form, note'
        }
        open={isOpen}
      >
        <div class="form">
          {!isStrange && ownClay}
          <PhotoField
            name="photo"
            label={typeof form.typed.kept === 'string' ? 'Another photo' : 'Photo'}
            hint="So that you and the technician know it again."
            optional
          />
          <Field
            name="mark"
            label="Mark in the foot"
            hint="Your own mark, or the number, cut in while leather-hard. Wax pencil and paper burn off."
            value={start.mark || undefined}
            maxlength={30}
            list="marks"
            autocomplete="off"
            optional
          />
          <datalist id="marks">
            {marks.map((mark) => (
              <option key={mark} value={mark} />
            ))}
          </datalist>
          <Field
            name="place"
            label="Where it stands"
            hint="Such as: drying rack 2."
            value={start.place || undefined}
            maxlength={60}
            optional
          />
          <Field type="date" name="wantedBy" label="Wanted by" value={start.wantedBy} optional />
          <Check
            name="closed"
            label="It is a closed form"
            hint="Hollow all round: a ball, a sealed box, a thick handle."
            checked={start.isClosed}
          />
          <Check name="hole" label="It has a hole for steam" checked={start.hasHole} />
          <NumberField name="kg" label="Weight" unit={massUnit(reader.units)} value={start.kg} optional />
          {payers.size > 0 && (
            <Select
              name="payer"
              label="Who pays"
              value={start.payer ?? undefined}
              none="Whose it is"
              options={[
                { value: 'me', label: 'Me' },
                ...[...payers].map((name) => ({ value: name, label: name })),
              ]}
              optional
            />
          )}
          {isNew && (
            <Check
              name="once"
              label="No bisque: glazed raw and fired once"
              hint="Ask a technician before the first one."
            />
          )}
          <TextArea name="note" label="Note" rows={2} maxlength={500} value={note} optional />
        </div>
      </More>
    </>
  );
}

/** The photo that a refused form brought. */
export const Kept = ({ form }: { form: FormState }) =>
  typeof form.typed.kept === 'string' ? (
    <figure class="tile">
      <img src={`/files/${form.typed.kept}`} alt="What you sent before" />
      <figcaption>This photo is kept: no need to send it again.</figcaption>
    </figure>
  ) : null;

export const keptField = ({ typed }: FormState) => (typeof typed.kept === 'string' ? typed.kept : undefined);

/** What firing it will cost, as far as that can be said yet. */
export function PriceFound({ fees }: { fees: PieceFees | null }) {
  if (!fees) return <p class="hint">Choose the clay and the cone to see it.</p>;
  return (
    <>
      <p>
        <b>{fees.line}</b>
      </p>
      <FeeSteps fees={fees} />
    </>
  );
}

/** Firing by firing, each with its arithmetic. */
export function FeeSteps({ fees }: { fees: PieceFees }) {
  return (
    <>
      <ul class="plain-list">
        {fees.steps.map(({ words, because, href }) => (
          <li key={words}>
            {href ? <a href={href}>{words}</a> : words}
            <Because lines={because} />
          </li>
        ))}
      </ul>
      {fees.href && (
        <p>
          <a href={fees.href}>Price list</a>
        </p>
      )}
    </>
  );
}

interface RegisterProps extends FieldsProps {
  /** Null: nothing is charged here. */
  price: { fees: PieceFees | null } | null;
}

export function RegisterPage(props: RegisterProps) {
  const { price } = props;
  const whole = <RegisterForm {...props} />;
  if (!price) return whole;
  return (
    <div hx-post="/ware/new/price" hx-trigger="input delay:500ms" hx-include="find form" hx-target="#price">
      {whole}
    </div>
  );
}

function RegisterForm(props: RegisterProps) {
  const { start, form, reader, price } = props;
  return (
    <>
      <h1 class="with-outline">
        <FormOutline form={start.form} />
        {start.form === 'other' ? 'Something else' : upper(PRESETS[start.form].word)}
      </h1>
      <Form
        action="/ware/new"
        form={form}
        idempotencyKey={reader.key}
        hidden={{ what: start.form, kept: keptField(form) }}
        takesFiles
      >
        <Kept form={form} />
        <Beside>
          <NumberField
            name="howMany"
            label="How many of the same"
            hint="Empty is one."
            placeholder="1"
            optional
          />
          <Select
            name="begins"
            label="How it is now"
            value="wet"
            options={[
              { value: 'wet', label: 'Just made, wet' },
              { value: 'drying', label: 'Dry, or nearly' },
              { value: 'bisqued', label: 'Bisqued already' },
            ]}
          />
        </Beside>
        {pieceFields(props, { isNew: true })}
        <Submit label="Register" />
        {price && (
          <section class="panel">
            <h2>What firing it will cost</h2>
            <div id="price" role="status">
              <PriceFound fees={price.fees} />
            </div>
            <Submit label="See the price" look="plain" name="see" value="price" />
          </section>
        )}
      </Form>
      <p>
        <a href="/ware/new">Another shape</a>
      </p>
    </>
  );
}

interface ChangeProps extends FieldsProps {
  piece: PieceNow;
  /** Others of its batch that are at the same point. */
  others: number[];
}

export function ChangePage({ piece, others, ...props }: ChangeProps) {
  const { form, reader } = props;
  const { number } = piece;
  return (
    <>
      <h1 class="with-outline">
        <FormOutline form={piece.form} />
        Put right: {formWord(piece.form)} {number}
      </h1>
      <Form
        action={`/ware/${number}/edit`}
        form={form}
        idempotencyKey={reader.key}
        hidden={{ what: props.start.form, kept: keptField(form) }}
        takesFiles
      >
        <Kept form={form} />
        <AlsoField others={others} />
        {pieceFields(props, { isNew: false })}
        <Submit label="Save" />
      </Form>
      <p>
        <a href={`/ware/${number}`}>Back to piece {number}</a>
      </p>
    </>
  );
}

/** A tick that takes the rest of the batch along; one value, since forms with files hold few fields. */
export const AlsoField = ({ others }: { others: number[] }) =>
  others.length === 0 ? null : (
    <Check
      name="also"
      value={others.join(',')}
      checked
      label={
        others.length === 1 ? `Also piece ${others[0]}` : `Also the other ${others.length} of this batch`
      }
      hint={others.length > 1 ? others.join(', ') : undefined}
    />
  );
