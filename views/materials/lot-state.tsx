import { shownDay } from '../../server/core/wall-time.ts';
import type { LotNow } from '../../server/materials/service/index.ts';
import { State } from '../ui/icons.tsx';

/** What speaks against a lot; nothing where nothing does. */
export function LotState({ lot }: { lot: Pick<LotNow, 'recalledAt' | 'isExpired' | 'expiresOn'> }) {
  if (lot.recalledAt !== null) return <State state="do-not-use" words="Recalled" />;
  if (lot.isExpired) return <State state="ask-technician" words={`Good until ${shownDay(lot.expiresOn)}`} />;
  return null;
}
