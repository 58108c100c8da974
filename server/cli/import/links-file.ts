import { closeSync, fsyncSync, ftruncateSync, openSync, rmSync, writeSync } from 'node:fs';
import { CSV_START, csvLine } from '../../core/csv.ts';
import { Invalid } from '../../core/errors.ts';
import { toWallTime } from '../../core/wall-time.ts';
import type { Invited } from './kind.ts';

/** A file for links that open accounts: only whoever runs the command can read it. */
export interface LinksFile {
  path: string;
  /** May be called again where a transaction runs again: what was written before is replaced. */
  write(invitations: readonly Invited[], timeZone: string): void;
  close(how: { keep: boolean }): void;
}

/**
 * Makes the file before anything else happens, so that no link is made that could not be kept.
 * @param origin of the address in the links
 * @throws Invalid where there is such a file already, or none can be made
 */
export function openLinksFile(path: string, origin: string): LinksFile {
  const file = opened(path);
  return {
    path,
    write(invitations, timeZone) {
      const lines = invitations.map(({ email, name, role, secret, expiresAt }) => [
        email,
        name,
        role,
        `${origin}/welcome/${secret}`,
        toWallTime(expiresAt, timeZone).replace('T', ' '),
      ]);
      const text = [['email', 'name', 'role', 'link', 'works until'], ...lines].map(csvLine).join('');
      ftruncateSync(file, 0);
      writeSync(file, CSV_START + text, 0);
      fsyncSync(file);
    },
    close({ keep }) {
      closeSync(file);
      if (!keep) rmSync(path);
    },
  };
}

function opened(path: string): number {
  try {
    return openSync(path, 'wx', 0o600);
  } catch (error) {
    const { code } = error as { code?: string };
    throw new Invalid(
      code === 'EEXIST'
        ? `${path} is there already, with links that may still work. Move it away first.`
        : `The invitations would be written to ${path}, which cannot be made (${code}).`,
    );
  }
}
