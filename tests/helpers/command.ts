import { execFile } from 'node:child_process';
import { createRequire } from 'node:module';
import { fileURLToPath, pathToFileURL } from 'node:url';

const TSX = pathToFileURL(createRequire(import.meta.url).resolve('tsx')).href;

interface Ended {
  code: number;
  stdout: string;
  stderr: string;
}

export type Settings = { cwd?: string } & Record<string, string | undefined>;

/** A command of `server/cli` as npm runs it, with these settings and no others. */
export const runCommand = (name: string, args: string[], { cwd, ...env }: Settings) =>
  new Promise<Ended>((resolve) => {
    const command = fileURLToPath(new URL(`../../server/cli/${name}.ts`, import.meta.url));
    execFile(
      process.execPath,
      ['--import', TSX, command, ...args],
      { cwd, env: { PATH: process.env.PATH, ...env } },
      (error, stdout, stderr) => resolve({ code: error ? Number(error.code) : 0, stdout, stderr }),
    );
  });
