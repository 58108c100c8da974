import type { ComponentChildren } from 'preact';
import type { Reader } from '../../server/buckets/actions/reader.ts';
import { gravityFigure } from '../../server/buckets/sentences.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import { STATE_WORDS } from '../../server/buckets/verdict.ts';
import type { FormState } from '../../server/core/routes.ts';
import { volume } from '../../server/core/units.ts';
import { Plate } from '../ui/card.tsx';
import { Field, TextArea } from '../ui/field.tsx';
import { State } from '../ui/icons.tsx';
import { More } from '../ui/panel.tsx';

const ATMOSPHERES = { oxidation: 'oxidation', reduction: 'reduction', either: 'any atmosphere' } as const;

/** 'cone 6 oxidation', 'cone 5 to 6'; empty when neither is known. */
export function firingWords({ cones, atmosphere }: Pick<BucketNow, 'cones' | 'atmosphere'>): string {
  const cone = cones && `cone ${cones.from === cones.to ? cones.from : `${cones.from} to ${cones.to}`}`;
  return [cone, atmosphere && ATMOSPHERES[atmosphere]].filter(Boolean).join(' ');
}

export const bandWords = ({ low, high }: BucketNow['target']): string =>
  `${gravityFigure(low)} to ${gravityFigure(high)}`;

export function fullWords({ facts, capacityLitres }: BucketNow, reader: Reader): string {
  const unbroken = (litres: number) => volume(litres, reader.units).replace(' ', '\u00a0');
  return facts.litres === null
    ? `holds ${unbroken(capacityLitres)}`
    : `about ${unbroken(facts.litres)} of ${unbroken(capacityLitres)}`;
}

/** On every page and label of a bucket, whatever is in it. */
export const CAUTION =
  'All glaze: no eating here, wash hands, wipe wet, never sand or sweep dry. Contains silica unless shown otherwise.';

export const Housekeeping = () => <p class="soft">{CAUTION}</p>;

interface SubPageProps {
  bucket: BucketNow;
  /** The question or act of this page. */
  title: string;
  /** The way back, where it is not the bucket's page. */
  back?: ComponentChildren;
  children: ComponentChildren;
}

/** A page of one bucket: which one it is by size of name, then one thing to do, and the way back. */
export function SubPage({ bucket, title, back, children }: SubPageProps) {
  const { state } = bucket.verdict;
  return (
    <>
      <Plate name={bucket.name} code={bucket.code} colour={bucket.colour}>
        <State state={state} words={STATE_WORDS[state]} />
      </Plate>
      <h2>{title}</h2>
      {children}
      {back ?? (
        <p>
          <a href={`/buckets/${bucket.code}`}>Back to {bucket.name}</a>
        </p>
      )}
      <Housekeeping />
    </>
  );
}

/** The two fields of everything that is recorded: when, if not now, and a remark. */
export function TimeAndNote() {
  return (
    <>
      <Field
        type="datetime-local"
        name="happenedAt"
        label="When"
        hint="Only if it was not just now. The clock on the studio's wall."
        optional
      />
      <TextArea name="note" label="Note" rows={2} maxlength={500} optional />
    </>
  );
}

interface WhenAndNoteProps {
  form: FormState;
  summary?: string;
  /** More that few people need. */
  children?: ComponentChildren;
}

/** When it happened, if not now, and a remark. */
export function WhenAndNote({ form, summary = 'Time and note', children }: WhenAndNoteProps) {
  return (
    <More
      summary={summary}
      open={
        form.errors.some((e) => !LEADING.has(e.path)) || Boolean(form.typed.note || form.typed.happenedAt)
      }
    >
      <div class="form">
        {children}
        <TimeAndNote />
      </div>
    </More>
  );
}

/** Fields that always stand in the open; an error in any other opens the details. */
const LEADING = new Set([
  '',
  'grams',
  'vessel',
  'millilitres',
  'value',
  'scale',
  'float',
  'millimetres',
  'stirred',
  'litres',
  'kilograms',
  'specificGravity',
  'depthMm',
  'quarters',
  'pieces',
  'cups',
  'bowls',
  'large',
  'mesh',
  'state',
  'reason',
  'to',
  'what',
  'problem',
  'seconds',
  'word',
  'millilitres',
  'fresh',
  'later',
  'minutes',
]);
