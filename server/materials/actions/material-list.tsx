import { MaterialListPage, SHOWN, type Shown } from '../../../views/materials/material-list.tsx';
import { may } from '../../core/policy.ts';
import { type Answer, emptyForm, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { addCommon, listRegister, type RegisteredMaterial } from '../service/index.ts';

export async function showMaterials(visit: Visit): Promise<Answer> {
  const { query } = visit;
  const all = await listRegister(visit.read);
  const asked = String(query.show);
  const shown = Object.hasOwn(SHOWN, asked) ? (asked as Shown) : 'all';
  const q = [query.q ?? ''].flat().join(' ').slice(0, 80).toWellFormed();
  return page(
    'Materials',
    'safety',
    <MaterialListPage
      materials={all.filter((one) => IS[shown](one) && matches(one, q))}
      total={all.length}
      shown={shown}
      search={emptyForm({ q })}
      mayEdit={may(visit.caller.role, 'materials.edit')}
      done={doneWords(query.done)}
      newKey={randomSecret()}
    />,
  );
}

const IS: Record<Shown, (material: RegisteredMaterial) => boolean> = {
  all: ({ isRetired }) => !isRetired,
  hazards: ({ isRetired, facts }) => !isRetired && facts.classification === 'classified',
  unknown: ({ isRetired, facts }) => !isRetired && facts.classification === 'unknown',
  'no-sheet': ({ isRetired, sheet }) => !isRetired && sheet.state === 'none',
  'look-again': ({ isRetired, sheet }) =>
    !isRetired && (sheet.state === 'look-again' || sheet.state === 'newer-exists'),
  retired: ({ isRetired }) => isRetired,
};

/** Every word that was typed is in one of its names, or begins one of its CAS numbers. */
function matches({ name, facts }: RegisteredMaterial, q: string): boolean {
  const names = [name, ...facts.otherNames, ...facts.substances.map((one) => one.name)]
    .join(' ')
    .toLowerCase();
  return q
    .toLowerCase()
    .split(/\s+/)
    .filter((word) => word !== '')
    .every((word) => names.includes(word) || facts.substances.some(({ cas }) => cas.startsWith(word)));
}

function doneWords(done: unknown): string | null {
  const filled = /^common-(\d{1,3})$/.exec(String(done))?.[1];
  if (filled === undefined) return null;
  if (filled === '0') return 'All of the common ones were here already.';
  return filled === '1'
    ? 'One material is filled in. Check it against your supplier’s sheet.'
    : `${filled} materials are filled in. Check them against your supplier’s sheets.`;
}

export async function fillInCommon(visit: Visit): Promise<Answer> {
  const filled = await visit.act((act) => addCommon(act));
  return go(`/materials?done=common-${filled}`);
}

/** The address that this is done at, opened by itself, leads to the register. */
export const backToMaterials = async (): Promise<Answer> => go('/materials');
