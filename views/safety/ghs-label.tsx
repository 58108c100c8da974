import { Qr } from '../ui/qr.tsx';
import { Pictograms } from './pictogram.tsx';

/**
 * Paper that a label comes on, mm, with the least side of its pictograms by the volume that its size is meant for
 * (EU CLP Regulation, Annex I, table 1.3). A larger sheet than is asked for is always right.
 */
export const GHS_SIZES = {
  a4: { label: 'Wall sheet, A4', hint: '210 × 297 mm', widthMm: 210, heightMm: 297, pictogramMm: 46 },
  a5: {
    label: 'Wall sheet, A5',
    hint: '148 × 210 mm, any volume',
    widthMm: 148,
    heightMm: 210,
    pictogramMm: 46,
  },
  label: {
    label: 'Label',
    hint: '105 × 74 mm, for up to 50 L',
    widthMm: 105,
    heightMm: 74,
    pictogramMm: 23,
  },
} as const;
export type GhsSize = keyof typeof GHS_SIZES;

export const isGhsSize = (value: unknown): value is GhsSize =>
  typeof value === 'string' && Object.hasOwn(GHS_SIZES, value);

interface Statement {
  code: string;
  text: string;
}

export interface GhsLabelProps {
  /** What is in it, as people here call it, with its code. */
  product: string;
  signalWord: 'Danger' | 'Warning' | null;
  pictograms: readonly string[];
  hStatements: readonly Statement[];
  pStatements: readonly Statement[];
  /** What is said besides: by task, of food, of children. */
  supplemental?: readonly string[];
  /** Who answers for it, and where they are found. */
  responsible: string;
  /** What the QR code says; null while no phone could open it. */
  address: string | null;
  size: GhsSize;
}

/** A label in the layout of the UN's system, black on white in every theme and on paper. */
export function GhsLabel(props: GhsLabelProps) {
  const { product, signalWord, pictograms, hStatements, pStatements, supplemental = [], size } = props;
  return (
    <article class={`ghs-label is-${size}`}>
      <div class="ghs-text">
        <div class="ghs-head">
          <div>
            <p class="ghs-product">{product}</p>
            {signalWord && <p class="ghs-signal">{signalWord}</p>}
          </div>
          {props.address && <Qr text={props.address} label={`QR code of ${props.address}`} />}
        </div>
        <Statements of={hStatements} />
        <Statements of={pStatements} />
        {supplemental.map((words) => (
          <p key={words}>{words}</p>
        ))}
        <p class="ghs-foot">
          {props.responsible}
          {props.address && `, ${props.address.replace(/^https?:\/\//, '')}`}
        </p>
      </div>
      <Pictograms codes={pictograms} sideMm={GHS_SIZES[size].pictogramMm} />
    </article>
  );
}

function Statements({ of }: { of: readonly Statement[] }) {
  if (of.length === 0) return null;
  return (
    <ul class="ghs-statements">
      {of.map(({ code, text }) => (
        <li key={code}>
          <b>{code}</b> {text}
        </li>
      ))}
    </ul>
  );
}
