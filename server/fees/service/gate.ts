import { fillLoadFees } from '../../kilns/service/fee-gate.ts';
import { fillPieceFees } from '../../ware/service/fee-gate.ts';
import { chargeLoad, creditLoss } from './charging.ts';
import { creditLost, keepQuotes, previewQuote, quoteShown } from './quoting.ts';

/** What kilns and ware ask of fees, which they cannot know. */
export function fillFeeGates(): void {
  fillLoadFees({ emptied: chargeLoad, judged: creditLoss });
  fillPieceFees({ quoted: keepQuotes, preview: previewQuote, shown: quoteShown, lost: creditLost });
}
