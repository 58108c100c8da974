import { readdirSync, readFileSync } from 'node:fs';
import { basename, dirname, join, relative, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';

const SERVER = resolve('server');
const ORDER = ['core', 'members', 'materials', 'buckets', 'ware', 'kilns', 'safety', 'fees', 'today'];
const ROOMS = /^(schema|store|service|routes(-\w+)?|api(-\w+)?|actions|kinds|events)$/;

interface File {
  path: string;
  feature: string;
  /** schema, store, service, actions …; a concept's own name where it is pure. */
  room: string;
  imports: string[];
}

const files: File[] = readdirSync(SERVER, { recursive: true, encoding: 'utf8' })
  .filter((name) => /\.tsx?$/.test(name))
  .map((name) => {
    const path = join(SERVER, name);
    const [feature = '', room = ''] = name.split('/');
    const text = readFileSync(path, 'utf8');
    const imports = [...text.matchAll(/(?:from|import)\s+'([^']+)'/g)].map((m) => m[1] as string);
    return { path, feature, room: basename(room, room.endsWith('.tsx') ? '.tsx' : '.ts'), imports };
  });

const inFeatures = files.filter((f) => ORDER.includes(f.feature));
const isPure = (f: File) => f.feature !== 'core' && inFeatures.includes(f) && !ROOMS.test(f.room);
const own = (f: File) => f.imports.filter((i) => i.startsWith('.')).map((i) => resolve(dirname(f.path), i));
const fileAt = (path: string) => files.find((f) => f.path === path);
const PURE_CORE = ['clock.ts', 'units.ts', 'money.ts', 'wall-time.ts'].map((n) => join(SERVER, 'core', n));

describe('who may import whom', () => {
  it('a feature knows only those to its left', () => {
    const wrong = inFeatures.flatMap((f) =>
      own(f)
        .map(fileAt)
        .filter(
          (to) => to && ORDER.includes(to.feature) && ORDER.indexOf(to.feature) > ORDER.indexOf(f.feature),
        )
        .map((to) => `${relative(SERVER, f.path)} → ${relative(SERVER, to?.path ?? '')}`),
    );
    expect(wrong).toEqual([]);
  });

  it("no feature opens another one's store", () => {
    const wrong = inFeatures.flatMap((f) =>
      own(f)
        .map(fileAt)
        .filter((to) => to && to.feature !== f.feature && to.room === 'store')
        .map((to) => `${relative(SERVER, f.path)} → ${relative(SERVER, to?.path ?? '')}`),
    );
    expect(wrong).toEqual([]);
  });

  it('the arithmetic of a bucket is pure: it imports pure files and nothing else', () => {
    const names = [
      'gravity',
      'regression',
      'float',
      'vessel',
      'slurry',
      'advice',
      'batch',
      'pour',
      'ledger',
      'drift',
      'outlook',
      'control-chart',
      'verdict',
      'flow',
      'settling',
      'recipe',
      'sentences',
      'round',
      'coat',
      'coat-fit',
      'coat-search',
      'dwell',
      'least-squares',
      'absorption',
      'drying',
    ];
    const pure = files.filter((f) => isPure(f) && names.includes(f.room));
    expect(pure.length).toBeGreaterThanOrEqual(names.length);
    const wrong = pure.flatMap((f) => {
      const packages = f.imports.filter((i) => !i.startsWith('.'));
      const impure = own(f).filter((path) => {
        const to = fileAt(path);
        return !(PURE_CORE.includes(path) || (to && isPure(to)) || to?.room === 'kinds');
      });
      return [...packages, ...impure].map((to) => `${relative(SERVER, f.path)} → ${to}`);
    });
    expect(wrong).toEqual([]);
  });

  it('only stores and schemas speak to the database', () => {
    const wrong = inFeatures
      .filter((f) => f.feature !== 'core' && !['store', 'schema'].includes(f.room))
      .filter((f) => f.imports.some((i) => i.startsWith('drizzle-orm') || i === 'postgres'))
      .map((f) => relative(SERVER, f.path));
    expect(wrong).toEqual([]);
  });

  it('rules never ask the machine what time it is', () => {
    const wrong = inFeatures
      .filter((f) => !/core\/(clock|postgres.*)\.ts$/.test(f.path))
      .filter((f) => /Date\.now\(\)|new Date\(\)/.test(readFileSync(f.path, 'utf8')))
      .map((f) => relative(SERVER, f.path));
    expect(wrong).toEqual([]);
  });
});
