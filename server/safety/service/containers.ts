import { z } from 'zod';
import { findBucket, listBuckets } from '../../buckets/service/index.ts';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { DAY, type Instant } from '../../core/clock.ts';
import { unlessTaken } from '../../core/database.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { code, day, quantity, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioDay } from '../../core/session.ts';
import type { SafetyDue } from '../../materials/due.ts';
import {
  type ContainerEvent,
  type ContainerFacts,
  type ContainerKind,
  type ContainerPayload,
  type Contents,
  containerGravity,
  contentsOf,
  type InIt,
  type KnownRecipe,
  NEARLY_FULL,
  OF_SEVERAL,
  recipeKey,
} from '../container.ts';
import { fromStoredContainer } from '../container-events.ts';
import * as store from '../store/containers.ts';
import { whatIsIn } from './container-hazards.ts';
import {
  type DrainPermission,
  findRow,
  foldOf,
  homeOf,
  knownRecipes,
  NO_ROW,
  namedBucket,
  permissionOf,
} from './container-ledger.ts';

export { rinsed } from './container-acts.ts';

/** Rinse that waited longer is to be sieved back or thrown away; common practice, no source. */
const RINSE_WAITS = 60 * DAY;

/** Addresses of pages that stand beside those of the containers. */
const TAKEN_CODES = ['new'];

const containerFields = {
  code: code().refine((c) => !TAKEN_CODES.includes(c.toLowerCase()), 'Choose another code.'),
  name: text(60),
  place: text(60).optional(),
  capacityLitres: quantity(0.5, 1000, 'L'),
};

export const newContainerBody = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('rinse'), ...containerFields, bucket: code() }),
  z.strictObject({ kind: z.literal('reclaim'), ...containerFields }),
  z.strictObject({ kind: z.literal('waste'), ...containerFields }),
]);

/** What it is stays; a rinse bucket may change its glaze while it is empty. */
export const editContainerBody = z.strictObject({ ...containerFields, bucket: code().optional() });

export const permissionBody = z.strictObject({ authority: text(200), validTo: day() });

/** A container as it is, for whoever asks. */
export interface ContainerNow {
  id: number;
  code: string;
  name: string;
  kind: ContainerKind;
  place: string;
  capacityLitres: number;
  parent: { code: string; name: string } | null;
  retired: boolean;
  facts: ContainerFacts;
  /** Null where something in it was never measured. */
  specificGravity: number | null;
  /** The glazes in it, by name. */
  recipes: string[];
  contents: Contents;
  inIt: InIt;
  permission: DrainPermission | null;
}

/** A row of a container's ledger as people see it. */
export interface ContainerLedgerRow {
  number: number;
  happenedAt: Instant;
  by: string;
  byId: number;
  recordedAt: Instant;
  note: string | null;
  voided: boolean;
  bucket: { code: string; name: string; event: number | null } | null;
  /** The other container of a move. */
  other: { code: string; name: string } | null;
  entry: ContainerPayload;
}

/** Containers in use, by place and name; with `retired` those that are out of use as well. */
export async function listContainers(read: Read, { retired = false } = {}): Promise<ContainerNow[]> {
  mustBeAllowed(read.actor, 'containers.see');
  return asTheyAre(read, await store.listContainers(read.tx, { retired }));
}

/** A container by its code, a retired one too. @throws NotFound */
export async function findContainer(read: Read, code: string): Promise<ContainerNow> {
  mustBeAllowed(read.actor, 'containers.see');
  const [container] = await asTheyAre(read, [await findRow(read, code)]);
  return container as ContainerNow;
}

/** The code of the container that a bucket's own rinse goes into; null without one. @throws NotFound */
export async function rinseContainerOf(read: Read, bucketCode: string): Promise<string | null> {
  mustBeAllowed(read.actor, 'containers.see');
  const bucket = await findBucket(read, bucketCode);
  const [id] = await homeOf(read, bucket, 'rinse');
  const [row] = id === undefined ? [] : await store.containersByIds(read.tx, [id]);
  return row?.container.code ?? null;
}

async function asTheyAre(read: Read, rows: store.ContainerRow[]): Promise<ContainerNow[]> {
  const ids = rows.map(({ container }) => container.id);
  const [ledgers, permissions, today] = await Promise.all([
    store.ledgersOf(read.tx, ids),
    store.permissionsOf(read.tx, ids),
    studioDay(read),
  ]);
  const folded = rows.map(({ container }) => foldOf(container.capacityL, ledgers.get(container.id) ?? []));
  const recipes = await knownRecipes(
    read,
    folded.flatMap(({ portions }) => portions),
  );
  const inIt = await whatIsIn(
    read,
    folded.map(({ portions }) => portions),
    recipes,
  );
  return rows.map(({ container, parent }, i) => {
    const facts = folded[i] as ContainerFacts;
    return {
      id: container.id,
      code: container.code,
      name: container.name,
      kind: container.kind,
      place: container.place,
      capacityLitres: container.capacityL,
      parent: parent && { code: parent.code, name: parent.name },
      retired: container.retiredAt !== null,
      facts,
      specificGravity: containerGravity(facts),
      recipes: glazesIn(facts, recipes),
      contents: contentsOf(facts.portions, recipes),
      inIt: inIt[i] as InIt,
      permission: permissionOf(permissions, container.id, today),
    };
  });
}

/** Each name once, also where several versions of a recipe are in it. */
function glazesIn({ portions }: ContainerFacts, recipes: ReadonlyMap<string, KnownRecipe>): string[] {
  const names = portions.map(({ recipe }) =>
    recipe ? (recipes.get(recipeKey(recipe))?.name ?? OF_SEVERAL) : OF_SEVERAL,
  );
  return [...new Set(names)];
}

/** A container's ledger, the row written last first; `next` is where to go on, null at the end. */
export async function listContainerEvents(
  read: Read,
  code: string,
  { limit = 20, before = null }: { limit?: number; before?: number | null } = {},
): Promise<{ events: ContainerLedgerRow[]; next: number | null }> {
  mustBeAllowed(read.actor, 'containers.see');
  const { container } = await findRow(read, code);
  const rows = await store.listEvents(read.tx, container.id, { limit: limit + 1, before });
  const events = await ledgerRows(read, rows.slice(0, limit));
  return { events, next: rows.length > limit ? (events.at(-1)?.number ?? null) : null };
}

/** One row of a container's ledger. @throws NotFound */
export async function findContainerEvent(
  read: Read,
  code: string,
  number: number,
): Promise<ContainerLedgerRow> {
  mustBeAllowed(read.actor, 'containers.see');
  const { container } = await findRow(read, code);
  const row = await store.findEvent(read.tx, container.id, number);
  const [event] = row ? await ledgerRows(read, [row]) : [];
  if (!event) throw new NotFound(NO_ROW);
  return event;
}

async function ledgerRows(read: Read, rows: store.ContainerEventRow[]): Promise<ContainerLedgerRow[]> {
  const entries = rows.map(fromStoredContainer);
  const others = entries.flatMap((entry) => ('other' in entry ? [entry.other.containerId] : []));
  const named = new Map(
    (others.length > 0 ? await store.containersByIds(read.tx, others) : []).map(({ container }) => [
      container.id,
      { code: container.code, name: container.name },
    ]),
  );
  return rows.map((row, i) => {
    const { number, happenedAt, ...entry } = entries[i] as ContainerEvent;
    return {
      number,
      happenedAt,
      by: row.byName,
      byId: row.by,
      recordedAt: row.recordedAt,
      note: row.note,
      voided: row.voidedBy !== null,
      bucket:
        row.bucketCode === null
          ? null
          : { code: row.bucketCode, name: row.bucketName ?? '', event: row.bucketEvent },
      other: 'other' in entry ? (named.get(entry.other.containerId) ?? null) : null,
      entry,
    };
  });
}

/** Puts a container up. @throws Conflict for a code in use */
export async function createContainer(act: Act, command: z.output<typeof newContainerBody>): Promise<string> {
  mustBeAllowed(act.actor, 'containers.edit');
  const parent = command.kind === 'rinse' ? await glazeOf(act, command.bucket) : null;
  await unlessTaken(
    store.insertContainer(act.tx, {
      code: command.code,
      name: command.name,
      kind: command.kind,
      place: command.place ?? '',
      parentBucketId: parent,
      capacityL: command.capacityLitres,
      lastNumber: 0,
      litres: 0,
    }),
    codeTaken(),
  );
  await record(act, 'container.made', `container:${command.code}`, { kind: command.kind });
  return command.code;
}

const codeTaken = () => new Conflict('Another container has this code, maybe a retired one.', 'code');

/** The bucket whose own rinse it is. @throws Invalid where there is none, or it holds mixed leftovers */
async function glazeOf(read: Read, bucketCode: string): Promise<number> {
  const bucket = await namedBucket(read, bucketCode);
  if (bucket.isReclaim)
    throw new Invalid([
      { path: 'bucket', message: 'This bucket holds mixed leftovers: its rinse goes into mixed reclaim.' },
    ]);
  return bucket.id;
}

/** Changes what a container is called, where it stands and what it holds; answers its code. */
export async function editContainer(
  act: Act,
  code: string,
  command: z.output<typeof editContainerBody>,
): Promise<string> {
  mustBeAllowed(act.actor, 'containers.edit');
  const { container, parent } = await lockByCode(act, code);
  const isAnother =
    container.kind === 'rinse' &&
    command.bucket !== undefined &&
    command.bucket.toLowerCase() !== parent?.code.toLowerCase();
  const parentBucketId = isAnother ? await glazeOf(act, command.bucket ?? '') : container.parentBucketId;
  if (parentBucketId !== container.parentBucketId && !(await isEmpty(act, container)))
    throw new Conflict('It still holds rinse of another glaze. Empty it first.', 'bucket');
  await unlessTaken(
    store.updateContainer(act.tx, container.id, {
      code: command.code,
      name: command.name,
      place: command.place ?? '',
      capacityL: command.capacityLitres,
      parentBucketId,
    }),
    codeTaken(),
  );
  await record(act, 'container.edited', `container:${command.code}`);
  return command.code;
}

/** Takes an empty container out of use, or one that was taken out back into it. */
export async function retireContainer(act: Act, code: string, retired: boolean): Promise<void> {
  mustBeAllowed(act.actor, 'containers.edit');
  const { container } = await lockByCode(act, code);
  if (retired && !(await isEmpty(act, container)))
    throw new Conflict('There is still something in it by its ledger. Say first what became of that.');
  await store.updateContainer(act.tx, container.id, { retiredAt: retired ? act.now : null });
  await record(act, retired ? 'container.retired' : 'container.returned', `container:${container.code}`);
}

async function isEmpty({ tx }: Act, { id, capacityL }: store.ContainerRow['container']): Promise<boolean> {
  const ledgers = await store.ledgersOf(tx, [id]);
  return foldOf(capacityL, ledgers.get(id) ?? []).portions.length === 0;
}

async function lockByCode(act: Act, code: string): Promise<store.ContainerRow> {
  const { container } = await findRow(act, code);
  const [locked] = await store.lockContainers(act.tx, [container.id]);
  return locked as store.ContainerRow;
}

/** Records that a local authority lets this container's contents go down a drain, until a day; the newest counts. */
export async function permitDrain(
  act: Act,
  code: string,
  { authority, validTo }: z.output<typeof permissionBody>,
): Promise<void> {
  mustBeAllowed(act.actor, 'containers.permit-drain');
  const { container } = await findRow(act, code);
  await store.insertPermission(act.tx, {
    containerId: container.id,
    authority,
    validTo,
    by: act.actor.id,
    at: act.now,
  });
  await record(act, 'container.drain-permission', `container:${container.code}`, { validTo });
}

/** Buckets whose own rinse a container may hold, and those of mixed reclaim. */
export async function bucketsForContainers(read: Read) {
  const buckets = await listBuckets(read);
  const brief = ({ code, name }: { code: string; name: string }) => ({ code, name });
  return {
    glazes: buckets.filter(({ isReclaim }) => !isReclaim).map(brief),
    reclaim: buckets.filter(({ isReclaim }) => isReclaim).map(brief),
  };
}

/** Containers that wait for somebody, the fullest first, then rinse that waited too long. */
export async function containersDue(read: Read): Promise<SafetyDue[]> {
  const rows = await store.listContainers(read.tx);
  const ledgers = await store.ledgersOf(
    read.tx,
    rows.map(({ container }) => container.id),
  );
  const known = rows.map(({ container }) => ({
    container,
    facts: foldOf(container.capacityL, ledgers.get(container.id) ?? []),
  }));
  const due = (what: string, { code, name }: { code: string; name: string }): SafetyDue => ({
    title: `${name} ${code}`,
    what,
    act: { label: 'See to it', href: `/containers/${encodeURIComponent(code)}` },
  });
  const full = known
    .map(({ container, facts }) => ({ container, part: facts.litres / container.capacityL }))
    .filter(({ part }) => part > NEARLY_FULL)
    .sort((a, b) => b.part - a.part)
    .map(({ container, part }) =>
      due(`${Math.round(100 * part)} % full. Sieve it back, move it or have it fetched.`, container),
    );
  const waiting = known
    .filter(
      ({ container, facts: { waitingSince } }) =>
        container.kind === 'rinse' && waitingSince !== null && read.now - waitingSince > RINSE_WAITS,
    )
    .sort((a, b) => (a.facts.waitingSince ?? 0) - (b.facts.waitingSince ?? 0))
    .map(({ container, facts: { waitingSince } }) =>
      due(
        `Nothing was sieved back for ${Math.floor((read.now - (waitingSince ?? read.now)) / DAY)} days.`,
        container,
      ),
    );
  return [...full, ...waiting];
}

/** Computes every container anew from its ledger and compares; says what differs. Changes nothing. */
export async function examineContainers({ tx }: Pick<Read, 'tx'>): Promise<string[]> {
  const rows = await store.listContainers(tx, { retired: true });
  const [ledgers, half] = await Promise.all([
    store.ledgersOf(
      tx,
      rows.map(({ container }) => container.id),
    ),
    store.halfStruck(tx),
  ]);
  return [
    ...rows.flatMap(({ container }) => {
      const ledger = ledgers.get(container.id) ?? [];
      const facts = foldOf(container.capacityL, ledger);
      const wrong = [
        facts.litres !== container.litres && 'stored and computed litres differ',
        (ledger.length !== container.lastNumber || ledger.some(({ number }, i) => number !== i + 1)) &&
          'its rows are not numbered without a gap',
      ].filter(Boolean);
      return wrong.length > 0 ? [`Container ${container.code}: ${wrong.join('; ')}.`] : [];
    }),
    ...half.map(
      ({ code, number }) => `Container ${code}: row ${number} and the bucket's row are not struck out alike.`,
    ),
  ];
}
