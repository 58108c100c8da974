import type { z } from 'zod';
import {
  ChangePage,
  PickFormPage,
  PriceFound,
  RegisterPage,
  type Start,
} from '../../../views/ware/register.tsx';
import { Invalid } from '../../core/errors.ts';
import { type Picture, pictureIn } from '../../core/files.ts';
import type { Typed } from '../../core/forms.ts';
import { numberIn } from '../../core/param.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { fromKg } from '../../core/units.ts';
import { numbersIn } from '../numbers.ts';
import { type Form, isForm, PRESETS } from '../presets.ts';
import type { PieceFees } from '../service/fee-gate.ts';
import {
  changeForm,
  changePieces,
  findPiece,
  hasPrices,
  keepPhoto,
  listClays,
  listGroups,
  listOwnMarks,
  type PieceNow,
  previewPrice,
  registerForm,
  registerPieces,
  siblings,
  usualFor,
} from '../service/index.ts';
import { extentOf, type Footprint } from '../size.ts';
import { readerOf } from './reader.ts';

export const NO_PIECE = 'There is no such piece.';

const formNamed = (name: unknown): Form | undefined =>
  typeof name === 'string' && isForm(name) ? name : undefined;

const ground = (footprint: Footprint) => ({ shape: footprint.shape, ...extentOf(footprint) });

/** What every form about a piece offers to choose from. */
async function toChooseFrom(visit: Visit) {
  const [clays, groups, marks] = await Promise.all([
    listClays(visit.read),
    listGroups(visit.read),
    listOwnMarks(visit.read),
  ]);
  return { clays, groups, marks: marks.map(({ text }) => text), reader: readerOf(visit) };
}

/** First what it is; then its form, begun as it usually is and as this person registered last. */
export async function showRegister(
  visit: Visit,
  form: FormState = emptyForm(),
  fees: PieceFees | null = null,
): Promise<Answer> {
  const name = formNamed(form.typed.what ?? visit.query.form);
  const choices = await toChooseFrom(visit);
  if (name === undefined)
    return page('Register pieces', 'ware', <PickFormPage technician={choices.reader.technician} />);
  const [usual, isPriced] = await Promise.all([usualFor(visit.read), hasPrices(visit.read)]);
  const preset = PRESETS[name];
  const start: Start = {
    form: name,
    ...ground(preset.footprint),
    heightMm: preset.heightMm,
    thickestMm: preset.thickestMm,
    isClosed: false,
    hasHole: false,
    clay: usual ? usual.clay : (choices.clays[0]?.name ?? null),
    ownClay: usual?.ownClay ?? null,
    kind: usual?.kind ?? 'glaze',
    cone: usual?.cone ?? '',
    atmosphere: usual?.atmosphere ?? 'oxidation',
    group: usual?.group ?? null,
    payer: null,
    mark: usual?.mark || (choices.marks[0] ?? ''),
    place: usual?.place ?? '',
  };
  return page(
    'Register pieces',
    'ware',
    <RegisterPage
      start={start}
      form={form}
      person={visit.caller.name}
      price={isPriced ? { fees: fees ?? (isFresh(form) ? await usualPrice(visit, start) : null) } : null}
      {...choices}
    />,
  );
}

const isFresh = ({ typed, errors }: FormState): boolean =>
  errors.length === 0 && Object.keys(typed).length === 0;

/** What one would cost as the form starts out; null while something is missing. */
async function usualPrice(visit: Visit, start: Start): Promise<PieceFees | null> {
  const { form, clay, ownClay, kind, cone, atmosphere, group } = start;
  const command = registerForm.safeParse({
    form,
    clay: clay ?? undefined,
    ownClay: ownClay ?? undefined,
    kind,
    cone,
    atmosphere,
    group: group ?? undefined,
  });
  return command.success ? priceUnlessRefused(visit, command.data) : null;
}

async function priceUnlessRefused(
  visit: Visit,
  command: Parameters<typeof previewPrice>[1],
): Promise<PieceFees | null> {
  try {
    return await previewPrice(visit.read, command);
  } catch (error) {
    if (!(error instanceof Invalid)) throw error;
    return null;
  }
}

/** The button that only asks for the price was pressed: nothing is registered. */
const wantsPrice = ({ see }: Typed): boolean => see === 'price';

export const register = (visit: Visit): Promise<Answer> =>
  withPicture(
    visit,
    (form) => showRegister(visit, form),
    async (picture, again) => {
      const command = aboutPiece(visit, registerForm);
      if (wantsPrice(visit.typed)) {
        const fees = await previewPrice(visit.read, command);
        return again((form) => showRegister(visit, form, fees));
      }
      const { numbers } = await visit.act((act) => registerPieces(act, command, picture));
      return go(`/ware?did=registered&pieces=${numbers.join(',')}`);
    },
  );

/** The price alone, as fields of the form change; without it while something in them is missing or wrong. */
export async function showPrice(visit: Visit): Promise<Answer> {
  let command: Parameters<typeof previewPrice>[1] | null = null;
  try {
    command = aboutPiece(visit, registerForm);
  } catch (error) {
    if (!(error instanceof Invalid)) throw error;
  }
  const fees = command && (await priceUnlessRefused(visit, command));
  return page('What firing it will cost', 'ware', <PriceFound fees={fees} />);
}

/** The address of the price, opened by itself, leads to the form. */
export const backToRegister = async (): Promise<Answer> => go('/ware/new');

export async function showChange(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const piece = await findPiece(visit.read, numberIn(visit, 'number', NO_PIECE));
  const [choices, others] = await Promise.all([toChooseFrom(visit), siblings(visit.read, piece)]);
  return page(
    `Put right: piece ${piece.number}`,
    'ware',
    <ChangePage
      piece={piece}
      others={others.map(({ number }) => number)}
      start={startOf(piece, visit)}
      form={form}
      person={piece.owner?.kind === 'person' ? piece.owner.name : visit.caller.name}
      {...choices}
      clays={withItsClay(choices.clays, piece)}
    />,
  );
}

/** A clay that is not offered any more stays on what is made of it. */
function withItsClay(clays: Awaited<ReturnType<typeof listClays>>, { clay }: PieceNow) {
  if (!clay || clays.some(({ id }) => id === clay.id)) return clays;
  return [
    ...clays,
    { ...clay, bisqueProgramme: '', band: null, firedShrinkPercent: 0, note: '', isRetired: true },
  ];
}

function startOf(piece: PieceNow, visit: Visit): Start {
  const { owner, payer, measured } = piece;
  const isMe = ({ kind, id }: NonNullable<PieceNow['payer']>) => kind === 'person' && id === visit.caller.id;
  const isOwnersToo = owner?.kind === payer?.kind && owner?.id === payer?.id;
  const known = formNamed(piece.form);
  return {
    form: known ?? 'other',
    called: known ? undefined : piece.form,
    ...ground(measured.footprint),
    heightMm: measured.heightMm,
    thickestMm: piece.thickestMm,
    kg: piece.kg === null ? undefined : Number(fromKg(piece.kg, visit.caller.units).toFixed(3)),
    isClosed: piece.isClosed,
    hasHole: piece.hasHole,
    clay: piece.clay?.name ?? null,
    ownClay: piece.ownClay,
    ...piece.final,
    wantedBy: piece.wantedBy ?? undefined,
    group: owner?.kind === 'group' ? owner.name : null,
    payer: isOwnersToo || !payer ? null : isMe(payer) ? 'me' : payer.name,
    mark: piece.mark,
    place: piece.place,
    note: piece.note ?? undefined,
  };
}

export const saveChange = (visit: Visit): Promise<Answer> =>
  withPicture(
    visit,
    (form) => showChange(visit, form),
    async (picture) => {
      const number = numberIn(visit, 'number', NO_PIECE);
      const also = alsoIn(visit);
      const command = aboutPiece(visit, changeForm, { also: also.map(String) });
      await visit.act((act) => changePieces(act, number, command, picture));
      return go(`/ware/${number}?did=edit&pieces=${[number, ...also].join(',')}`);
    },
  );

/** The pieces that one tick takes along. Throws Invalid for what no page of ours sends. */
export function alsoIn(visit: Visit): number[] {
  const { also } = visit.typed;
  const numbers = numbersIn([also ?? []].flat().join(','));
  if (!numbers) throw new Invalid('Which pieces go along could not be read. Reload the page.');
  return numbers;
}

/**
 * What a page says of a piece. Its form stands in 'what': a field that is called 'form' hides, from the scripts of the
 * page, the form that it is in.
 */
export function aboutPiece<S extends z.ZodType>(visit: Visit, schema: S, more: Typed = {}): z.output<S> {
  const { what, ...typed } = visit.typed;
  try {
    return visit.form(schema, { ...typed, ...(what !== undefined && { form: what }), ...more });
  } catch (error) {
    if (!(error instanceof Invalid)) throw error;
    throw new Invalid(error.errors.map((one) => (one.path === 'form' ? { ...one, path: 'what' } : one)));
  }
}

/** A form with a photo: refused for something else, it keeps the photo, so that nobody takes it twice. */
export async function withPicture(
  visit: Visit,
  show: (form: FormState) => Promise<Answer>,
  work: (
    picture: Picture | null,
    /** Shows the form once more as it was typed, and keeps the photo. */
    again: (show: (form: FormState) => Promise<Answer>) => Promise<Answer>,
  ) => Promise<Answer>,
): Promise<Answer> {
  let picture: Picture | null = null;
  const keeping = (show: (form: FormState) => Promise<Answer>) => async (form: FormState) => {
    const kept = picture;
    if (!kept) return show(form);
    await visit.services.database.transaction((tx) => keepPhoto({ ...visit.read, tx }, kept));
    return show({ ...form, typed: { ...form.typed, kept: kept.sha256 } });
  };
  return visit.submit(keeping(show), async () => {
    const upload = visit.upload('photo');
    picture = upload && (await pictureIn(upload, 'photo'));
    return work(picture, (once) => keeping(once)(emptyForm(visit.typed)));
  });
}
