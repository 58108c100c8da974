import { z } from 'zod';
import { choice, code, count, quantity } from '../../core/forms.ts';
import { newlyMixed } from '../gates.ts';
import { DRY_HOWS, isEmpty, isThrough, WEIGHING_MOMENTS, wetnessOf } from '../route.ts';
import type { Stage } from '../stage.ts';
import { atBench, coated, coatForm, grams, struck, weighed } from './bench-entries.ts';
import { routeFor } from './ledger.ts';
import { empty, move, note, unglazable } from './move.ts';
import { bucketFor, refuse } from './move-entries.ts';
import { benchCoats, type PieceNow } from './now.ts';
import { wareSettings } from './settings.ts';

const MOST_OVERLAPS = 3;

const nothingOn = (piece: PieceNow): string | null =>
  benchCoats(piece.glazes).length === 0 ? `Nothing was put on piece ${piece.number} at the bench yet.` : null;

/** What is done to pieces at the glazing bench, beside the other moves. */
export const BENCH_MOVES = {
  plan: move({
    permission: 'ware.own',
    label: 'Keep the plan',
    summary: 'Say what goes where: inside, outside, and over it; nothing at all takes the plan back',
    body: z.strictObject({
      inside: code().optional(),
      outside: code().optional(),
      over: z.array(code()).max(MOST_OVERLAPS, `At most ${MOST_OVERLAPS} overlaps.`).default([]),
    }),
    refusal: unglazable,
    async entries(act, { inside, outside, over }, pieces) {
      const known = async (one: string | undefined, path: string) =>
        one === undefined ? null : (await bucketFor(act, one, path)).code;
      const plan = {
        inside: await known(inside, 'inside'),
        outside: await known(outside, 'outside'),
        over: [] as string[],
      };
      for (const [at, one] of over.entries()) plan.over.push((await bucketFor(act, one, `over.${at}`)).code);
      const isOver = plan.over.length > 0 && plan.inside === null && plan.outside === null;
      if (isOver && pieces.some(({ glazes }) => glazes.length === 0))
        throw refuse('over', 'An overlap goes over something: say what is under it.');
      const kept = isEmpty(plan) ? null : plan;
      return ({ stage, glazes }) => {
        // A plan that shrinks may be through by what is on already.
        const isOn = isThrough({ plan: kept, coats: benchCoats(glazes) });
        const isGlazed = isOn && (['made', 'drying', 'bisqued'] as Stage[]).includes(stage);
        return { kind: 'planned', stage: isGlazed ? 'glazed' : undefined, payload: { plan } };
      };
    },
  }),

  waxed: move({
    permission: 'ware.own',
    label: 'Foot waxed and clean',
    summary: 'Its foot is waxed, and it is clean',
    body: empty,
    refusal: unglazable,
    entries: async () => () => ({ kind: 'waxed' }),
  }),

  coat: move({
    permission: 'ware.own',
    label: 'The coat is on',
    summary:
      "One coat of glaze, as it went on; it is written into the bucket's ledger too. Needs `confirm` where another person just put the same on",
    body: coatForm,
    refusal: unglazable,
    entries: coated,
  }),

  weigh: move({
    permission: 'ware.own',
    label: 'Weigh it',
    summary: 'What it weighs: bare, just glazed, or later while it dries',
    body: z.strictObject({ grams: grams(), moment: choice(WEIGHING_MOMENTS).default('later') }),
    oneBy: 'grams',
    refusal: unglazable,
    entries: weighed,
  }),

  'strike-weighing': move({
    permission: 'ware.own',
    label: 'Strike it out',
    summary: 'A weighing was wrong: it counts no more',
    body: z.strictObject({ event: count(1, 2 ** 31 - 1), note }),
    oneBy: 'event',
    refusal: unglazable,
    entries: struck,
  }),

  'inside-dry': move({
    permission: 'ware.own',
    label: 'It is dry',
    summary: 'It is dry enough for its next coat, by the cheek or by the scale',
    body: z.strictObject({ how: choice(DRY_HOWS).default('cheek') }),
    refusal: (piece) => unglazable(piece) ?? nothingOn(piece),
    async entries(act, { how }, pieces) {
      const { routes, settings } = await atBench(act, pieces);
      return (piece) => {
        const wetness = wetnessOf(routeFor(routes, piece), settings, act.now);
        const onWet = wetness.state === 'wet' && wetness.by === 'scale';
        return { kind: 'inside-dry', payload: { how, ...(onWet && { onWet }) } };
      };
    },
  }),

  scratch: move({
    permission: 'ware.own',
    label: 'Scratched with a pin',
    summary: 'How thick a raw coat is, dry, where a pin went through it',
    body: z.strictObject({ position: count(1, 1000), mm: quantity(0.05, 5, 'mm') }),
    oneBy: 'mm',
    refusal: (piece) =>
      unglazable(piece) ??
      (piece.glazes.some(({ load }) => load === null)
        ? null
        : `Piece ${piece.number} has no raw glaze on it.`),
    async entries(act, { position, mm }, pieces) {
      const settings = await wareSettings(act);
      const isOn = pieces.every(({ glazes }) =>
        glazes.some((one) => one.position === position && one.load === null),
      );
      if (!isOn) throw refuse('position', 'No raw coat on it has this number.');
      return (piece) => {
        const after = piece.glazes.map((one) =>
          one.position === position ? { ...one, scratchMm: mm } : one,
        );
        return {
          kind: 'scratched',
          payload: {
            scratch: { position, mm },
            endsYes: newlyMixed(piece.glazes, after, settings).length > 0,
          },
          thickness: { position, change: { scratchMm: mm } },
        };
      };
    },
  }),
} as const;
