import { readFile } from 'node:fs/promises';
import { text } from 'node:stream/consumers';
import { Invalid } from '../core/errors.ts';
import { solve } from '../kilns/packing/solve.ts';
import { readProblem } from './pack-problem.ts';

/**
 * `npm run --silent pack -- problem.json > plan.json`: packs the problem of a file, or of the standard input when the
 * name is `-` or missing. What cannot be read ends with status 2 and a line for each reason, its path first.
 */
const [name = '-', ...more] = process.argv.slice(2);

function refuse(lines: string[]): void {
  process.stderr.write(`${lines.join('\n')}\n`);
  process.exitCode = 2;
}

async function read(): Promise<unknown> {
  if (more.length > 0) throw new Invalid('One file at a time: npm run --silent pack -- problem.json');
  const content = await (name === '-' ? text(process.stdin) : readFile(name, 'utf8')).catch(
    (error: Error) => {
      throw new Invalid(`This could not be read. ${error.message}`);
    },
  );
  try {
    return JSON.parse(content.replace(/^\uFEFF/, ''));
  } catch (error) {
    throw new Invalid(`This is no JSON. ${error instanceof Error ? error.message : ''}`);
  }
}

try {
  const { problem, written } = readProblem(await read());
  const plan = await solve(problem, () => performance.now());
  const asWritten = (key: string, value: unknown) =>
    key === 'id' && typeof value === 'string' ? written.get(value) : value;
  process.stdout.write(`${JSON.stringify(plan, asWritten, 1)}\n`);
} catch (error) {
  if (!(error instanceof Invalid)) throw error;
  refuse(error.errors.map(({ path, message }) => (path ? `${path}: ${message}` : message)));
}
