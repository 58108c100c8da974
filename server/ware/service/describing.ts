import { z } from 'zod';
import type { Read } from '../../core/actor.ts';
import { choice, count, flag, quantity, sha256, text } from '../../core/forms.ts';
import { may } from '../../core/policy.ts';
import { studioTimeZone } from '../../core/session.ts';
import { toWallTime } from '../../core/wall-time.ts';
import { compareCones } from '../cone.ts';
import { ATMOSPHERES, FIRING_KINDS } from '../firing.ts';
import { FORMS, type Form, PRESETS, STACKS } from '../presets.ts';
import { extentOf, MEASURED } from '../size.ts';
import type * as store from '../store/pieces.ts';
import { type Clay, listClays, writtenCone } from './clays.ts';
import { type Group, listGroups, sameName } from './groups.ts';
import type { standingColumns } from './ledger.ts';
import { refuse } from './move-entries.ts';
import type { PieceNow } from './now.ts';

/** Most pieces of one registration. */
const MOST_AT_ONCE = 60;

const BEGINS = ['wet', 'drying', 'bisqued'] as const;
const millimetres = (most: number) => quantity(2, most, 'mm');
const LARGEST_MM = 2000;

/** A day of the studio's calendar, as 2026-03-14. */
const day = () =>
  z.iso
    .date({ error: 'A date such as 2026-03-14.' })
    .refine((value) => value >= '2000-01-01' && value <= '2099-12-31', 'A date of this century.');

/** A photo that came with this form before, when something else in it was refused. */
export const keptPhoto = () => sha256('Choose the photo again.').optional();

const pieceFields = {
  form: choice(FORMS),
  /** What a form of another kind is called. */
  called: text(40).optional(),
  /** Seen from above; without it as the form usually is. */
  shape: choice(['circle', 'rectangle']).optional(),
  /** The diameter of a round one, handle included; sizes left out are the usual ones of the form. */
  widthMm: millimetres(LARGEST_MM).optional(),
  depthMm: millimetres(LARGEST_MM).optional(),
  heightMm: millimetres(LARGEST_MM).optional(),
  measured: choice(MEASURED).optional(),
  thickestMm: quantity(1, 300, 'mm').optional(),
  kg: quantity(0.005, 200, 'kg').optional(),
  stack: choice(STACKS).optional(),
  closed: flag().optional(),
  hole: flag().optional(),
  /** By its name on the list; a clay that is not on it goes into ownClay. */
  clay: text(60).optional(),
  ownClay: text(60).optional(),
  kind: choice(FIRING_KINDS).default('glaze'),
  cone: writtenCone(),
  atmosphere: choice(ATMOSPHERES).default('oxidation'),
  wantedBy: day().optional(),
  /** The name of a household or class it belongs to; without it, whoever registers it. */
  group: text(60).optional(),
  /** Who pays, where that is not the owner: 'me', the name of a group, or of whoever paid before. */
  payer: text(60).optional(),
  mark: text(30).optional(),
  place: text(60).optional(),
  note: text(500).optional(),
  kept: keptPhoto(),
};

export const registerForm = z.strictObject({
  ...pieceFields,
  howMany: count(1, MOST_AT_ONCE).default(1),
  /** How it is now: just made, standing to dry, or brought bisqued. */
  begins: choice(BEGINS).default('wet'),
  /** Glazed raw and fired once: it needs no bisque. */
  once: flag().optional(),
});

/** What may be put right later. */
export const changeForm = z.strictObject({
  ...pieceFields,
  /** Others of its batch that are put right the same way. */
  also: z
    .array(count(1, 2 ** 31 - 1))
    .max(MOST_AT_ONCE)
    .default([]),
});

export const foundForm = z.strictObject({
  form: choice(FORMS),
  called: text(40).optional(),
  looks: choice(['greenware', 'bisque', 'fired']),
  mark: text(30).optional(),
  place: text(60).optional(),
  note: text(500).optional(),
  kept: keptPhoto(),
});

/** What of a piece's row is described; the rest comes from its events. */
export type Columns = Omit<
  store.NewPiece,
  'registeredBy' | 'registeredAt' | 'fileId' | 'noteId' | 'flag' | keyof ReturnType<typeof standingColumns>
>;

type Described = Omit<z.output<typeof registerForm>, 'howMany' | 'begins' | 'once'>;

export const formColumns = ({ form, called }: { form: Form; called?: string | undefined }) => ({
  form: form === 'other' && called ? called : form,
  stack: PRESETS[form].stack,
});

export function sizeColumns({
  form,
  shape,
  widthMm,
  depthMm,
  heightMm,
}: Pick<Described, 'form'> & Partial<Pick<Described, 'shape' | 'widthMm' | 'depthMm' | 'heightMm'>>) {
  const preset = PRESETS[form];
  const footprint = shape ?? preset.footprint.shape;
  const usual = extentOf(preset.footprint);
  const width = widthMm ?? usual.widthMm;
  const depth = footprint === 'circle' ? width : (depthMm ?? widthMm ?? usual.depthMm);
  return { footprint, widthMm: width, depthMm: depth, heightMm: heightMm ?? preset.heightMm };
}

/** The row of what was described, checked against the clays, groups and cones there are. */
export async function columnsOf(
  read: Read,
  command: Described,
  begins: (typeof BEGINS)[number],
  before: PieceNow[],
): Promise<Columns> {
  const { form, kind, cone, atmosphere } = command;
  const clay = await clayOf(read, command, before);
  if (clay && compareCones(clay.maxCone, cone) < 0)
    throw refuse('cone', `${clay.name} stands cone ${clay.maxCone} at most.`);
  const [piece] = before;
  const usual = formColumns(command);
  // Of the same form it keeps what is not said: it may be of another shape than the form usually is, or stack on nothing.
  const alike = piece?.form === usual.form ? piece : undefined;
  const sizes = sizeColumns({ ...command, shape: command.shape ?? alike?.measured.footprint.shape });
  if (kind === 'bisque' && piece && piece.glazes.length > 0)
    throw refuse(
      'kind',
      piece.glazes.every(({ load }) => load === null)
        ? `Piece ${piece.number} carries glaze: wipe it off and say that it stays bare first.`
        : `Piece ${piece.number} carries fired glaze: it is not bisqued any more.`,
    );
  await mustBeAhead(read, command.wantedBy, piece);
  const kept = piece && isSameSize(piece, sizes);
  return {
    form: usual.form,
    stack: command.stack ?? alike?.stack ?? usual.stack,
    ...sizes,
    measured: kept
      ? (stillSoft(piece, command.measured) ?? piece.measured.when)
      : begins === 'bisqued'
        ? 'bisque'
        : whenMeasured(command.measured, begins),
    // Sizes of a new piece are mostly the usual ones of its form: nobody has held a stick to it yet.
    measuredByTechnician: kept
      ? piece.measured.byTechnician
      : piece !== undefined && may(read.actor.role, 'ware.decide'),
    kg: command.kg ?? null,
    thickestMm: command.thickestMm ?? PRESETS[form].thickestMm,
    isClosed: command.closed ?? false,
    hasHole: (command.closed && command.hole) ?? false,
    clayId: clay?.id ?? null,
    ownClay: clay ? null : (command.ownClay ?? null),
    kind,
    cone,
    atmosphere,
    wantedBy: command.wantedBy ?? null,
    mark: command.mark ?? '',
    place: command.place ?? '',
    ...(await holders(read, command, piece)),
  };
}

/** A day that was written before may have passed since; a new one may not. */
async function mustBeAhead(read: Read, wantedBy: string | undefined, before: PieceNow | undefined) {
  if (wantedBy === undefined || wantedBy === before?.wantedBy) return;
  const today = toWallTime(read.now, await studioTimeZone(read.tx)).slice(0, 10);
  if (wantedBy < today) throw refuse('wantedBy', 'That day is over: choose one to come, or none.');
}

/**
 * The same figures are of when they were taken, unless whoever edits says that greenware was wet or dry then. When a
 * technician measured, nobody else says: as wet ware it would be packed smaller than it is.
 */
const stillSoft = ({ isBisqued, measured }: PieceNow, said: Described['measured']) =>
  isBisqued || measured.byTechnician || said === 'bisque' ? undefined : said;

const whenMeasured = (measured: Described['measured'], begins: 'wet' | 'drying') =>
  measured === 'wet' || measured === 'dry'
    ? measured
    : begins === 'wet'
      ? ('wet' as const)
      : ('dry' as const);

function isSameSize({ measured: { footprint, heightMm } }: PieceNow, sizes: ReturnType<typeof sizeColumns>) {
  const { widthMm, depthMm } = extentOf(footprint);
  return (
    footprint.shape === sizes.footprint &&
    widthMm === sizes.widthMm &&
    depthMm === sizes.depthMm &&
    heightMm === sizes.heightMm
  );
}

async function clayOf(read: Read, { clay, ownClay }: Described, before: PieceNow[]): Promise<Clay | null> {
  if (clay === undefined && ownClay === undefined)
    throw refuse('clay', 'Choose the clay, or name it below where it is not on the list.');
  if (clay === undefined) return null;
  if (ownClay !== undefined) throw refuse('ownClay', 'Leave this empty, or choose "not on the list" above.');
  const all = await listClays(read, { withRetired: true });
  const found = all.find(({ name }) => sameName(name, clay));
  const isTheirs = before.some((piece) => piece.clay?.id === found?.id);
  if (!found || (found.isRetired && !isTheirs)) throw refuse('clay', 'Choose a clay from the list.');
  return found;
}

async function holders(read: Read, { group, payer }: Described, before: PieceNow | undefined) {
  const nobody = { ownerId: null, ownerGroupId: null };
  const groups = group === undefined && (payer === undefined || payer === 'me') ? [] : await listGroups(read);
  const owner =
    group === undefined
      ? before?.owner?.kind === 'person'
        ? { ...nobody, ownerId: before.owner.id }
        : { ...nobody, ownerId: read.actor.id }
      : { ...nobody, ownerGroupId: chosenGroup(groups, group, 'group', before?.owner ?? null) };
  if (payer === undefined) return { ...owner, payerId: owner.ownerId, payerGroupId: owner.ownerGroupId };
  if (payer === 'me') return { ...owner, payerId: read.actor.id, payerGroupId: null };
  const was = before?.payer;
  if (was && sameName(was.name, payer))
    return was.kind === 'person'
      ? { ...owner, payerId: was.id, payerGroupId: null }
      : { ...owner, payerId: null, payerGroupId: was.id };
  return { ...owner, payerId: null, payerGroupId: chosenGroup(groups, payer, 'payer', null) };
}

function chosenGroup(
  groups: Group[],
  name: string,
  path: string,
  before: { kind: string; id: number } | null,
): number {
  const found = groups.find((group) => sameName(group.name, name));
  const isHeld = found !== undefined && before?.kind === 'group' && before.id === found.id;
  if (!found || !(found.mayRegister || isHeld)) throw refuse(path, 'Choose from the list.');
  return found.id;
}
