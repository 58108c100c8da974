import type { Act, Read } from '../../core/actor.ts';
import type { Entry } from '../kinds.ts';

/** What the safety feature needs of a bucket. */
export interface GatedBucket {
  id: number;
  code: string;
  name: string;
  /** What is in it now; null where it was never set up. */
  recipe: { id: number; version: number } | null;
}

/** A notice in force, as it stands above a bucket's verdict. */
export interface ShownNotice {
  number: number;
  version: number;
  title: string;
  /** What to mind at each task, beyond the common rules; those with nothing to say are left out. */
  lines: { task: 'dipping' | 'mixing' | 'cleaning'; words: string }[];
  signalWord: 'Danger' | 'Warning' | null;
  pictograms: string[];
  hCodes: string[];
  notForChildren: boolean;
  /** Whether whoever asks must still read it before they dip. */
  unread: boolean;
}

export interface BucketSafety {
  notices: ShownNotice[];
  /** Whether its ware may touch food: a short line. */
  food: string;
}

/** What a label on a bucket's body says of what is in it. */
export interface BucketLabel {
  signalWord: 'Danger' | 'Warning' | null;
  pictograms: string[];
  hCodes: string[];
  pCodes: string[];
  /** Sentences that the law adds to those of the classes: of allergens, of unknown acute toxicity. */
  supplement: string[];
  /** Nothing is known of some of what is in it. */
  isPartUnknown: boolean;
  /** Whether its ware may touch food, in a few words; '' while nobody knows what is in it. */
  food: string;
}

export type BucketVerb = 'dip' | 'add-water' | 'mix-dry';

export interface BucketGate {
  /** Asked beside the bucket, not after it: what can be found by its code does not wait for the rest. */
  shown(read: Read, code: string, bucket: Promise<GatedBucket>): Promise<BucketSafety>;
  label(read: Read, bucket: GatedBucket): Promise<BucketLabel>;
  /** Ids of the buckets where whoever asks has a notice to read. */
  unread(read: Read): Promise<Set<number>>;
  /** @throws Forbidden without the induction, Conflict while a notice is unread */
  before(act: Act, verb: BucketVerb, bucket: GatedBucket): Promise<void>;
  /** What was just appended to the bucket's ledger, for whoever keeps books of what left it. */
  after(
    act: Act,
    bucket: GatedBucket,
    events: readonly (Entry & { number: number; happenedAt: number })[],
  ): Promise<void>;
}

let gate: BucketGate = {
  shown: async () => ({ notices: [], food: '' }),
  label: async () => ({
    signalWord: null,
    pictograms: [],
    hCodes: [],
    pCodes: [],
    supplement: [],
    isPartUnknown: true,
    food: '',
  }),
  unread: async () => new Set(),
  before: async () => {},
  after: async () => {},
};

/** The safety feature stands to the right of this one; the app tells here how it answers. */
export const fillBucketGate = (filled: BucketGate): void => {
  gate = filled;
};

export const bucketGate = (): BucketGate => gate;
