import { z } from 'zod';
import { CalculatorPage, Conversions, WaysFound } from '../../../views/buckets/calculator.tsx';
import { Invalid } from '../../core/errors.ts';
import { choice, quantity, readForm } from '../../core/forms.ts';
import {
  type Answer,
  emptyForm,
  type FormState,
  page,
  type Visit,
  wantsFragment,
} from '../../core/routes.ts';
import { type Way, ways } from '../advice.ts';
import { onEveryScale, SCALE_NAMES, type ScaleName } from '../scales.ts';
import { readerOf } from './reader.ts';

const adviceForm = z.object({
  litres: quantity(0.01, 1000, 'L'),
  sg: quantity(1, 4),
  aim: quantity(1, 4),
  density: quantity(1.01, 8),
  capacity: quantity(0.01, 1000, 'L').optional(),
  blend: quantity(1, 4).optional(),
});
const conversionForm = z.object({ value: quantity(0, 1000), scale: choice(SCALE_NAMES) });

/** Everything is in the address, so that it works without a script and can be kept or sent. */
export async function showCalculator(visit: Visit): Promise<Answer> {
  const { query } = visit;
  const reader = readerOf(visit);
  const advice = answered(query.litres, () => adviseOn(visit));
  const conversion = answered(query.value, () => convert(visit));
  if (wantsFragment(visit.request)) {
    const part =
      query.value === undefined ? <WaysFound {...advice} reader={reader} /> : <Conversions {...conversion} />;
    return page('Calculator', 'calculator', part);
  }
  return page(
    'Calculator',
    'calculator',
    <CalculatorPage
      advice={advice}
      conversion={conversion}
      form={(errors) => ({ ...emptyForm(query), errors })}
      reader={reader}
    />,
  );
}

export interface Answered<T> {
  found: T | null;
  errors: FormState['errors'];
}

/** What a form that was sent gives, or what is wrong with it; nothing for one that was not sent. */
function answered<T>(sent: unknown, compute: () => T): Answered<T> {
  if (sent === undefined) return { found: null, errors: [] };
  try {
    return { found: compute(), errors: [] };
  } catch (error) {
    if (error instanceof Invalid) return { found: null, errors: error.errors };
    if (error instanceof RangeError) return { found: null, errors: [{ path: '', message: error.message }] };
    throw error;
  }
}

function adviseOn(visit: Visit): { aim: number; ways: Way[] } {
  const asked = readForm(adviceForm, visit.query, visit.formSetting);
  return {
    aim: asked.aim,
    ways: ways({
      litres: asked.litres,
      specificGravity: asked.sg,
      target: asked.aim,
      solidsDensity: asked.density,
      ...(asked.capacity !== undefined && { capacityLitres: asked.capacity }),
      ...(asked.blend !== undefined && { blendSpecificGravity: asked.blend }),
    }),
  };
}

function convert(visit: Visit): { scale: ScaleName; text: string }[] {
  const { value, scale } = readForm(conversionForm, visit.query, visit.formSetting);
  return onEveryScale(value, scale);
}
