/** One thing done in a shift: how long, and what the air held meanwhile. */
export interface ExposureTask {
  hours: number;
  /** µg/m³, or whatever unit the limit is in; null where nobody measured it. */
  concentration: number | null;
  /** Whether it was measured here, at this task; else somebody thinks so. */
  isMeasured: boolean;
}

/** A limit over eight hours, as a law or a list has it. */
export interface ExposureLimit {
  value: number;
  /** From here on more is asked for by law; null where there is none. */
  actionLevel: number | null;
}

/** Hours that an average is taken over, whatever the shift (29 CFR 1910.1000(d)(1)(i)). */
export const SHIFT_HOURS = 8;

/**
 * The average over eight hours: E = Σ C·T ÷ 8 (29 CFR 1910.1000(d)(1)(i)). Time that no task covers counts as none.
 * @param tasks hours and concentration, which comes back in its own unit; any longer shift divides by eight as well
 */
export const average8h = (tasks: readonly { hours: number; concentration: number }[]): number =>
  tasks.reduce((sum, { hours, concentration }) => sum + hours * concentration, 0) / SHIFT_HOURS;

/**
 * The sum over substances in one air: Em = Σ C ÷ L; over its limit above 1 (29 CFR 1910.1000(d)(2)(i)).
 * @throws RangeError where a limit is not above 0
 */
export function mixtureSum(substances: readonly { average: number; limit: number }[]): number {
  if (substances.some(({ limit }) => !(limit > 0))) throw new RangeError('A limit is above 0.');
  return substances.reduce((sum, { average, limit }) => sum + average / limit, 0);
}

/**
 * What lead in the air may average over a shift of more than eight hours: 400 ÷ hours, µg/m³
 * (29 CFR 1910.1025(c)(2)); 50 up to eight.
 * @throws RangeError where the hours are not between 0 and 24
 */
export function leadLimit(hours: number): number {
  if (!(hours > 0 && hours <= 24)) throw new RangeError('A shift has more than 0 and at most 24 hours.');
  return 400 / Math.max(hours, SHIFT_HOURS);
}

export type ExposureState = 'unknown' | 'assumed' | 'over' | 'action-level' | 'below';

export interface Exposure {
  /** Over eight hours, in the unit of the limit; null where a task was not measured and nobody assumed anything. */
  average: number | null;
  limit: number;
  /** Of the limit. */
  share: number | null;
  state: ExposureState;
  words: string;
}

export const UNMEASURED = 'Not measured: unknown. Respirator and wet methods.';

const figure = (value: number): string => String(Number(value.toPrecision(4)));
const percent = (share: number): string => `${figure(Math.round(share * 1000) / 10)} %`;
const isOver = (share: number): boolean => share > 1 + 1e-9;

/**
 * A shift held against one limit. Only what was measured can be below a limit: what somebody assumed never is, and
 * what nobody measured is unknown, unless the measured tasks alone are over already.
 * @throws RangeError where the limit is not above 0 or the tasks make more than a day
 */
export function exposure(tasks: readonly ExposureTask[], limit: ExposureLimit, unit = 'µg/m³'): Exposure {
  if (!(limit.value > 0)) throw new RangeError('A limit is above 0.');
  const hours = tasks.reduce((sum, task) => sum + task.hours, 0);
  if (hours > 24 + 1e-9 || tasks.some((task) => !(task.hours > 0)))
    throw new RangeError('The tasks of a shift take more than 0 and at most 24 hours.');
  const known = tasks.flatMap(({ concentration, ...task }) =>
    concentration === null ? [] : [{ ...task, concentration }],
  );
  const isMissing = tasks.length === 0 || known.length < tasks.length;
  const measured = average8h(known.filter(({ isMeasured }) => isMeasured));
  if (isOver(measured / limit.value)) return told(measured, limit, 'over', unit, isMissing);
  if (isMissing)
    return { average: null, limit: limit.value, share: null, state: 'unknown', words: UNMEASURED };
  const average = average8h(known);
  if (known.some(({ isMeasured }) => !isMeasured)) return told(average, limit, 'assumed', unit);
  const isActed = limit.actionLevel !== null && average >= limit.actionLevel * (1 - 1e-9);
  return told(average, limit, isActed ? 'action-level' : 'below', unit);
}

function told(
  average: number,
  limit: ExposureLimit,
  state: Exclude<ExposureState, 'unknown'>,
  unit: string,
  isPart = false,
): Exposure {
  const share = average / limit.value;
  const said = `${figure(average)} ${unit} over eight hours, ${percent(share)} of the limit of ${figure(limit.value)}`;
  const words = {
    over: `${said}: above it${isPart ? ' by what was measured alone' : ''}. Stop, and find a way that makes less dust.`,
    assumed: `${said}, if what was assumed is right. Only a measurement can show how it stands: until then respirator and wet methods.`,
    'action-level': `${said}: not above it, but at or above the action level of ${figure(limit.actionLevel ?? 0)}. Measure regularly and find ways that make less dust.`,
    below: `${said}: below the limit${limit.actionLevel === null ? '' : ' and the action level'} as measured.`,
  }[state];
  return { average, limit: limit.value, share, state, words };
}

export interface Mixture {
  /** Σ C ÷ L; null where something is unknown. */
  sum: number | null;
  state: Exclude<ExposureState, 'action-level'>;
  words: string;
}

/** Several substances in one air together, from the exposure to each (29 CFR 1910.1000(d)(2)(i)). */
export function together(exposures: readonly Exposure[]): Mixture {
  const known = exposures.flatMap(({ average, limit, state }) =>
    average === null ? [] : [{ average, limit, state }],
  );
  const sum = mixtureSum(known);
  const certain = mixtureSum(known.filter(({ state }) => state !== 'assumed'));
  const said = `Together ${figure(sum)} of the limit of 1`;
  if (isOver(certain)) return { sum, state: 'over', words: `${said}: above it.` };
  if (known.length < exposures.length || exposures.length === 0)
    return { sum: null, state: 'unknown', words: UNMEASURED };
  if (exposures.some(({ state }) => state === 'assumed'))
    return {
      sum,
      state: 'assumed',
      words: `${said}, if what was assumed is right. Only a measurement can show how it stands: until then respirator and wet methods.`,
    };
  return { sum, state: 'below', words: `${said}: not above it as measured.` };
}

interface KnownLimit extends ExposureLimit {
  name: string;
  source: string;
}

/** Limits of US law for the air at work, µg/m³. Local law decides, and often asks for less. */
export const KNOWN_LIMITS = {
  silica: {
    name: 'Respirable crystalline silica',
    value: 50,
    actionLevel: 25,
    source: '29 CFR 1910.1053',
  },
  lead: { name: 'Lead', value: 50, actionLevel: 30, source: '29 CFR 1910.1025' },
  cadmium: {
    name: 'Cadmium',
    value: 5,
    // From memory.
    actionLevel: 2.5,
    source: '29 CFR 1910.1027 (look its action level up there)',
  },
  'chromium-vi': { name: 'Chromium(VI)', value: 5, actionLevel: 2.5, source: '29 CFR 1910.1026' },
  'chromium-iii': {
    name: 'Chromium(III) compounds, as chromium',
    value: 500,
    actionLevel: null,
    source: '29 CFR 1910.1000 table Z-1',
  },
  cobalt: { name: 'Cobalt dust', value: 100, actionLevel: null, source: '29 CFR 1910.1000 table Z-1' },
  nickel: { name: 'Nickel', value: 1000, actionLevel: null, source: '29 CFR 1910.1000 table Z-1' },
  barium: {
    name: 'Barium, soluble, as barium',
    value: 500,
    actionLevel: null,
    source: '29 CFR 1910.1000 table Z-1',
  },
  copper: {
    name: 'Copper dust, as copper',
    // From memory.
    value: 1000,
    actionLevel: null,
    source: '29 CFR 1910.1000 table Z-1 (look it up there)',
  },
} as const satisfies Record<string, KnownLimit>;
export type KnownLimitKey = keyof typeof KNOWN_LIMITS;
