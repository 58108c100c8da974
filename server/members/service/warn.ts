import type { Act } from '../../core/actor.ts';
import { tell } from '../../core/messages.ts';

export const NOT_YOU = 'If that was not you, tell a technician or manager at once.';

/** Tells a person what was done about how they sign in, whoever did it: if it was not them, they must hear of it. */
export const warn = (
  { tx, now }: Pick<Act, 'tx' | 'now'>,
  personId: number,
  words: string,
  href = '/me',
): Promise<void> => tell({ tx, now, actor: null }, { personIds: [personId], kind: 'sign-in', words, href });
