import { fillLoadFees } from '../../kilns/service/fee-gate.ts';
import { fillPieceFees } from '../../ware/service/fee-gate.ts';
import { chargeLoad, creditLoss, creditLost, strikeLost } from './charging.ts';
import { hasPrices, keepQuotes, previewQuote, quoteShown } from './quoting.ts';

/** What kilns and ware ask of fees, which they cannot know. */
export function fillFeeGates(): void {
  fillLoadFees({ emptied: chargeLoad, judged: creditLoss });
  fillPieceFees({
    quoted: keepQuotes,
    preview: previewQuote,
    hasPrices,
    shown: quoteShown,
    lost: creditLost,
    foundAgain: strikeLost,
  });
}
