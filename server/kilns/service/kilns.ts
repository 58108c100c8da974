import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { lastRecord, record } from '../../core/audit.ts';
import type { Instant } from '../../core/clock.ts';
import { unlessTaken } from '../../core/database.ts';
import { Conflict, type FieldError, Invalid, NotFound } from '../../core/errors.ts';
import { choice, code, count, email, flag, quantity, text } from '../../core/forms.ts';
import { sortedJson } from '../../core/json.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { secretHash } from '../../core/secrets.ts';
import { ATMOSPHERES } from '../../ware/firing.ts';
import { writtenCone } from '../../ware/service/index.ts';
import { defaultPostPositions, furnitureFaults } from '../chamber.ts';
import type { KeepOut } from '../packing/problem.ts';
import * as careStore from '../store/care.ts';
import * as store from '../store/kilns.ts';

/** Parts whose change is counted in firings. */
export const WEARING_PARTS = ['elements', 'relays', 'thermocouple'] as const;
export type WearingPart = (typeof WEARING_PARTS)[number];

/** A kiln as it stands, for whoever asks. */
export interface KilnNow extends store.KilnRow {
  /** Who may fire it, by name. */
  firers: { id: number; name: string }[];
  /** Whether that is whoever asks. */
  mayFire: boolean;
  /** Firings since a part was changed; null where that was never noted. */
  firingsSince: Record<WearingPart, number | null>;
}

/** Addresses of pages that stand beside those of the kilns. */
const TAKEN_CODES = ['new', 'schedules', 'settings', 'calendar', 'faults', 'loads'];

const OUT_MM = 3000;
const place = () => quantity(-OUT_MM, OUT_MM, 'mm');
const size = (from = 5) => quantity(from, OUT_MM, 'mm');

export const MOST_ROWS = { posts: 30, postPositions: 24, keepOuts: 24 } as const;

export const postRow = z.strictObject({ heightMm: quantity(5, 1500, 'mm'), count: count(1, 500) });
export const positionRow = z.strictObject({
  xMm: place(),
  yMm: place(),
  widthMm: quantity(5, 300, 'mm').default(40),
  depthMm: quantity(5, 300, 'mm').default(40),
});
/** Where a keep-out lies, whatever its shape; without its ends it reaches all the way. */
export const keepOutRow = {
  xMm: place(),
  yMm: place(),
  fromMm: quantity(0, OUT_MM, 'mm').optional(),
  toMm: quantity(0, OUT_MM, 'mm').optional(),
};
const keepOut = z.discriminatedUnion('shape', [
  z.strictObject({ shape: z.literal('circle'), diameterMm: size(), ...keepOutRow }),
  z.strictObject({ shape: z.literal('rectangle'), widthMm: size(), depthMm: size(), ...keepOutRow }),
]);

export const shelfBody = z.discriminatedUnion('shape', [
  z.strictObject({ shape: z.literal('round'), diameterMm: size(100) }),
  z.strictObject({ shape: z.literal('polygon'), sides: count(4, 24), acrossFlatsMm: size(100) }),
  z.strictObject({ shape: z.literal('rectangle'), widthMm: size(100), depthMm: size(100) }),
]);

const rows = <S extends z.ZodType>(row: S, most: number) =>
  z.array(row).max(most, `At most ${most}.`).default([]);

/**
 * What a kiln is, but for its shelf, its rows of furniture and who may fire it. Figures that are left out are common
 * practice, no source.
 */
export const kilnFields = {
  code: code().refine((c) => !TAKEN_CODES.includes(c.toLowerCase()), 'Choose another code.'),
  name: text(60),
  opens: choice(['top', 'front']),
  fullShelves: count(0, 60),
  halfShelves: count(0, 60).default(0),
  shelfThicknessMm: quantity(3, 60, 'mm'),
  usableHeightMm: quantity(50, OUT_MM, 'mm'),
  floorPostMm: quantity(0, 300, 'mm').default(20),
  edgeGapMm: quantity(0, 100, 'mm').default(6),
  splitGapMm: quantity(0, 100, 'mm').default(6),
  clearanceMm: quantity(0, 100, 'mm').default(12),
  topClearanceMm: quantity(0, 300, 'mm').default(40),
  postsPerShelf: count(1, 12).default(3),
  stackedPosts: flag().default(false),
  tallLevel: choice(['top', 'bottom', 'any']).default('any'),
  maxCone: writtenCone(),
  atmospheres: z.array(choice(ATMOSPHERES)).min(1, 'Choose at least one.').max(2, 'Each one once.'),
  power: choice(['electric', 'gas']),
  kilowatts: quantity(0.1, 1000).optional(),
  volts: quantity(50, 1000).optional(),
  duty: quantity(0.05, 1).optional(),
  controls: choice(['front', 'back', 'left', 'right']).default('front'),
  emergency: text(500).optional(),
};

export const kilnBody = z.strictObject({
  ...kilnFields,
  shelf: shelfBody,
  posts: rows(postRow, MOST_ROWS.posts),
  /** None given: three a shelf near its edge. */
  postPositions: rows(positionRow, MOST_ROWS.postPositions),
  keepOuts: rows(keepOut, MOST_ROWS.keepOuts),
  /** E-mail addresses of people here. */
  firers: z.array(email()).max(200, 'At most 200.').default([]),
});
export type KilnCommand = z.output<typeof kilnBody>;

/** Kilns in use by code; with the retired ones where asked for, since loads still name them. */
export async function listKilns(read: Read, { retired = false } = {}): Promise<KilnNow[]> {
  mustBeAllowed(read.actor, 'kilns.see');
  return asTheyAre(read, await store.listKilns(read.tx, { retired }));
}

/** A kiln by its code, a retired one too. @throws NotFound */
export async function findKiln(read: Read, code: string): Promise<KilnNow> {
  mustBeAllowed(read.actor, 'kilns.see');
  const row = isKilnCode(code) ? await store.findKiln(read.tx, code) : null;
  const [kiln] = row ? await asTheyAre(read, [row]) : [];
  if (!kiln) throw noKiln();
  return kiln;
}

/** Kilns by their inside ids, retired ones too. */
export async function kilnsByIds(read: Read, ids: number[]): Promise<Map<number, KilnNow>> {
  mustBeAllowed(read.actor, 'kilns.see');
  const kilns = await asTheyAre(read, await store.kilnsByIds(read.tx, [...new Set(ids)]));
  return new Map(kilns.map((kiln) => [kiln.id, kiln]));
}

const noKiln = () => new NotFound('There is no such kiln.');

/** What cannot be a code is asked of no database. */
const isKilnCode = (typed: string): boolean => code().safeParse(typed).success;

async function asTheyAre(read: Read, kilns: store.KilnRow[]): Promise<KilnNow[]> {
  if (kilns.length === 0) return [];
  const ids = kilns.map(({ id }) => id);
  const [firers, changes] = await Promise.all([
    store.firersOf(read.tx, ids, read.now),
    careStore.careOfKinds(read.tx, ids, [...WEARING_PARTS]),
  ]);
  const counting = changes.filter(({ voidedBy }) => voidedBy === null);
  const changedAt = (kilnId: number, part: WearingPart): Instant | null =>
    counting.find((entry) => entry.kilnId === kilnId && entry.kind === part)?.happenedAt ?? null;
  const since = counting.reduce((earliest, { happenedAt }) => Math.min(earliest, happenedAt), read.now);
  const firings = counting.length === 0 ? [] : await store.firingsSince(read.tx, ids, since);
  return kilns.map((kiln) => {
    const own = firers.filter(({ kilnId }) => kilnId === kiln.id);
    const firingsWith = (part: WearingPart) => {
      const at = changedAt(kiln.id, part);
      return at === null ? null : firings.filter((f) => f.kilnId === kiln.id && f.at >= at).length;
    };
    return {
      ...kiln,
      firers: own.map(({ id, name }) => ({ id, name })),
      mayFire: kiln.retiredAt === null && own.some(({ id }) => id === read.actor.id),
      firingsSince: {
        elements: firingsWith('elements'),
        relays: firingsWith('relays'),
        thermocouple: firingsWith('thermocouple'),
      },
    };
  });
}

/** A load in a few words, for the page of its kiln. */
export type LoadInBrief = Awaited<ReturnType<typeof store.newestLoads>>[number];

/** The newest loads of a kiln, its latest first. */
export async function newestLoads(read: Read, kilnId: number, limit = 8): Promise<LoadInBrief[]> {
  mustBeAllowed(read.actor, 'loads.see');
  return store.newestLoads(read.tx, kilnId, limit);
}

/** A kiln as its form shows it, and the fingerprint that tells whether somebody else changed it since. */
export interface KilnToEdit {
  kiln: store.KilnRow;
  firers: string[];
  seen: string;
}

export async function kilnToEdit(read: Read, code: string): Promise<KilnToEdit> {
  mustBeAllowed(read.actor, 'kilns.edit');
  const row = isKilnCode(code) ? await store.findKiln(read.tx, code) : null;
  if (!row) throw noKiln();
  const firers = (await store.firersOf(read.tx, [row.id], read.now)).map((firer) => firer.email);
  return { kiln: row, firers, seen: fingerprint(row, firers) };
}

/** Everybody who might be named as a firer, by name. */
export async function possibleFirers(read: Read): Promise<{ name: string; email: string }[]> {
  mustBeAllowed(read.actor, 'kilns.edit');
  return (await store.activePeople(read.tx)).map(({ name, email }) => ({ name, email }));
}

export async function createKiln(act: Act, command: KilnCommand): Promise<KilnNow> {
  mustBeAllowed(act.actor, 'kilns.edit');
  const columns = columnsOf(command);
  const row = { ...columns, service: 'in-service' as const, serviceCause: '', madeAt: act.now };
  const id = await codeFree(store.insertKiln(act.tx, row));
  await changeFirers(act, { id, code: columns.code }, command.firers);
  await record(act, 'kiln.create', `kiln:${columns.code}`);
  return findKiln(act, columns.code);
}

/**
 * Changes what a kiln is. Loads that are proposed already keep the kiln as it was for them.
 * @param seen the fingerprint of the kiln as the form showed it; null where none was shown
 * @throws Conflict when somebody else changed it since, or the code is taken
 */
export async function editKiln(
  act: Act,
  code: string,
  command: KilnCommand,
  seen: string | null,
): Promise<string> {
  mustBeAllowed(act.actor, 'kilns.edit');
  const before = await lockKiln(act, code);
  const emails = (await store.firersOf(act.tx, [before.id], act.now)).map((firer) => firer.email);
  if (seen !== null && seen !== fingerprint(before, emails)) throw await changedSince(act, before.code);
  const columns = columnsOf(command);
  await codeFree(store.updateKiln(act.tx, before.id, columns));
  await changeFirers(act, { id: before.id, code: columns.code }, command.firers);
  const changed = Object.entries(columns).flatMap(([name, value]) => {
    const [was, is] = [before[name as keyof store.KilnColumns], value].map(inWords);
    return was === is ? [] : [[name, `${was} → ${is}`]];
  });
  await record(act, 'kiln.edit', `kiln:${columns.code}`, Object.fromEntries(changed));
  return columns.code;
}

/** Takes a kiln out of the lists for good, or brings it back. @throws Conflict while a load of it is under way */
export async function retireKiln(act: Act, code: string, retired: boolean): Promise<void> {
  mustBeAllowed(act.actor, 'kilns.edit');
  const kiln = await lockKiln(act, code);
  if ((kiln.retiredAt !== null) === retired) return;
  const [underWay] = retired ? await store.loadsUnderWay(act.tx, kiln.id) : [];
  if (underWay !== undefined)
    throw new Conflict(`Load ${underWay} is still under way in it. Finish or cancel that one first.`);
  await store.updateKiln(act.tx, kiln.id, { retiredAt: retired ? act.now : null });
  await record(act, retired ? 'kiln.retire' : 'kiln.return', `kiln:${kiln.code}`);
}

/** The kiln's row, locked. @throws NotFound */
export async function lockKiln(act: Act, code: string): Promise<store.KilnRow> {
  const row = isKilnCode(code) ? await store.lockKiln(act.tx, code) : null;
  if (!row) throw noKiln();
  return row;
}

const inWords = (value: unknown): string => (typeof value === 'object' ? sortedJson(value) : String(value));

/** Of all that the form changes, and so of shelves that were noted as cracked meanwhile too. */
function fingerprint(row: store.KilnRow, firers: string[]): string {
  const {
    id: _id,
    madeAt: _made,
    retiredAt: _retired,
    service: _service,
    serviceCause: _cause,
    ...columns
  } = row;
  return secretHash(JSON.stringify([columns, [...firers].sort()])).slice(0, 16);
}

async function changedSince(act: Act, code: string): Promise<Conflict> {
  const last = await lastRecord(act.tx, 'kiln.edit', `kiln:${code}`);
  const who = last?.by ?? 'Somebody';
  return new Conflict(
    `${who} changed this kiln since you opened it. Your figures are below: compare them with its page, then save again.`,
  );
}

/** Turns "that code is in use" into words beside the field. */
const codeFree = <T>(work: Promise<T>): Promise<T> =>
  unlessTaken(
    work,
    new Invalid([{ path: 'code', message: 'Another kiln has this code, perhaps a retired one.' }]),
  );

async function changeFirers(
  act: Act,
  { id: kilnId, code }: Pick<store.KilnRow, 'id' | 'code'>,
  emails: string[],
): Promise<void> {
  const [people, before] = await Promise.all([
    store.activePeople(act.tx),
    store.firersOf(act.tx, [kilnId], act.now),
  ]);
  const wanted = emails.map((address) => {
    const person = people.find((one) => one.email === address);
    if (!person) throw new Invalid([{ path: 'firers', message: `Nobody here has the address ${address}.` }]);
    return person.id;
  });
  const added = [...new Set(wanted)].filter((id) => !before.some((firer) => firer.id === id));
  const ended = before.map(({ id }) => id).filter((id) => !wanted.includes(id));
  for (const personId of added)
    await store.beginFirer(act.tx, { kilnId, personId, inductedAt: act.now, inductedBy: act.actor.id });
  await store.endFirers(act.tx, kilnId, ended, act.now);
  if (added.length + ended.length > 0)
    await record(act, 'kiln.firers', `kiln:${code}`, { added: added.join(' '), ended: ended.join(' ') });
}

/** What does not go together in a kiln's figures, each beside its field; empty when all does. */
export function kilnFaults(command: KilnCommand): FieldError[] {
  const faults: FieldError[] = furnitureFaults(command);
  if (command.power === 'electric' && command.kilowatts === undefined)
    faults.push({ path: 'kilowatts', message: 'Its plate says how many kW it takes.' });
  if (command.power === 'gas' && command.emergency === undefined)
    faults.push({
      path: 'emergency',
      message: 'Say what is shut first and whom to phone: whoever stands there will read it.',
    });
  return faults;
}

/** A keep-out as the packer takes it: what was left out is not there at all. */
const withoutHoles = (zone: KilnCommand['keepOuts'][number]): KeepOut =>
  Object.fromEntries(Object.entries(zone).filter(([, value]) => value !== undefined)) as unknown as KeepOut;

/** A command as the table holds it, its posts by height and their places filled in. @throws Invalid */
export function columnsOf(command: KilnCommand): store.KilnColumns {
  const faults = kilnFaults(command);
  if (faults.length > 0) throw new Invalid(faults);
  const { firers: _, posts, postPositions, keepOuts, atmospheres, ...fields } = command;
  const electric = command.power === 'electric';
  return {
    ...fields,
    posts: [...posts].sort((a, b) => a.heightMm - b.heightMm),
    postPositions:
      postPositions.length > 0 ? postPositions : defaultPostPositions(command.shelf, command.halfShelves > 0),
    keepOuts: keepOuts.map(withoutHoles),
    atmospheres: ATMOSPHERES.filter((one) => atmospheres.includes(one)),
    kilowatts: electric ? (command.kilowatts ?? null) : null,
    volts: electric ? (command.volts ?? null) : null,
    duty: electric ? (command.duty ?? null) : null,
    emergency: command.emergency ?? '',
  };
}
