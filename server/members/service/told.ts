import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import {
  concerns,
  type Quiet,
  TOLD,
  TOLD_KINDS,
  type ToldKind,
  type Way,
  wayOf,
  waysOf,
} from '../../core/told.ts';
import { choicesOf, digestMinute, keepChoices, setDigestAt, setQuiet } from '../store/told.ts';
import type { ToldEntry } from '../told-form.ts';

export interface ToldPage {
  kinds: { kind: ToldKind; words: string; way: Way; ways: readonly Way[] }[];
  quiet: Quiet;
}

/** What whoever asks can be told of, and how they are. */
export async function ownChoices({ tx, actor }: Read): Promise<ToldPage> {
  mustBeAllowed(actor, 'own.page');
  const { chosen, quiet } = await choicesOf(tx, actor.id);
  return {
    kinds: TOLD_KINDS.filter((kind) => concerns(kind, actor.role)).map((kind) => ({
      kind,
      words: TOLD[kind].words,
      way: wayOf(kind, chosen.get(kind) ?? null),
      ways: waysOf(kind),
    })),
    quiet,
  };
}

/** Keeps what was chosen of that which concerns whoever chooses, and their quiet time; none given ends it. */
export async function chooseOwn(act: Act, { quietFrom, quietUntil, ...ways }: ToldEntry): Promise<void> {
  mustBeAllowed(act.actor, 'own.page');
  const chosen = TOLD_KINDS.flatMap((kind) => {
    const way = ways[kind];
    return way !== undefined && concerns(kind, act.actor.role) ? [{ kind, way }] : [];
  });
  await keepChoices(act.tx, act.actor.id, chosen);
  await setQuiet(act.tx, act.actor.id, { from: quietFrom ?? null, until: quietUntil ?? null });
}

/** When technicians get the day's list, in minutes after midnight in the studio. */
export async function setDayAt(act: Act, { digestAt }: { digestAt: number }): Promise<void> {
  mustBeAllowed(act.actor, 'studio.edit');
  await setDigestAt(act.tx, digestAt);
  await record(act, 'studio.changed', 'studio', { digestAt });
}

/** When that is. */
export const dayAt = ({ tx }: Pick<Read, 'tx'>): Promise<number> => digestMinute(tx);
