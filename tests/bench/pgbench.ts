import { spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { writeFile } from 'node:fs/promises';
import type { Choice, Statement, Value } from './statements.ts';

export const hasPgbench = (): boolean => spawnSync('pgbench', ['--version']).status === 0;

/** Statements as pgbench takes them, at a bucket by chance. */
function script(statements: Statement[], { from, to }: Choice): { text: string; variables: string[] } {
  const variables: string[] = [];
  const nameOf = (value: Value): string => {
    if ('own' in value) return value.own === 'bucketId' ? 'was_bucket_id' : value.own;
    const name = `v${variables.length}`;
    variables.push(`${name}=${value.sent}`);
    // pgbench sends a variable that was never set as null.
    return value.sent === null ? 'never_set' : name;
  };
  const lines = statements.map(({ text, values, finds }) => {
    const names = values.map(nameOf);
    const line = text.replace(/\$(\d+)/g, (_, n) => `:${names[Number(n) - 1]}`);
    return finds
      ? `${line} \\gset was_\n\\set next :was_last_number + 1\n\\set afterNext :was_last_number + 2`
      : `${line};`;
  });
  return { text: `${[`\\set code random(${from}, ${to})`, ...lines].join('\n')}\n`, variables };
}

/** Transactions a second that pgbench's ten clients make of the statements. */
export async function runPgbench(
  statements: Statement[],
  o: { choice: Choice; url: string; seconds: number; folder: string },
): Promise<number> {
  const { text, variables } = script(statements, o.choice);
  const file = `${o.folder}/reading.sql`;
  await writeFile(file, text);
  const url = new URL(o.url);
  const env = { PATH: process.env.PATH, PGPASSWORD: decodeURIComponent(url.password) };
  url.password = '';
  const child = spawn(
    'pgbench',
    [
      ...['-n', '-M', 'prepared', '-c', '10', '-T', String(o.seconds), '-f', file],
      ...variables.flatMap((variable) => ['-D', variable]),
      url.href,
    ],
    { env, stdio: ['ignore', 'pipe', 'pipe'] },
  );
  let output = '';
  for (const stream of [child.stdout, child.stderr])
    stream.on('data', (chunk) => {
      output += chunk;
    });
  const [code] = await once(child, 'close');
  const tps = /tps = ([\d.]+) \(without/.exec(output)?.[1];
  if (code !== 0 || tps === undefined) throw new Error(`pgbench: ${output}`);
  return Number(tps);
}
