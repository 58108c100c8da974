import type { Act, Read } from '../../core/actor.ts';

export type KilnVerb = 'load' | 'fire-electric' | 'fire-gas' | 'open-kiln';

type KilnGate = (act: Act, verb: KilnVerb) => Promise<void>;

let gate: KilnGate = async () => {};

/** The safety feature stands to the right of this one; the app tells here how it answers. */
export const fillKilnGate = (filled: KilnGate): void => {
  gate = filled;
};

/** @throws Forbidden for whoever was not shown how, where the studio asks for it */
export const mustBeShown: KilnGate = (act, verb) => gate(act, verb);

/** A notice in force on a kiln. */
export interface KilnNotice {
  number: number;
  title: string;
  /** '' where its title says it all. */
  words: string;
  /** Whether whoever asks has still to read it. */
  unread: boolean;
}

type KilnNotices = (read: Read, kilnId: number) => Promise<KilnNotice[]>;

let notices: KilnNotices = async () => [];

export const fillKilnNotices = (filled: KilnNotices): void => {
  notices = filled;
};

export const noticesAtKiln: KilnNotices = (read, kilnId) => notices(read, kilnId);
