import { z } from 'zod';
import { choice, text } from '../core/forms.ts';
import { clockText, TOLD_KINDS, type ToldKind, type Way, waysOf } from '../core/told.ts';

/** A time of the day as '07:30', read as minutes after midnight. */
const clockTime = () =>
  text(5)
    .regex(/^([01]\d|2[0-3]):[0-5]\d$/, 'A time such as 22:00.')
    .transform((typed) => Number(typed.slice(0, 2)) * 60 + Number(typed.slice(3)));

const way = (kind: ToldKind) => choice(waysOf(kind) as [Way, ...Way[]]).optional();
const ways = Object.fromEntries(TOLD_KINDS.map((kind) => [kind, way(kind)])) as Record<
  ToldKind,
  ReturnType<typeof way>
>;

/** A way for each kind, one that is left out staying as it was, and the hours without mail: none given ends them. */
export const toldForm = z
  .strictObject({ ...ways, quietFrom: clockTime().optional(), quietUntil: clockTime().optional() })
  .refine(({ quietFrom, quietUntil }) => (quietFrom === undefined) === (quietUntil === undefined), {
    path: ['quietUntil'],
    message: 'Give both times, or none.',
  })
  .refine(({ quietFrom, quietUntil }) => quietFrom === undefined || quietFrom !== quietUntil, {
    path: ['quietUntil'],
    message: 'Another time than the first, or nobody could reach you by mail.',
  });

export type ToldEntry = z.output<typeof toldForm>;

/** When the day's list goes out. */
export const dayForm = z.strictObject({ digestAt: clockTime() });

/** What a field for a time holds; '' for none. */
export const typedTime = (minute: number | null): string => (minute === null ? '' : clockText(minute));
