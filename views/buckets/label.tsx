import type { BucketNow } from '../../server/buckets/service/index.ts';
import { Check, Choice, Form, Submit } from '../ui/field.tsx';
import { Chip } from '../ui/icons.tsx';
import { Filter, Notice } from '../ui/panel.tsx';
import { Qr } from '../ui/qr.tsx';
import { CAUTION } from './parts.tsx';

const SIZES = {
  sheet: { label: 'Bucket, A4 sheet', hint: '99 × 67 mm, eight on a page' },
  roll: { label: 'Bucket, label printer', hint: '100 × 62 mm' },
  'lid-sheet': { label: 'Lid, A4 sheet', hint: '99 × 33 mm, sixteen on a page' },
  'lid-roll': { label: 'Lid, label printer', hint: '62 × 29 mm' },
} as const;
type LabelSize = keyof typeof SIZES;

export const isLabelSize = (value: unknown): value is LabelSize =>
  typeof value === 'string' && Object.hasOwn(SIZES, value);

type Labelled = Pick<BucketNow, 'code' | 'name' | 'colour'>;

export interface LabelsPageProps {
  chosen: Labelled[];
  size: LabelSize;
  /** Every bucket to choose from; or the one that this page is about. */
  all?: Labelled[];
  only?: Labelled;
  /** What the QR code says; null while no phone could open it. */
  addressOf: (code: string) => string | null;
  studio: string;
}

export function LabelsPage({ chosen, size, all, only, addressOf, studio }: LabelsPageProps) {
  const isLid = size.startsWith('lid');
  return (
    <>
      <div class="screen-only">
        <h1>{only ? `Labels for ${only.name}` : 'Labels'}</h1>
        <p class="narrow">
          The label with the QR code goes on the bucket's body: lids get swapped. The lid carries name and
          code only.
        </p>
        {only ? (
          <>
            <Filter
              label="Size"
              options={entries.map(([value, { label }]) => ({
                href: `/buckets/${only.code}/label?size=${value}`,
                label,
                current: value === size,
              }))}
            />
            <p class="soft">{SIZES[size].hint}</p>
          </>
        ) : (
          <Choosing all={all ?? []} chosen={chosen} size={size} />
        )}
        {!isLid && addressOf('') === null && (
          <Notice title="Without a QR code for now">
            <p>
              This server does not know the address that people type to reach it (PUBLIC_URL), or it is one
              that only this machine can open. A code printed now would lead nowhere.
            </p>
          </Notice>
        )}
        {chosen.length > 0 && (
          <button class="do" type="button" data-print>
            Print {chosen.length === 1 ? 'the label' : `${chosen.length} labels`}
            <small>Print at 100 %, without margins or headings of the browser.</small>
          </button>
        )}
      </div>
      <ul class={`labels is-${size}`}>
        {chosen.map((bucket) => (
          <li key={bucket.code} class="label">
            {isLid ? (
              <LidLabel {...bucket} />
            ) : (
              <BodyLabel {...bucket} address={addressOf(bucket.code)} studio={studio} />
            )}
          </li>
        ))}
      </ul>
      {only && (
        <p class="screen-only">
          <a href={`/labels?code=${only.code}&size=${size}`}>Labels for more buckets</a>
          {' · '}
          <a href={`/buckets/${only.code}`}>Back to {only.name}</a>
        </p>
      )}
    </>
  );
}

const entries = Object.entries(SIZES) as [LabelSize, (typeof SIZES)[LabelSize]][];

function Choosing({ all, chosen, size }: { all: Labelled[]; chosen: Labelled[]; size: LabelSize }) {
  return (
    <Form action="/labels" method="get">
      <Choice
        name="size"
        label="Size"
        value={size}
        options={entries.map(([value, words]) => ({ value, ...words }))}
      />
      <fieldset class="field">
        <legend>Which buckets</legend>
        <div class="choice-options">
          {all.map(({ code, name }) => (
            <Check
              key={code}
              name="code"
              value={code}
              label={`${name} ${code}`}
              checked={chosen.some((bucket) => bucket.code === code)}
            />
          ))}
        </div>
      </fieldset>
      <Submit label="Show these labels" look="plain" />
    </Form>
  );
}

function BodyLabel({
  code,
  name,
  colour,
  address,
  studio,
}: Labelled & { address: string | null; studio: string }) {
  return (
    <>
      <p class="label-name">
        <Chip colour={colour} /> {name}
      </p>
      <p class="label-code">{code}</p>
      {address && <Qr text={address} label={`QR code of ${address}`} />}
      <p class="label-small">{CAUTION}</p>
      <p class="label-small label-foot">
        {studio}
        {address && `, ${address.replace(/^https?:\/\//, '')}`}
      </p>
    </>
  );
}

const LidLabel = ({ code, name }: Labelled) => (
  <>
    <p class="label-name">{name}</p>
    <p class="label-code">{code}</p>
  </>
);
