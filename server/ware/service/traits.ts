import { z } from 'zod';
import { findBucket } from '../../buckets/service/index.ts';
import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { flag, quantity, text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import * as store from '../store/traits.ts';
import { writtenCoat, writtenCoatDensity } from './settings.ts';

/** What a glaze of the wall does beside others in a kiln, and how it goes on. */
export interface Trait {
  bucketId: number;
  isRunny: boolean;
  /** Tray all round a piece that carries it, mm. */
  trayMm: number;
  /** Words that rules name, such as 'chromium'. */
  tags: string[];
  /** How thick its coat should be when dry; null: as the studio wants every coat. */
  wantedCoatMm: number | null;
  /** Of its dry coat, g/cm³, where somebody measured it. */
  dryCoatDensity: number | null;
}

/** Two tags that must not share a load, in alphabetical order, and why. */
export interface ConflictRule {
  tagA: string;
  tagB: string;
  why: string;
}

const MOST_TAGS = 12;
/** Around a runny glaze, where nothing else was said: common practice, no source. */
export const RUNNY_TRAY_MM = 20;

/** Common practice, no source. Offered where the studio has no rule of its own. */
const ORDINARY: readonly ConflictRule[] = [
  { tagA: 'chromium', tagB: 'tin white', why: 'Chromium fumes make the tin white blush pink.' },
];

const tag = () => text(30).transform((typed) => typed.toLowerCase().replace(/\s+/g, ' '));

export const traitForm = z.strictObject({
  isRunny: flag().optional(),
  trayMm: quantity(0, 150, 'mm').optional(),
  /** Words parted by commas. */
  tags: text(400).optional(),
  wantedCoatMm: writtenCoat().optional(),
  dryCoatDensity: writtenCoatDensity().optional(),
});

export const conflictForm = z.strictObject({ tagA: tag(), tagB: tag(), why: text(200) });
export const conflictPair = z.strictObject({ tagA: tag(), tagB: tag() });

/** What is known of the glazes of the wall; a bucket that is not in it is not runny and has no tag. */
export async function listTraits(read: Read): Promise<Trait[]> {
  mustBeAllowed(read.actor, 'ware.own');
  return store.listTraits(read.tx);
}

/** Pairs of tags that must not share a load. */
export async function listConflicts(read: Read): Promise<ConflictRule[]> {
  mustBeAllowed(read.actor, 'ware.own');
  return (await store.listConflicts(read.tx)).map(({ tagA, tagB, why }) => ({ tagA, tagB, why }));
}

/** Words that glazes or rules use, in alphabetical order. */
export async function knownTags(read: Read): Promise<string[]> {
  mustBeAllowed(read.actor, 'ware.own');
  return store.knownTags(read.tx);
}

/** Ordinary rules that this studio does not have. */
export async function offeredConflicts(read: Read): Promise<ConflictRule[]> {
  const have = await listConflicts(read);
  return ORDINARY.filter((offer) => !have.some((rule) => samePair(rule, offer)));
}

/** Says what a glaze does in a kiln and how it goes on, in place of what was said before. Throws NotFound for a code nobody has. */
export async function setTrait(act: Act, code: string, command: z.output<typeof traitForm>): Promise<void> {
  mustBeAllowed(act.actor, 'ware.edit');
  const bucket = await findBucket(act, code);
  const isRunny = command.isRunny ?? false;
  const trayMm = command.trayMm ?? (isRunny ? RUNNY_TRAY_MM : 0);
  if (isRunny && trayMm === 0)
    throw new Invalid([{ path: 'trayMm', message: 'A runny glaze stands on a tray: say how wide.' }]);
  const tags = tagsIn(command.tags ?? '');
  const { wantedCoatMm = null, dryCoatDensity = null } = command;
  const trait = { isRunny, trayMm, tags, wantedCoatMm, dryCoatDensity };
  await store.saveTrait(act.tx, { bucketId: bucket.id, ...trait });
  await record(act, 'glaze.trait', `bucket:${bucket.code}`, { ...trait, tags: tags.join(', ') });
}

/** A rule. Throws Conflict where there is one for these two already. */
export async function addConflict(act: Act, command: z.output<typeof conflictForm>): Promise<void> {
  mustBeAllowed(act.actor, 'ware.edit');
  const { tagA, tagB } = inOrder(command);
  if (tagA === tagB)
    throw new Invalid([{ path: 'tagB', message: 'Name the other one: these two are the same word.' }]);
  if (!(await store.insertConflict(act.tx, { tagA, tagB, why: command.why })))
    throw new Conflict(`There is a rule for ${tagA} beside ${tagB} already.`);
  await record(act, 'glaze.conflict.add', 'ware', { tagA, tagB });
}

/** Takes a rule away. Throws NotFound where there is none for these two. */
export async function removeConflict(act: Act, pair: z.output<typeof conflictPair>): Promise<void> {
  mustBeAllowed(act.actor, 'ware.edit');
  const { tagA, tagB } = inOrder(pair);
  if (!(await store.deleteConflict(act.tx, tagA, tagB)))
    throw new NotFound(`There is no rule for ${tagA} beside ${tagB}.`);
  await record(act, 'glaze.conflict.remove', 'ware', { tagA, tagB });
}

/** Takes on every ordinary rule that the studio does not have yet. */
export async function ensureOrdinaryConflicts(act: Act): Promise<void> {
  for (const rule of await offeredConflicts(act)) await addConflict(act, rule);
}

const inOrder = ({ tagA, tagB }: { tagA: string; tagB: string }) =>
  tagA <= tagB ? { tagA, tagB } : { tagA: tagB, tagB: tagA };

const samePair = (a: ConflictRule, b: ConflictRule): boolean => a.tagA === b.tagA && a.tagB === b.tagB;

function tagsIn(typed: string): string[] {
  const refuse = (message: string) => new Invalid([{ path: 'tags', message }]);
  const words = typed.split(',').filter((word) => word.trim() !== '');
  const tags = words.map((word) => {
    const read = tag().safeParse(word);
    if (!read.success) throw refuse('Each word has at most 30 characters.');
    return read.data;
  });
  const once = [...new Set(tags)].sort();
  if (once.length > MOST_TAGS) throw refuse(`At most ${MOST_TAGS} words.`);
  return once;
}
