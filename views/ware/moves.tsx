import type { ComponentChildren } from 'preact';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import type { Reader } from '../../server/ware/actions/reader.ts';
import { type Firing, firingWords } from '../../server/ware/firing.ts';
import { asksFoot, heldBackMm, suits } from '../../server/ware/gates.ts';
import { LOST_WORDS, RETURN_WORDS } from '../../server/ware/reasons.ts';
import {
  type Group,
  type MovePath,
  type PieceNow,
  STRANGER_TRAY_MM,
} from '../../server/ware/service/index.ts';
import type { WareSettings } from '../../server/ware/settings.ts';
import {
  Beside,
  Check,
  Choice,
  Field,
  Form,
  NumberField,
  type Option,
  PhotoField,
  Select,
  Submit,
  TextArea,
} from '../ui/field.tsx';
import { More, Notice } from '../ui/panel.tsx';
import { AlsoField } from './register.tsx';
import { PieceHeading, StandingMark } from './shapes.tsx';

interface MoveProps {
  path: MovePath;
  label: string;
  piece: PieceNow;
  /** Of its batch, at the same point: one tick takes them along. */
  others: PieceNow[];
  form: FormState;
  reader: Reader;
  settings: WareSettings;
  /** Of the wall, for what it was glazed with. */
  buckets: BucketNow[];
  groups: Group[];
}

/** One act with a piece that asks something first. */
export function MovePage(props: MoveProps) {
  const { path, label, piece, others, form, reader } = props;
  const { number } = piece;
  return (
    <>
      <PieceHeading piece={piece} />
      <p>
        <StandingMark piece={piece} />
      </p>
      <h2>{label}</h2>
      {before(props)}
      <Form
        action={`/ware/${number}/${path}`}
        form={form}
        idempotencyKey={reader.key}
        takesFiles={path === 'return'}
      >
        <AlsoField others={others.map((other) => other.number)} />
        {fieldsOf(props)}
        <Submit label={label} />
      </Form>
      <p>
        <a href={`/ware/${number}`}>Back to piece {number}</a>
      </p>
    </>
  );
}

/** What to know before the form. */
function before({ path, piece }: MoveProps): ComponentChildren {
  if (path === 'yes')
    return (
      <Notice title="For its next firing only" tone="ask-technician">
        <p>
          {piece.clay === null &&
            `The clay is ${piece.ownClay ?? 'not said'}. A clay that melts takes shelf and neighbours with it. `}
          After that firing it is asked again, since the next one may be hotter.
        </p>
      </Notice>
    );
  if (path === 'hand-in' && piece.next) return <p>It goes into {firingWords(piece.next)}.</p>;
  return null;
}

const noteField = (label = 'Note', optional = true) => (
  <TextArea name="note" label={label} rows={2} maxlength={500} optional={optional} />
);

function fieldsOf(props: MoveProps): ComponentChildren {
  const { path, piece, others, settings, groups } = props;
  switch (path) {
    case 'glazes':
      return glazeFields(props);
    case 'hand-in': {
      // Those that go along may carry other glazes: what the runniest of them asks for holds for all.
      const coats = [piece, ...others].filter(asksFoot).flatMap(({ glazes }) => glazes);
      if (coats.length === 0) return null;
      const far = heldBackMm(coats, settings);
      const runny = coats.some(({ isRunny }) => isRunny);
      return (
        <Check
          name="heldBack"
          label={`The foot is wiped and the glaze ends ${far} mm above it`}
          hint={runny ? 'One of these glazes runs: it stands on a tray, too.' : undefined}
        />
      );
    }
    case 'another-firing':
      return (
        <>
          <Choice
            name="kind"
            label="Firing"
            value="lustre"
            options={[
              { value: 'lustre', label: 'Lustre or decal' },
              { value: 'glaze', label: 'Glaze once more' },
              { value: 'other', label: 'Other' },
            ]}
          />
          <Beside>
            <Field name="cone" label="Cone" hint="Such as 018 for lustre." maxlength={6} autocomplete="off" />
            <Select
              name="atmosphere"
              label="Fired in"
              value="oxidation"
              options={[
                { value: 'oxidation', label: 'Oxidation' },
                { value: 'reduction', label: 'Reduction' },
              ]}
            />
          </Beside>
        </>
      );
    case 'return':
      return (
        <>
          <Choice name="reason" label="Why" options={options(RETURN_WORDS)} />
          <PhotoField name="photo" label="Photo" hint="Of what is wrong." optional />
          {noteField('What its owner should do')}
        </>
      );
    case 'yes':
      return (
        <>
          <NumberField
            name="trayMm"
            label="Tray, all round"
            unit="mm"
            value={STRANGER_TRAY_MM}
            hint="It stands on a tray that is wider than it by this."
          />
          {noteField()}
        </>
      );
    case 'flag':
      return <Field name="words" label="Why it waits" hint="Its owner reads this." maxlength={200} />;
    case 'lost':
      return (
        <>
          <Choice name="cause" label="What became of it" options={options(LOST_WORDS)} />
          <Check
            name="studiosFault"
            label="The studio's doing: credit it"
            hint="What its firings cost is given back by the price list."
          />
          {noteField()}
        </>
      );
    case 'assign':
      return (
        <>
          <Field
            name="who"
            label="Person"
            hint="Name or e-mail address."
            maxlength={254}
            autocomplete="off"
            spellcheck={false}
            optional
          />
          <Select
            name="group"
            label="Or a household or class"
            none="None"
            options={groups.map(({ name }) => ({ value: name, label: name }))}
            optional
          />
        </>
      );
    case 'measure':
      return measureFields(piece);
    default:
      return noteField();
  }
}

const options = (words: Record<string, string>) =>
  Object.entries(words).map(([value, label]) => ({ value, label }));

function measureFields({ measured, isBisqued, stage }: PieceNow) {
  const { footprint, heightMm } = measured;
  const isRound = footprint.shape === 'circle';
  const when = isBisqued ? 'bisque' : stage === 'made' ? 'wet' : 'dry';
  return (
    <>
      <Beside>
        <NumberField
          name="widthMm"
          label={isRound ? 'Across' : 'Widest'}
          unit="mm"
          value={isRound ? footprint.diameterMm : footprint.widthMm}
        />
        <NumberField
          name="depthMm"
          label="Deep"
          unit="mm"
          hint="Leave empty for a round one."
          value={isRound ? undefined : footprint.depthMm}
          optional
        />
        <NumberField name="heightMm" label="High" unit="mm" value={heightMm} />
      </Beside>
      {!isBisqued && (
        <Choice
          name="measured"
          label="How it is now"
          value={when}
          options={[
            { value: 'wet', label: 'Wet' },
            { value: 'dry', label: 'Dry' },
          ]}
        />
      )}
    </>
  );
}

/** The names of the three selects, from the first coat up. */
export const COATS = ['first', 'second', 'third'] as const;
const COAT_LABELS = ['First glaze', 'Over it', 'And over that'];

/** Buckets of the wall to choose from, those that take this firing first. */
export function bucketOptions(buckets: readonly BucketNow[], final: Firing): Option[] {
  const takes = ({ cones }: BucketNow) => suits(cones, final);
  const label = (bucket: BucketNow) => {
    const { cones, name, code } = bucket;
    const range = cones && (cones.from === cones.to ? cones.from : `${cones.from} to ${cones.to}`);
    return `${name} ${code}${range ? `, cone ${range}` : ', cones not known'}${takes(bucket) ? '' : ` (not ${final.cone})`}`;
  };
  return [...buckets]
    .sort((a, b) => Number(takes(b)) - Number(takes(a)) || a.name.localeCompare(b.name))
    .map((bucket) => ({ value: bucket.code, label: label(bucket) }));
}

function glazeFields({ piece, buckets }: MoveProps) {
  const options = bucketOptions(buckets, piece.final);
  // What is fired stays on it.
  const raw = piece.glazes.filter(({ load }) => load === null);
  const on = raw.map(({ bucket }) => bucket?.code);
  const own = raw.find((glaze) => glaze.own)?.own;
  return (
    <>
      {COATS.map((name, at) => (
        <Select
          key={name}
          name={name}
          label={COAT_LABELS[at]}
          none={at === 0 ? 'None from the wall' : 'None'}
          value={on[at]}
          options={options}
          optional
        />
      ))}
      <More summary="A glaze from outside, or none at all" open={own !== undefined}>
        <div class="form">
          <Field
            name="own"
            label="Its name"
            hint="It goes on last. A technician looks at it first, and it stands on a tray."
            value={own?.name}
            maxlength={60}
            autocomplete="off"
            optional
          />
          <Beside>
            <Field name="coneFrom" label="From cone" value={own?.coneFrom} maxlength={6} optional />
            <Field name="coneTo" label="To cone" value={own?.coneTo} maxlength={6} optional />
          </Beside>
          <Check name="bare" label="No glaze: it stays bare" />
        </div>
      </More>
    </>
  );
}
