import { H_TEXTS, P_TEXTS } from '../../server/materials/hazards.ts';
import type { NoticeNow } from '../../server/safety/service/notices.ts';
import { Filter, Notice } from '../ui/panel.tsx';
import { GHS_SIZES, GhsLabel, type GhsSize } from './ghs-label.tsx';
import { linesOf } from './notice-parts.tsx';
import { Caution } from './parts.tsx';

interface Props {
  notice: NoticeNow;
  /** Sentences beside those of its classes: of allergens, of unknown acute toxicity. */
  supplement: readonly string[];
  size: GhsSize;
  /** What the QR code says; null while no phone could open it. */
  address: string | null;
  studio: string;
}

const SIZES = Object.entries(GHS_SIZES) as [GhsSize, (typeof GHS_SIZES)[GhsSize]][];

const withTexts = (codes: readonly string[], known: Readonly<Record<string, string>>) =>
  codes.map((code) => ({ code, text: known[code] ?? '' }));

export function NoticePrintPage({ notice, supplement, size, address, studio }: Props) {
  const at = `/notices/${notice.number}`;
  return (
    <>
      <div class="screen-only">
        <h1>Print notice {notice.number}</h1>
        <Filter
          label="Size"
          options={SIZES.map(([value, { label }]) => ({
            href: `${at}/print?size=${value}`,
            label,
            current: value === size,
          }))}
        />
        <p class="soft">{GHS_SIZES[size].hint}</p>
        {notice.standing !== 'in-force' && (
          <Notice title="Not in force" tone="ask-technician">
            <p>Take down what was printed of it.</p>
          </Notice>
        )}
        {address === null && (
          <Notice title="Without a QR code for now">
            <p>
              This server does not know the address that people type to reach it (PUBLIC_URL), or it is one
              that only this machine can open. A code printed now would lead nowhere.
            </p>
          </Notice>
        )}
        <button class="do" type="button" data-print>
          Print it
          <small>Print at 100 %, without margins or headings of the browser.</small>
        </button>
      </div>
      <GhsLabel
        product={notice.title}
        signalWord={notice.signalWord}
        pictograms={notice.pictograms}
        hStatements={withTexts(notice.hCodes, H_TEXTS)}
        pStatements={withTexts(notice.pCodes, P_TEXTS)}
        supplemental={[
          ...supplement,
          ...linesOf(notice).map(({ task, words }) => `${task}: ${words}`),
          ...(notice.notForChildren ? ['Not for children.'] : []),
          ...(notice.basis === null ? [] : ['No class shown does not mean harmless.']),
        ]}
        responsible={studio}
        address={address}
        size={size}
      />
      <div class="screen-only">
        <p>
          <a href={at}>Back to the notice</a>
        </p>
        <Caution />
      </div>
    </>
  );
}
