import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import type { Instant } from '../../core/clock.ts';
import { unlessTaken } from '../../core/database.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { type Document, findOwnDocument, keepDocument } from '../../core/files.ts';
import { day, sha256, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioDay } from '../../core/session.ts';
import { shownDay } from '../../core/wall-time.ts';
import { fewOrOne, type SafetyDue } from '../due.ts';
import { type MaterialFacts, UNKNOWN } from '../facts.ts';
import type { MaterialCommand } from '../facts-form.ts';
import { PUBLISHED } from '../published.ts';
import { type SheetNow, sheetNow, yearsOn } from '../sheet.ts';
import * as store from '../store/register.ts';
import { sheetYears } from './sheet-years.ts';

export { materialBody } from '../facts-form.ts';

/** One line of a recipe with what is known of its material. */
export interface KnownLine {
  materialId: number;
  name: string;
  parts: number;
  densityGCm3: number;
  /** 0: nothing is known beyond name and density. */
  version: number;
  facts: MaterialFacts;
}

export type Sheet = Awaited<ReturnType<typeof store.sheets>>[number];

/** A material of the register as it stands. */
export interface RegisteredMaterial {
  id: number;
  name: string;
  /** Of its particles, g/cm³. */
  density: number;
  /** 0: met in a recipe, and nobody has said more of it yet. */
  version: number;
  isRetired: boolean;
  facts: MaterialFacts;
  sheet: SheetNow<Sheet>;
}

/** What is asked of a safety data sheet that came, or that was looked at again. */
export const sheetForm = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('sheet'),
    supplier: text(80),
    issuedOn: day(),
    language: text(40),
    reviewOn: day().optional(),
    kept: sha256('Choose the file again.').optional(),
  }),
  z.strictObject({ kind: z.literal('reviewed'), reviewOn: day().optional() }),
  z.strictObject({ kind: z.literal('newer-exists') }),
]);
export type SheetCommand = z.output<typeof sheetForm>;

const NO_MATERIAL = 'There is no such material.';
const { compare } = new Intl.Collator('en', { sensitivity: 'base', numeric: true });

/** The lines of a recipe's version with what is known of each material now, in their order; one query. */
export async function knownLines(read: Read, recipeId: number, version: number): Promise<KnownLine[]> {
  const [lines = []] = await knownLinesOf(read, [{ id: recipeId, version }]);
  return lines;
}

/** The same of several recipes, in the order they were asked for; one query for all of them. */
export async function knownLinesOf(
  read: Read,
  asked: readonly { id: number; version: number }[],
): Promise<KnownLine[][]> {
  mustBeAllowed(read.actor, 'materials.see');
  const rows = await store.linesOf(read.tx, asked);
  return asked.map(({ id, version }) =>
    rows
      .filter(({ recipeId, recipeVersion }) => recipeId === id && recipeVersion === version)
      .map(({ recipeId: _, recipeVersion: __, ...line }) => ({ ...line, facts: whole(line.facts) })),
  );
}

/** What is known of a material now; throws NotFound where the register has none of this id. */
export async function factsOf(read: Read, materialId: number): Promise<MaterialFacts> {
  mustBeAllowed(read.actor, 'materials.see');
  const row = await store.find(read.tx, materialId);
  if (!row) throw new NotFound(NO_MATERIAL);
  return whole(row.facts);
}

const whole = (facts: MaterialFacts | null): MaterialFacts => ({ ...UNKNOWN, ...facts });

/** The whole register by name, retired ones too. */
export async function listRegister(read: Read): Promise<RegisteredMaterial[]> {
  mustBeAllowed(read.actor, 'materials.see');
  return registered(read);
}

async function registered(read: Read): Promise<RegisteredMaterial[]> {
  const [rows, sheets, day] = await Promise.all([
    store.list(read.tx),
    store.sheets(read.tx),
    studioDay(read),
  ]);
  const sheetsOf = new Map<number, Sheet[]>();
  for (const sheet of sheets)
    sheetsOf.set(sheet.materialId, [...(sheetsOf.get(sheet.materialId) ?? []), sheet]);
  return rows
    .map((row) => asRegistered(row, sheetsOf.get(row.id) ?? [], day))
    .sort((a, b) => compare(a.name, b.name));
}

const asRegistered = (row: store.MaterialRow, sheets: Sheet[], day: string): RegisteredMaterial => ({
  id: row.id,
  name: row.name,
  density: row.density,
  version: row.version,
  isRetired: row.retiredAt !== null,
  facts: whole(row.facts),
  sheet: sheetNow(sheets, day),
});

export interface MaterialPage {
  material: RegisteredMaterial;
  /** Another version's facts where one was asked for, as it was written. */
  shown: { version: number; facts: MaterialFacts };
  versions: { version: number; at: Instant; by: string; source: string }[];
  sheets: Sheet[];
  recipes: Awaited<ReturnType<typeof store.recipesWith>>;
}

/** Everything the register has of a material; of an earlier version where one is named. */
export async function findMaterial(read: Read, id: number, version?: number): Promise<MaterialPage> {
  mustBeAllowed(read.actor, 'materials.see');
  const [row, versions, sheets, recipes, day] = await Promise.all([
    store.find(read.tx, id),
    store.versions(read.tx, id),
    store.sheets(read.tx, id),
    store.recipesWith(read.tx, id),
    studioDay(read),
  ]);
  if (!row) throw new NotFound(NO_MATERIAL);
  const asked = version === undefined ? null : versions.find((one) => one.version === version);
  if (asked === undefined) throw new NotFound('There is no such version of this material.');
  return {
    material: asRegistered(row, sheets, day),
    shown: { version: asked?.version ?? row.version, facts: whole(asked?.facts ?? row.facts) },
    versions: versions.map(({ facts, ...rest }) => ({ ...rest, source: facts.source })),
    sheets,
    recipes,
  };
}

/**
 * A new material (`id` null), or what is known of one from now on: always a new version, the earlier ones stay.
 * Answers its id and version. Throws NotFound, and Conflict where another one has the name, or where somebody wrote a
 * version after `basedOn`, the one that this was written from.
 */
export async function saveMaterial(
  act: Act,
  id: number | null,
  { name, density, facts }: MaterialCommand,
  basedOn?: number,
): Promise<{ id: number; version: number }> {
  mustBeAllowed(act.actor, 'materials.edit');
  const taken = new Conflict('The register has a material of this name already.', 'name');
  const found = id ?? (await unlessTaken(store.insert(act.tx, name, density), taken));
  const version = await unlessTaken(store.takeNextVersion(act.tx, found, name, density), taken);
  if (version === null) throw new NotFound(NO_MATERIAL);
  if (basedOn !== undefined && version !== basedOn + 1)
    throw new Conflict(
      `Somebody wrote version ${version - 1} meanwhile. Look at it; sent again, yours becomes the newest.`,
      'basedOn',
    );
  await store.insertVersions(act.tx, [versionRow(act, found, version, facts)]);
  await record(act, 'material.version', `material:${found}`, { version, name, density });
  return { id: found, version };
}

const versionRow = ({ actor, now }: Act, materialId: number, version: number, facts: MaterialFacts) => ({
  materialId,
  version,
  v: 1,
  facts,
  by: actor.id,
  at: now,
});

/**
 * What public lists say of the common raw materials, for those that the register lacks or that nobody has said
 * anything of; what the studio wrote itself, or retired, stays. Answers how many were filled in.
 */
export async function addCommon(act: Act): Promise<number> {
  mustBeAllowed(act.actor, 'materials.edit');
  await store.insertMissing(act.tx, PUBLISHED);
  const ids = await store.idsByName(
    act.tx,
    PUBLISHED.map(({ name }) => name),
  );
  const taken = new Set(await store.takeFirstVersion(act.tx, [...ids.values()]));
  const rows = PUBLISHED.flatMap(({ name, facts }) => {
    const id = ids.get(name.toLowerCase());
    return id !== undefined && taken.has(id) ? [versionRow(act, id, 1, facts)] : [];
  });
  await store.insertVersions(act.tx, rows);
  if (rows.length > 0) await record(act, 'material.common', 'materials', { filled: rows.length });
  return rows.length;
}

/**
 * A safety data sheet that came (with its document), or what was found out about the newest one. Answers the row's
 * number. Throws Invalid for dates that cannot be, Conflict where there is no sheet to speak of.
 */
export async function addSheet(
  act: Act,
  id: number,
  command: SheetCommand,
  document: Document | null,
): Promise<number> {
  mustBeAllowed(act.actor, 'materials.edit');
  if (!(await store.lock(act.tx, id))) throw new NotFound(NO_MATERIAL);
  const [rows, today, years] = await Promise.all([store.sheets(act.tx, id), studioDay(act), sheetYears(act)]);
  const row = { materialId: id, by: act.actor.id, at: act.now };
  const number = (await store.lastSheetNumber(act.tx, id)) + 1;
  if (command.kind === 'sheet') {
    const { supplier, issuedOn, language } = command;
    if (issuedOn > today) throw refuse('issuedOn', 'This day has not come yet.');
    const reviewOn = command.reviewOn ?? yearsOn(issuedOn, years);
    if (reviewOn <= issuedOn) throw refuse('reviewOn', 'It is looked at again after the day it was written.');
    const fileId = document ? await keepDocument(act, document) : await keptDocument(act, command.kept);
    await store.insertSheet(act.tx, {
      ...row,
      number,
      kind: 'sheet',
      fileId,
      supplier,
      issuedOn,
      language,
      reviewOn,
    });
  } else {
    const { sheet } = sheetNow(rows, today);
    if (!sheet) throw new Conflict('No sheet came yet: add the one you have.');
    const reviewOn = command.kind === 'reviewed' ? (command.reviewOn ?? yearsOn(today, years)) : null;
    if (reviewOn !== null && reviewOn <= today) throw refuse('reviewOn', 'Choose a day that is yet to come.');
    const { supplier, language } = sheet;
    await store.insertSheet(act.tx, { ...row, number, kind: command.kind, supplier, language, reviewOn });
  }
  await record(act, 'material.sheet', `material:${id}`, { number, kind: command.kind });
  return number;
}

const refuse = (path: string, message: string) => new Invalid([{ path, message }]);

async function keptDocument(act: Act, sha256: string | undefined): Promise<number> {
  if (sha256 === undefined) throw refuse('sheet', 'Choose the sheet as a PDF.');
  const id = await findOwnDocument(act, sha256);
  if (id === null) throw refuse('sheet', 'Choose the file again.');
  return id;
}

/** Years after its date at which a sheet is asked for again. */
export async function yearsOfSheets(read: Read): Promise<number> {
  mustBeAllowed(read.actor, 'materials.see');
  return sheetYears(read);
}

/**
 * A document before its sheet: a form that is refused for something else need not bring it again. False where it is
 * kept as another person's, who alone may name it.
 */
export async function keepSheet(act: Act, document: Document): Promise<boolean> {
  mustBeAllowed(act.actor, 'materials.edit');
  await keepDocument(act, document);
  return (await findOwnDocument(act, document.sha256)) !== null;
}

/** A material that is not bought any more stays where recipes and sheets name it, out of the list. */
export async function retireMaterial(act: Act, id: number, isRetired: boolean): Promise<void> {
  mustBeAllowed(act.actor, 'materials.edit');
  if (!(await store.lock(act.tx, id))) throw new NotFound(NO_MATERIAL);
  await store.setRetired(act.tx, id, isRetired ? act.now : null);
  await record(act, isRetired ? 'material.retire' : 'material.return', `material:${id}`);
}

/** Whether something is waiting in the register; worst first. */
export async function registerDue(read: Read): Promise<SafetyDue[]> {
  const [all, used] = await Promise.all([registered(read), store.idsInUse(read.tx)]);
  const kept = all.filter(({ isRetired }) => !isRetired);
  const newest = kept.flatMap(({ id, name, sheet }) =>
    sheet.state === 'newer-exists'
      ? [
          {
            title: name,
            what: 'Its supplier has a newer safety data sheet than the one kept here.',
            act: { label: 'Add it', href: `/materials/${id}/sheets` },
          },
        ]
      : [],
  );
  const old = kept.flatMap(({ id, name, sheet }) =>
    sheet.state === 'look-again'
      ? [
          {
            title: name,
            what: `Its safety data sheet was to be looked through again on ${shownDay(sheet.reviewOn)}.`,
            act: { label: 'Look through it', href: `/materials/${id}/sheets` },
          },
        ]
      : [],
  );
  const inUse = kept.filter(({ id }) => used.has(id));
  const bare = inUse.filter(
    ({ facts, sheet }) => facts.classification === 'classified' && sheet.state === 'none',
  ).length;
  const unknown = inUse.filter(({ facts }) => facts.classification === 'unknown').length;
  return [
    ...fewOrOne(newest, {
      title: 'sheets with a newer one at the supplier',
      label: 'Which',
      href: '/materials?show=look-again',
    }),
    ...fewOrOne(old, {
      title: 'sheets to look through again',
      label: 'Which',
      href: '/materials?show=look-again',
    }),
    ...withoutSheet(bare),
    ...unread(unknown),
  ];
}

const withoutSheet = (n: number): SafetyDue[] =>
  n === 0
    ? []
    : [
        {
          title: 'Safety data sheets',
          what:
            n === 1
              ? 'One hazardous material is in a recipe, and its supplier’s sheet is not kept here.'
              : `${n} hazardous materials are in recipes, and their suppliers’ sheets are not kept here.`,
          act: { label: 'Which', href: '/materials?show=no-sheet' },
        },
      ];

const unread = (n: number): SafetyDue[] =>
  n === 0
    ? []
    : [
        {
          title: 'Unknown materials',
          what:
            n === 1
              ? 'One material is in a recipe, and nobody has read its sheet yet.'
              : `${n} materials are in recipes, and nobody has read their sheets yet.`,
          act: { label: 'Which', href: '/materials?show=unknown' },
        },
      ];
