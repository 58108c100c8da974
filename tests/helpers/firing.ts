import type { KilnNow, LoadPage } from '../../server/kilns/service/index.ts';
import {
  finishLoading,
  loadLevel,
  openKiln,
  shutOff,
  startFiring,
  unloadForm,
  unloadKiln,
} from '../../server/kilns/service/index.ts';
import { movePieces } from '../../server/ware/service/index.ts';
import { aKiln } from './kilns.ts';
import { aClay, aProposal, approved, GLAZE, pageOf, readyPieces } from './loads.ts';
import type { Person, Studio } from './studio.ts';

export interface ALoad {
  number: number;
  kiln: KilnNow;
  /** The pieces that stand in it, ascending. */
  pieces: number[];
  page: LoadPage;
}

interface Wish {
  kiln?: KilnNow;
  /** Figures of a new kiln. */
  like?: Parameters<typeof aKiln>[1];
  owner?: Person;
  form?: 'bowl' | 'plate';
  howMany?: number;
  /** Of a glaze firing, 6 without it. All that waits for it goes into the load. */
  cone?: string;
  kind?: 'bisque' | 'glaze';
  /** Code of the bucket that all of it is glazed from; without it it stays bare. */
  bucket?: string;
  clay?: string;
}

/** A load that stands in its kiln, every level ticked. */
export async function aLoadedKiln(s: Studio, wish: Wish = {}): Promise<ALoad> {
  const { kind = 'glaze', form = 'plate', howMany = 6, owner = s.people.member } = wish;
  const wren = s.people.technician;
  const kiln = wish.kiln ?? (await aKiln(s, { halfShelves: 0, ...wish.like }));
  const clay = wish.clay ?? (await aClay(s, { maxCone: '10' }));
  const firing =
    kind === 'bisque'
      ? ({ kind, cone: '06', atmosphere: 'oxidation' } as const)
      : { ...GLAZE, ...(wish.cone && { cone: wish.cone }) };
  const fields = { clay, form, howMany, ...(kind === 'glaze' && { cone: firing.cone }) };
  if (wish.bucket === undefined) await readyPieces(s, owner, { for: kind, ...fields });
  else await glazedPieces(s, owner, wish.bucket, { for: 'glaze', ...fields });
  const number = await aProposal(s, { kiln: kiln.code, firing });
  await approved(s, number);
  const page = await pageOf(s, number);
  for (const { part, level } of page.levels)
    await s.as(wren, (act) => loadLevel(act, number, { part, level, why: 'The phone is flat' }));
  await s.as(wren, (act) => finishLoading(act, number));
  return { number, kiln, page, pieces: page.pieces.map((piece) => piece.number).sort((a, b) => a - b) };
}

async function glazedPieces(
  s: Studio,
  owner: Person,
  bucket: string,
  fields: Parameters<typeof readyPieces>[2],
): Promise<void> {
  const numbers = await readyPieces(s, owner, fields);
  await s.as(owner, (act) => movePieces(act, 'glazes', numbers, { glazes: [{ bucket }] }));
  await s.as(owner, (act) => movePieces(act, 'hand-in', numbers, { heldBack: true }));
  await s.as(s.people.technician, (act) => movePieces(act, 'yes', numbers, { trayMm: 15 }));
}

/** Started by the technician, who may fire every kiln of `aKiln`, whatever the hour; the list before firing is not gone through. */
export const started = (s: Studio, number: number, happenedAt?: number): Promise<void> =>
  s.as(s.people.technician, (act) =>
    startFiring(act, number, {
      note: 'In a hurry',
      confirm: true,
      ...(happenedAt !== undefined && { happenedAt }),
    }),
  );

/** Lit, off and open at 40 °C. */
export async function opened(s: Studio, number: number): Promise<void> {
  await started(s, number);
  await s.as(s.people.technician, (act) => shutOff(act, number, {}));
  await s.as(s.people.technician, (act) => openKiln(act, number, { celsius: 40, how: 'opened' }));
}

/** Emptied: all good but what is named. */
export async function emptied(
  s: Studio,
  number: number,
  exceptions: { piece: number; outcome: string }[] = [],
): Promise<void> {
  await opened(s, number);
  await s.as(s.people.technician, (act) =>
    unloadKiln(act, number, unloadForm.parse({ celsius: 30, exceptions })),
  );
}
