import { z } from 'zod';
import type { Read } from '../../core/actor.ts';
import { Invalid } from '../../core/errors.ts';
import { choice, quantity, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import {
  type Exposure,
  type ExposureLimit,
  exposure,
  KNOWN_LIMITS,
  type KnownLimitKey,
  leadLimit,
  type Mixture,
  SHIFT_HOURS,
  together,
} from '../exposure.ts';

export const MOST_TASKS = 8;
const MOST_SUBSTANCES = 10;
const LIMIT_KEYS = Object.keys(KNOWN_LIMITS) as [KnownLimitKey, ...KnownLimitKey[]];

/** A task as it is typed: measured, unless it is said otherwise. */
export const taskBody = z.strictObject({
  hours: quantity(0.01, 24, 'h'),
  concentration: quantity(0, 1_000_000_000).nullable().optional(),
  basis: choice(['measured', 'assumed', 'not-measured']).default('measured'),
});

const limits = {
  /** One that the law names; else `limit` itself. */
  substance: choice(LIMIT_KEYS).optional(),
  limit: quantity(0.000_001, 1_000_000_000).optional(),
  actionLevel: quantity(0.000_001, 1_000_000_000).optional(),
};

const tasks = z.array(taskBody).min(1, 'At least one task.').max(MOST_TASKS, `At most ${MOST_TASKS} tasks.`);

const substanceBody = z.strictObject({ name: text(80).optional(), tasks, ...limits });

export const exposureBody = z.strictObject({
  unit: choice(['ug/m3', 'mg/m3', 'ppm']).default('ug/m3'),
  tasks: tasks.optional(),
  ...limits,
  substances: z
    .array(substanceBody)
    .min(1, 'At least one substance.')
    .max(MOST_SUBSTANCES, `At most ${MOST_SUBSTANCES} substances.`)
    .optional(),
});
export type ExposureCommand = z.output<typeof exposureBody>;
type Substance = z.output<typeof substanceBody>;

const UNITS = { 'ug/m3': 'µg/m³', 'mg/m3': 'mg/m³', ppm: 'ppm' } as const;

export interface JudgedSubstance extends Exposure {
  name: string;
  source: string | null;
}

export interface JudgedExposure {
  substances: JudgedSubstance[];
  /** All of them in one air. */
  mixture: Mixture;
}

/**
 * The air of a shift held against its limits: one substance, or several in one air. Nothing of it is kept.
 * @throws Invalid without a limit or with two, for more than a day of tasks, and for measurements without a figure
 */
export function judgeExposure(read: Read, command: ExposureCommand): JudgedExposure {
  mustBeAllowed(read.actor, 'safety.see');
  const { unit, tasks: alone, substances, ...limit } = command;
  if ((alone === undefined) === (substances === undefined))
    throw new Invalid([{ path: 'tasks', message: 'Give either tasks with a limit, or substances.' }]);
  const asked = alone
    ? [judgeOne({ tasks: alone, ...limit }, unit, '')]
    : (substances ?? []).map((one, at) => judgeOne(one, unit, `substances.${at}.`));
  return { substances: asked, mixture: together(asked) };
}

function judgeOne(substance: Substance, unit: keyof typeof UNITS, at: string): JudgedSubstance {
  const refuse = (path: string, message: string) => new Invalid([{ path: `${at}${path}`, message }]);
  const known = substance.substance && KNOWN_LIMITS[substance.substance];
  if (known && unit !== 'ug/m3') throw refuse('substance', 'The limits known here are in µg/m³.');
  if (known && substance.limit !== undefined)
    throw refuse('limit', 'Either a substance with its known limit, or a limit that you type: not both.');
  const limit: ExposureLimit | null =
    known ??
    (substance.limit ? { value: substance.limit, actionLevel: substance.actionLevel ?? null } : null);
  if (!limit) throw refuse('limit', 'Choose a substance, or type its limit.');
  const hours = substance.tasks.reduce((sum, task) => sum + task.hours, 0);
  if (hours > 24) throw refuse('tasks', `The tasks take ${Number(hours.toFixed(2))} hours: a day has 24.`);
  substance.tasks.forEach(({ basis, concentration }, i) => {
    if (basis !== 'not-measured' && (concentration ?? null) === null)
      throw refuse(`tasks.${i}.concentration`, 'Type what the air held, or say that it was not measured.');
  });
  const judged = exposure(
    substance.tasks.map(({ hours: long, concentration, basis }) => ({
      hours: long,
      concentration: basis === 'not-measured' ? null : (concentration ?? null),
      isMeasured: basis === 'measured',
    })),
    limit,
    UNITS[unit],
  );
  const longer =
    substance.substance === 'lead' && hours > SHIFT_HOURS
      ? ` In a shift of ${Number(hours.toFixed(2))} h lead may average ${Number(leadLimit(hours).toPrecision(3))} µg/m³.`
      : '';
  return {
    ...judged,
    words: judged.words + longer,
    name: known?.name ?? substance.name ?? 'This substance',
    source: known?.source ?? null,
  };
}
