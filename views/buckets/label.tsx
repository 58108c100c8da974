import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { BucketLabel } from '../../server/buckets/service/safety-gate.ts';
import { H_TEXTS, P_TEXTS } from '../../server/materials/hazards.ts';
import { GHS_SIZES, GhsLabel } from '../safety/ghs-label.tsx';
import { Pictograms } from '../safety/pictogram.tsx';
import { Check, Choice, Form, Submit } from '../ui/field.tsx';
import { Chip } from '../ui/icons.tsx';
import { Filter, Notice } from '../ui/panel.tsx';
import { Qr } from '../ui/qr.tsx';
import { CAUTION } from './parts.tsx';

const SIZES = {
  sheet: { label: 'Bucket, A4 sheet', hint: '99 × 67 mm, eight on a page' },
  roll: { label: 'Bucket, label printer', hint: '100 × 62 mm' },
  hazard: { label: 'Hazard label', hint: GHS_SIZES.label.hint },
  'lid-sheet': { label: 'Lid, A4 sheet', hint: '99 × 33 mm, sixteen on a page' },
  'lid-roll': { label: 'Lid, label printer', hint: '62 × 29 mm' },
} as const;
type LabelSize = keyof typeof SIZES;

export const isLabelSize = (value: unknown): value is LabelSize =>
  typeof value === 'string' && Object.hasOwn(SIZES, value);

type Chosen = Pick<BucketNow, 'code' | 'name' | 'colour'>;

export interface Labelled extends Chosen {
  hazards: BucketLabel;
}

export interface LabelsPageProps {
  chosen: Labelled[];
  size: LabelSize;
  /** Every bucket to choose from; or the one that this page is about. */
  all?: Chosen[];
  only?: Chosen;
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
      {size === 'hazard' && <Crowded chosen={chosen} />}
      {size === 'hazard' ? (
        chosen.map((bucket) => (
          <HazardLabel key={bucket.code} {...bucket} address={addressOf(bucket.code)} studio={studio} />
        ))
      ) : (
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
      )}
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

function Choosing({ all, chosen, size }: { all: Chosen[]; chosen: Chosen[]; size: LabelSize }) {
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

interface BodyProps extends Labelled {
  address: string | null;
  studio: string;
}

/** Letters of hazard statements that find room beside the QR code. */
const ROOM = 150;

function statementWords(hCodes: readonly string[]): string {
  const texts = `${hCodes.map((code) => H_TEXTS[code] ?? code).join('. ')}.`;
  return texts.length <= ROOM ? texts : `${hCodes.join(', ')}: in words on the hazard label.`;
}

/** Least side of a pictogram, where the whole label in its layout hangs beside this one. */
const SMALL_MM = 10;

function BodyLabel({ code, name, colour, hazards, address, studio }: BodyProps) {
  const { signalWord, pictograms, hCodes, food } = hazards;
  return (
    <>
      <p class="label-name">
        <Chip colour={colour} /> {name}
      </p>
      <p class="label-code">{code}</p>
      {address && <Qr text={address} label={`QR code of ${address}`} />}
      {hCodes.length === 0 ? (
        <p class="label-small">{CAUTION}</p>
      ) : (
        <div class="label-hazards">
          <Pictograms codes={pictograms} sideMm={SMALL_MM} />
          <p>
            {signalWord && <b class="ghs-signal">{signalWord} </b>}
            {statementWords(hCodes)}
          </p>
        </div>
      )}
      <p class="label-small label-foot">
        {food && <b>{food}. </b>}
        {studio}
        {address && `, ${address.replace(/^https?:\/\//, '')}`}
      </p>
    </>
  );
}

const withTexts = (codes: readonly string[], texts: Readonly<Record<string, string>>) =>
  codes.map((code) => ({ code, text: texts[code] ?? '' }));

/** Pictograms of the least size that find room one below the other. */
const MOST_ON_LABEL = 2;

function Crowded({ chosen }: Pick<LabelsPageProps, 'chosen'>) {
  const crowded = chosen.filter(({ hazards }) => hazards.pictograms.length > MOST_ON_LABEL);
  if (crowded.length === 0) return null;
  return (
    <div class="screen-only">
      <Notice title="More than fits on one label">
        <p>
          {crowded.map(({ name }) => name).join(', ')}: three pictograms or more. Hang the bucket’s notice,
          printed at A5, on it instead.
        </p>
      </Notice>
    </div>
  );
}

function HazardLabel({ code, name, hazards, address, studio }: BodyProps) {
  const { signalWord, pictograms, hCodes, pCodes, supplement, isPartUnknown, food } = hazards;
  return (
    <GhsLabel
      size="label"
      product={`${name} ${code}, glaze slurry`}
      signalWord={signalWord}
      pictograms={pictograms}
      hStatements={withTexts(hCodes, H_TEXTS)}
      pStatements={withTexts(pCodes, P_TEXTS)}
      supplemental={[
        ...supplement,
        CAUTION,
        isPartUnknown
          ? 'Nothing is known of some of what is in it. No class shown does not mean harmless.'
          : 'No class shown does not mean harmless.',
        ...(food ? [`${food}.`] : []),
      ]}
      responsible={studio}
      address={address}
    />
  );
}

const LidLabel = ({ code, name }: Chosen) => (
  <>
    <p class="label-name">{name}</p>
    <p class="label-code">{code}</p>
  </>
);
