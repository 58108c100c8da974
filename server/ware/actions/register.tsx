import type { z } from 'zod';
import { ChangePage, PickFormPage, RegisterPage, type Start } from '../../../views/ware/register.tsx';
import { Invalid } from '../../core/errors.ts';
import { type Picture, pictureIn } from '../../core/files.ts';
import type { Typed } from '../../core/forms.ts';
import { numberIn } from '../../core/param.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { fromKg } from '../../core/units.ts';
import { numbersIn } from '../numbers.ts';
import { type Form, isForm, PRESETS } from '../presets.ts';
import {
  changeForm,
  changePieces,
  findPiece,
  keepPhoto,
  listClays,
  listGroups,
  listOwnMarks,
  type PieceNow,
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
export async function showRegister(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const name = formNamed(form.typed.what ?? visit.query.form);
  const choices = await toChooseFrom(visit);
  if (name === undefined)
    return page('Register pieces', 'ware', <PickFormPage technician={choices.reader.technician} />);
  const usual = await usualFor(visit.read);
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
    <RegisterPage start={start} form={form} person={visit.caller.name} {...choices} />,
  );
}

export const register = (visit: Visit): Promise<Answer> =>
  withPicture(
    visit,
    (form) => showRegister(visit, form),
    async (picture) => {
      const command = aboutPiece(visit, registerForm);
      const { numbers } = await visit.act((act) => registerPieces(act, command, picture));
      return go(`/ware?did=registered&pieces=${numbers.join(',')}`);
    },
  );

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
  return [...clays, { ...clay, firedShrinkPercent: 0, note: '', isRetired: true }];
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
  work: (picture: Picture | null) => Promise<Answer>,
): Promise<Answer> {
  let picture: Picture | null = null;
  return visit.submit(
    async (form) => {
      const kept = picture;
      if (!kept) return show(form);
      await visit.services.database.transaction((tx) => keepPhoto({ ...visit.read, tx }, kept));
      return show({ ...form, typed: { ...form.typed, kept: kept.sha256 } });
    },
    async () => {
      const upload = visit.upload('photo');
      picture = upload && (await pictureIn(upload, 'photo'));
      return work(picture);
    },
  );
}
