import { findBucket } from '../../buckets/service/index.ts';
import type { Read } from '../../core/actor.ts';
import { Invalid, NotFound } from '../../core/errors.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { findKiln } from '../../kilns/service/index.ts';
import { changeOf, type Draft, draft, type NoticeScope } from '../notice.ts';
import * as store from '../store/notices.ts';
import { basisOf, type ClassBasis } from '../worse.ts';
import { type MixedRecipe, mixtureOfSubstance, mixturesOf, type RecipeMixture } from './classify.ts';

// What a notice hangs on, and how that is classified now.

/** What a notice hangs on. */
export interface Target {
  scope: NoticeScope;
  name: string;
  /** Where that is shown; null for a room and for everywhere. */
  href: string | null;
  bucketId: number | null;
  materialId: number | null;
  kilnId: number | null;
  room: string | null;
  recipe: { id: number; version: number } | null;
}

/** How what a notice hangs on is classified now. */
export interface Classified {
  basis: ClassBasis;
  signalWord: 'Danger' | 'Warning' | null;
  pictograms: string[];
  hCodes: string[];
  pCodes: string[];
  /** Of the H-codes those that only dust or mist does. */
  ofDust: string[];
  /** Sentences that a label adds beside those of its classes. */
  supplement: string[];
  /** Sentences on what is not known. */
  unknown: string[];
}

const nothing = { bucketId: null, materialId: null, kilnId: null, room: null, recipe: null };

export interface TargetNames {
  scope: NoticeScope;
  bucket?: string | undefined;
  material?: number | undefined;
  kiln?: string | undefined;
  room?: string | undefined;
}

/** What a notice is to hang on, found by its code, number or name. */
export async function findTarget(read: Read, named: TargetNames): Promise<Target> {
  const { scope } = named;
  const missing = (path: string, message: string) => new Invalid([{ path, message }]);
  switch (scope) {
    case 'bucket': {
      if (named.bucket === undefined) throw missing('bucket', 'Choose a bucket from the list.');
      const bucket = await findBucket(read, named.bucket).catch(orElse('bucket'));
      const { id, name, facts } = bucket;
      return {
        ...nothing,
        scope,
        name: `${name} ${bucket.code}`,
        href: `/buckets/${bucket.code}`,
        bucketId: id,
        recipe: facts.recipe,
      };
    }
    case 'material': {
      const found = named.material === undefined ? null : await store.findMaterial(read.tx, named.material);
      if (!found) throw missing('material', 'Choose a material from the list.');
      return { ...nothing, scope, name: found.name, href: `/materials/${found.id}`, materialId: found.id };
    }
    case 'kiln': {
      if (named.kiln === undefined) throw missing('kiln', 'Choose a kiln from the list.');
      const kiln = await findKiln(read, named.kiln).catch(orElse('kiln'));
      return { ...nothing, scope, name: kiln.name, href: `/kilns/${kiln.code}`, kilnId: kiln.id };
    }
    case 'room': {
      if (named.room === undefined) throw missing('room', 'Say which room.');
      return { ...nothing, scope, name: named.room, href: null, room: named.room };
    }
    case 'everywhere':
      return { ...nothing, scope, name: 'Everywhere', href: null };
  }
}

const orElse =
  (path: string) =>
  (error: unknown): never => {
    throw error instanceof NotFound
      ? new Invalid([{ path, message: `Choose a ${path} from the list.` }])
      : error;
  };

type Classifiable = Pick<Target, 'recipe' | 'materialId'>;

/** How a bucket's recipe or a material is classified now; null for what has no classes: a room, a kiln. */
export async function classificationOf(read: Read, target: Classifiable): Promise<Classified | null> {
  return (await classificationsOf(read, [target]))(target);
}

/** The same of several: what they have in common is asked for and worked out once. */
export async function classificationsOf(
  read: Read,
  targets: readonly Classifiable[],
): Promise<(target: Classifiable) => Classified | null> {
  const recipes = new Map(targets.flatMap(({ recipe }) => (recipe ? [[keyOf(recipe), recipe]] : [])));
  const materialIds = targets.flatMap(({ recipe, materialId }) =>
    recipe === null ? (materialId ?? []) : [],
  );
  const materials = [...new Set(materialIds)];
  const [mixtures, substances] = await Promise.all([
    mixturesOf(read, [...recipes.values()]),
    Promise.all(materials.map((id) => mixtureOfSubstance(read, id))),
  ]);
  const ofRecipe = new Map([...recipes.keys()].map((key, at) => [key, mixtures[at]]));
  const ofMaterial = new Map(materials.map((id, at) => [id, substances[at]]));
  return ({ recipe, materialId }) => {
    const mixture = recipe ? ofRecipe.get(keyOf(recipe)) : ofMaterial.get(materialId ?? 0);
    return mixture ? toClassified(mixture) : null;
  };
}

const keyOf = ({ id, version }: MixedRecipe): string => `${id}.${version}`;

const toClassified = (mixture: RecipeMixture): Classified => ({
  basis: basisOf(mixture.rules, mixture.classes),
  signalWord: mixture.signalWord,
  pictograms: mixture.pictograms,
  hCodes: mixture.hStatements,
  pCodes: mixture.pStatements,
  ofDust: mixture.hStatements.filter((code) =>
    mixture.classes.every(({ hCode, dustOnly }) => hCode !== code || dustOnly),
  ),
  supplement: mixture.supplement,
  unknown: mixture.unknown,
});

/** The words a technician starts from, and the classes they come from. */
export async function draftFor(
  read: Read,
  target: Target,
): Promise<{ words: Draft; classified: Classified | null }> {
  mustBeAllowed(read.actor, 'notices.post');
  const classified = await classificationOf(read, target);
  const words: Draft =
    classified === null
      ? { title: '', dipping: '', mixing: '', cleaning: '' }
      : draft(target.name, classified.hCodes, classified.ofDust);
  return { words: { ...words, title: words.title.slice(0, 120) }, classified };
}

/** The classes of a draft as a form carries them and sends them back. */
export const draftedFrom = (classified: Classified | null): string =>
  classified === null ? '' : [classified.basis.rules, ...classified.basis.classes].join(';');

const HREFS = {
  bucket: (row: store.NoticeRow) => `/buckets/${row.bucketCode}`,
  material: (row: store.NoticeRow) => `/materials/${row.materialId}`,
  kiln: (row: store.NoticeRow) => `/kilns/${row.kilnCode}`,
  room: () => null,
  everywhere: () => null,
};

/** What a notice hangs on, as it is now. */
export function targetOf(row: store.NoticeRow): Target {
  const { scope, bucketId, materialId, kilnId, room, recipe } = row;
  const names = {
    bucket: `${row.bucketName} ${row.bucketCode}`,
    material: row.materialName ?? '',
    kiln: row.kilnName ?? '',
    room: room ?? '',
    everywhere: 'Everywhere',
  };
  return {
    ...{ scope, bucketId, materialId, kilnId, room },
    recipe: scope === 'bucket' ? recipe : null,
    name: names[scope],
    href: HREFS[scope](row),
  };
}

/** A notice without classes behind it, on what has some by now, is looked at again too. */
export function changeSince(basis: ClassBasis | null, classified: Classified | null) {
  if (classified === null) return null;
  return changeOf(basis ?? { rules: classified.basis.rules, classes: [] }, classified.basis);
}

/** Materials that a notice can hang on. */
export async function listMaterialNames(read: Read): Promise<{ id: number; name: string }[]> {
  mustBeAllowed(read.actor, 'materials.see');
  return store.listMaterials(read.tx);
}
