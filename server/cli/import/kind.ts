import type { Act, Studio } from '../../core/actor.ts';
import type { Role } from '../../core/policy.ts';
import type { IssuedLink } from '../../members/service/links.ts';
import type { Column, Fault, Layout, Values } from './columns.ts';

/** A line of a file that could be read. */
export interface Read<T> {
  line: number;
  value: T;
}

/** An invitation to hand over. */
export interface Invited extends IssuedLink {
  email: string;
  /** As the file has it; '' where it has none. People choose their own when they come. */
  name: string;
  role: Role;
}

/** What became of the lines of a file, or would. */
export interface Brought {
  faults: Fault[];
  added: number;
  /** What was there already, and so was left alone. */
  leftAlone: { line: number; why: string }[];
  invitations: Invited[];
}

/** What every line is written with. */
export interface Setting {
  act: Act;
  studio: Studio;
  places: Layout['places'];
}

/** A kind of file. Everything it writes goes through the use cases that pages and API go through. */
export interface ImportKind<T> {
  name: 'members' | 'materials' | 'buckets' | 'readings';
  /** 'invitation', 'invitations' */
  nouns: [one: string, many: string];
  columns: Column[];
  /** A line by the schema of the page or the API. @throws Invalid, paths are keys of columns */
  read(values: Values): T;
  /** Two lines of a file with the same are one too many; `sameAs` says it. */
  sameAs: string;
  identity(value: T): string;
  bring(setting: Setting, lines: Read<T>[]): Promise<Brought>;
}

/** Keeps the type of a kind's lines between its functions; whoever runs it need not know that type. */
export const importKind = <T>(kind: ImportKind<T>): ImportKind<unknown> => kind as ImportKind<unknown>;
