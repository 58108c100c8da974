import { parse } from '../../core/forms.ts';
import { commandOf, type MaterialCommand } from '../../materials/facts-form.ts';
import { densityOf, withOrdinary } from '../../materials/ordinary.ts';
import { listRegister, materialBody, saveMaterial } from '../../materials/service/index.ts';
import type { Values } from './columns.ts';
import { eachLine } from './each-line.ts';
import { importKind } from './kind.ts';

/** The register of materials. One that was only met in a recipe so far gets what the file says of it. */
export const materials = importKind<MaterialCommand>({
  name: 'materials',
  nouns: ['material', 'materials'],
  sameAs: 'The same name',
  columns: [
    { key: 'name', header: 'name', also: ['material'], reads: 'text', isRequired: true },
    { key: 'density', header: 'density', also: ['density g/cm3', 'particle density'], reads: 'number' },
    { key: 'otherNames', header: 'other names', reads: 'text' },
    { key: 'substances', header: 'cas', also: ['cas number'], reads: 'text' },
    { key: 'classification', header: 'classification', reads: 'word' },
    { key: 'hazards', header: 'hazards', also: ['hazard classes'], reads: 'text' },
    { key: 'pStatements', header: 'p statements', also: ['p codes'], reads: 'text' },
    { key: 'source', header: 'source', reads: 'text' },
    { key: 'supplier', header: 'supplier', reads: 'text' },
    { key: 'storage', header: 'storage', reads: 'text' },
    { key: 'incompatible', header: 'incompatible', also: ['incompatible with'], reads: 'text' },
    { key: 'ppe', header: 'ppe', also: ['protection'], reads: 'text' },
  ],
  read: readMaterial,
  identity: ({ name }) => name.toLowerCase(),
  async bring(setting, lines) {
    const register = await listRegister(setting.act);
    const known = new Map(register.map((material) => [material.name.toLowerCase(), material]));
    return eachLine(setting, lines, async (act, command) => {
      const there = known.get(command.name.toLowerCase());
      if (there?.isRetired) return `${there.name} is in the register, retired.`;
      if (there && there.version > 0) return `${there.name} is in the register.`;
      await saveMaterial(act, there?.id ?? null, command);
      return null;
    });
  },
});

/** Several in one cell are parted by semicolons; the ordinary density stands in for one that is left out. */
function readMaterial({ name, density, substances, hazards, otherNames, pStatements, ...rest }: Values) {
  const body = parse(materialBody, {
    classification: hazards === undefined ? 'unknown' : 'classified',
    ...rest,
    name,
    density: density ?? densityOf(String(name), withOrdinary([])),
    otherNames: listed(otherNames),
    pStatements: listed(pStatements),
    substances: substances === undefined ? [] : [{ name, cas: substances }],
    hazards: listed(hazards).map(hazardOf),
  });
  return commandOf(body);
}

const listed = (cell: unknown): string[] =>
  typeof cell === 'string' ? cell.split(/[;\n]/).flatMap((part) => part.trim() || []) : [];

/** 'STOT RE 1 H372': the last word is the statement, all before it the class. */
function hazardOf(typed: string): { hazardClass: string; hCode: string } {
  const words = typed.split(/\s+/);
  return { hazardClass: words.slice(0, -1).join(' '), hCode: words.at(-1) ?? '' };
}
