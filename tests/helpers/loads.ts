import { expect } from 'vitest';
import type { z } from 'zod';
import type { Read } from '../../server/core/actor.ts';
import { CONES } from '../../server/kilns/cones.ts';
import { solve } from '../../server/kilns/packing/solve.ts';
import {
  approve,
  examineLoads,
  type LoadPage,
  type Packer,
  type ProposalWish,
  prepareProposal,
  saveProposals,
  showLoad,
} from '../../server/kilns/service/index.ts';
import type { Firing } from '../../server/ware/firing.ts';
import {
  addClay,
  examinePieces,
  movePieces,
  registerForm,
  registerPieces,
} from '../../server/ware/service/index.ts';
import { whenFileIsDone } from './closing.ts';
import type { Person, Studio } from './studio.ts';

let serial = 0;

/** A clay that stands cone 8 and is bisqued to 06; answers its name. */
export async function aClay(s: Studio, more: { maxCone?: string } = {}): Promise<string> {
  const name = `Clay ${++serial}`;
  await s.as(s.people.technician, (act) =>
    addClay(act, {
      name,
      maxCone: '8',
      bisqueCone: '06',
      dryShrinkPercent: 6,
      firedShrinkPercent: 12,
      ...more,
    }),
  );
  return name;
}

/** Pieces of somebody that wait and are ready: for bisque cone 06, or bisqued and bare for glaze cone 6. */
export async function readyPieces(
  s: Studio,
  owner: Person,
  { for: kind, ...fields }: { for: 'bisque' | 'glaze'; clay: string } & Partial<z.input<typeof registerForm>>,
): Promise<number[]> {
  const command = registerForm.parse({
    form: 'bowl',
    cone: '6',
    begins: kind === 'bisque' ? 'drying' : 'bisqued',
    ...fields,
  });
  const { numbers } = await s.as(owner, (act) => registerPieces(act, command));
  if (kind === 'bisque') await s.as(s.people.technician, (act) => movePieces(act, 'dry', numbers, {}));
  else {
    await s.as(owner, (act) => movePieces(act, 'glazes', numbers, { glazes: [] }));
    await s.as(owner, (act) => movePieces(act, 'hand-in', numbers, {}));
  }
  return numbers;
}

/** Packs at once and in this thread, in few steps: what it packs is not what these tests are about. */
export const quickly: Packer = (problem) => solve({ ...problem, iterations: 30 }, () => performance.now());

/** As whoever asks sees it, outside any transaction. */
export const readAs = (s: Studio, person: Person): Read => ({
  tx: s.database.db,
  actor: person.caller,
  now: s.clock.now(),
});

export const BISQUE: Firing = { kind: 'bisque', cone: '06', atmosphere: 'oxidation' };
export const GLAZE: Firing = { kind: 'glaze', cone: '6', atmosphere: 'oxidation' };

let group = 0;

/** A firing group that no other test of the file has, of those that a clay of `aClay` stands. */
export const ownGroup = (): Firing => {
  if (group === 0)
    whenFileIsDone(async () => {
      group = 0;
    });
  const cone = CONES.slice(0, CONES.indexOf('9'))[group++];
  if (cone === undefined) throw new Error('more tests than cones');
  return { ...GLAZE, cone };
};

/** A proposed load of a kiln, by the technician. */
export async function aProposal(s: Studio, wish: ProposalWish): Promise<number> {
  const prepared = await prepareProposal(readAs(s, s.people.technician), wish, quickly);
  const { loads } = await s.as(s.people.technician, (act) => saveProposals(act, prepared));
  return loads[0] as number;
}

export const pageOf = (s: Studio, load: number, person = s.people.technician): Promise<LoadPage> =>
  showLoad(readAs(s, person), load);

/** Approves a load as it is now. */
export async function approved(s: Studio, load: number): Promise<void> {
  const { version } = (await pageOf(s, load)).load;
  await s.as(s.people.technician, (act) => approve(act, load, { version }));
}

/** Every load is what its events say, and every piece is where both its load and itself say. */
export async function nothingIsWrong(s: Studio): Promise<void> {
  const read = readAs(s, s.people.technician);
  expect(await examineLoads(read)).toEqual({ loads: [], reservations: [] });
  expect(await examinePieces(read)).toEqual([]);
}
