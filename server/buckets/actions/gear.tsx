import type { z } from 'zod';
import { GEAR_PAGES, type GearKind, GearKindPage, GearPage } from '../../../views/buckets/gear.tsx';
import type { Act } from '../../core/actor.ts';
import { NotFound } from '../../core/errors.ts';
import { readForm } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import * as gear from '../service/index.ts';

/** How each kind of gear is read from its form, added and retired. */
interface Keeping<B extends z.ZodType = z.ZodType> {
  body: B;
  add(act: Act, body: z.output<B>): Promise<{ code: string }>;
  retire(act: Act, code: string): Promise<void>;
}

const keeping = <B extends z.ZodType>(k: Keeping<B>): Keeping => k as unknown as Keeping;

const instruments = keeping({
  body: gear.instrumentBody,
  add: gear.addInstrument,
  retire: gear.retireInstrument,
});

const KEEPING: Record<GearKind, Keeping> = {
  cups: keeping({ body: gear.cupBody, add: gear.addCup, retire: gear.retireCup }),
  scales: instruments,
  hydrometers: instruments,
  'flow-cups': instruments,
  floats: keeping({ body: gear.floatBody, add: gear.addFloat, retire: gear.retireFloat }),
};

export const showGear = async (visit: Visit): Promise<Answer> =>
  page('Gear', 'wall', <GearPage gear={await everything(visit)} />);

export async function showGearKind(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const kind = kindOf(visit);
  return page(
    GEAR_PAGES[kind].title,
    'wall',
    <GearKindPage
      kind={kind}
      gear={await everything(visit)}
      added={[visit.query.added].flat()[0]}
      form={form}
      newKey={randomSecret()}
    />,
  );
}

export const saveGear = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showGearKind(visit, form),
    async () => {
      const kind = kindOf(visit);
      const { body, add } = KEEPING[kind];
      const read = readForm(body, { ...visit.typed, kind: GEAR_PAGES[kind].instrument }, visit.formSetting);
      const { code } = await visit.act((act) => add(act, read));
      return go(kind === 'floats' ? `/gear/floats/${code}` : `/gear/${kind}?added=${code}`);
    },
  );

export async function takeOutOfUse(visit: Visit): Promise<Answer> {
  const kind = kindOf(visit);
  await visit.act((act) => KEEPING[kind].retire(act, visit.param('code')));
  return go(`/gear/${kind}`);
}

async function everything({ read }: Visit) {
  const [cups, instruments, floats] = await Promise.all([
    gear.listCups(read),
    gear.listInstruments(read),
    gear.listFloats(read),
  ]);
  return { cups, instruments, floats };
}

function kindOf(visit: Visit): GearKind {
  const kind = visit.param('kind');
  if (!Object.hasOwn(GEAR_PAGES, kind)) throw new NotFound('There is no such gear.');
  return kind as GearKind;
}
