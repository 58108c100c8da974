import { existsSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import { Invalid } from '../core/errors.ts';

/** Where a command writes what it makes. @throws Invalid where something is there already, or no folder for it is */
export function newFile(name: string): string {
  const file = resolve(name);
  if (existsSync(file)) throw new Invalid(`${file} exists, and is not written over.`);
  if (!existsSync(dirname(file))) throw new Invalid(`There is no folder ${dirname(file)}.`);
  return file;
}
