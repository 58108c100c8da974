import type { Way } from './advice.ts';
import type { Facts } from './ledger.ts';
import type { Verdict } from './verdict.ts';

/** The one thing to do next at a bucket, for whoever stands there. */
export type NextAct =
  | {
      do:
        | 'stir'
        | 'dip'
        | 'check'
        | 'ask-level'
        | 'hang-tag'
        | 'return-to-service'
        | 'accept-test'
        | 'use-another'
        /** Stiff with the right amount of water in it. */
        | 'loosen';
    }
  | { do: 'follow'; way: Way }
  /** So much slurry comes out, or the way would overflow the bucket. */
  | { do: 'take-out'; litres: number; way: Way }
  | { do: 'tell-technician'; because: 'thin' | 'full' | 'stiff' };

interface AtTheBucket {
  verdict: Verdict;
  facts: Facts;
  advice: Way | null;
}

/**
 * What to do next. The level is asked before an amount is named that depends on it; what must come out comes
 * before what goes in; what is not a member's to do is the technician's to hear of.
 */
export function nextAct(b: AtTheBucket, who: 'member' | 'technician'): NextAct {
  const { state } = b.verdict;
  switch (state) {
    case 'do-not-use':
      if (b.facts.service === 'do-not-use' && b.facts.tagHungAt === null) return { do: 'hang-tag' };
      return { do: who === 'technician' ? 'return-to-service' : 'use-another' };
    case 'on-test':
      return { do: who === 'technician' ? 'accept-test' : 'use-another' };
    case 'needs-reading':
      return { do: 'check' };
    case 'stir-first':
      return { do: 'stir' };
    case 'ready':
      return { do: 'dip' };
    case 'ask-technician':
      return who === 'technician' ? { do: 'loosen' } : { do: 'tell-technician', because: 'stiff' };
    case 'too-thick':
    case 'too-thin':
      return mend(b, who);
  }
}

/** Every other way open to whoever asks, shown under the first. */
export function otherWays(b: AtTheBucket & { alternatives: Way[] }, next: NextAct): Way[] {
  if (b.verdict.askLevel) return [];
  if (next.do === 'follow' || next.do === 'take-out') return b.alternatives;
  return b.advice === null ? [] : [b.advice, ...b.alternatives];
}

function mend({ verdict, advice }: AtTheBucket, who: 'member' | 'technician'): NextAct {
  if (verdict.state === 'too-thin' && who === 'member') return { do: 'tell-technician', because: 'thin' };
  if (verdict.askLevel) return { do: 'ask-level' };
  if (advice === null) return { do: 'check' };
  if (advice.takeOutFirst === undefined) return { do: 'follow', way: advice };
  if (who === 'member') return { do: 'tell-technician', because: 'full' };
  return { do: 'take-out', litres: advice.takeOutFirst, way: advice };
}
