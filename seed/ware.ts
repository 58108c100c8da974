import type { z } from 'zod';
import type { Act } from '../server/core/actor.ts';
import { DAY, type Instant } from '../server/core/clock.ts';
import {
  addClay,
  addToGroup,
  claimPiece,
  clayForm,
  ensureOrdinaryConflicts,
  foundForm,
  makeClass,
  makeHousehold,
  movePieces,
  registerForm,
  registerFound,
  registerPieces,
  setTrait,
  traitForm,
} from '../server/ware/service/index.ts';
import type { DemoName } from './people.ts';
import { photoOf } from './pictures.ts';

export type By = (who: DemoName, at: Instant) => Act;

/** A band that is common practice, no source. */
const BISQUED = {
  bisqueCone: '06',
  bisqueProgramme: 'Slow bisque, half an hour at the top',
  absorptionLow: 9,
  absorptionHigh: 14,
};

const CLAYS: z.input<typeof clayForm>[] = [
  { name: 'Buff stoneware', maxCone: '7', ...BISQUED, dryShrinkPercent: 6, firedShrinkPercent: 12 },
  { name: 'White stoneware', maxCone: '10', ...BISQUED, dryShrinkPercent: 7, firedShrinkPercent: 13 },
  { name: 'Iron-rich stoneware', maxCone: '10', ...BISQUED, dryShrinkPercent: 6, firedShrinkPercent: 12 },
  {
    name: 'Orchard red earthenware',
    maxCone: '02',
    bisqueCone: '05',
    dryShrinkPercent: 6,
    firedShrinkPercent: 8,
    note: 'Melts at cone 6: never into a stoneware load.',
  },
];

/** What glazes do in company, and how thick they go on where that is not as usual. */
const TRAITS: Record<
  string,
  { isRunny?: boolean; tags?: string[]; wantedCoatMm?: number; dryCoatDensity?: number }
> = {
  WD: { isRunny: true, wantedCoatMm: 0.4 },
  CF: { tags: ['copper'] },
  RM: { tags: ['chromium'] },
  CH: { tags: ['tin white'], wantedCoatMm: 0.5, dryCoatDensity: 1.35 },
};

/** Pieces that were registered together, and how far they have come, in days ago. */
export interface Lot {
  who: DemoName;
  piece: Partial<z.input<typeof registerForm>> & Pick<z.input<typeof registerForm>, 'form'>;
  made: number;
  /** Felt dry by a technician. */
  dry?: number;
  /** Already bisqued when it was brought; then glazed with these, and handed in. */
  glazes?: string[];
  /** Put on at the bench, each dipped for so many seconds: the first all over, what follows over it. */
  counts?: number[];
  handedIn?: number;
}

const cup = (howMany: number) => ({ form: 'cup', howMany }) as const;
const beaker = (howMany: number) => ({ form: 'beaker', howMany }) as const;
const bowl = (howMany: number, widthMm = 150, heightMm = 75) =>
  ({ form: 'bowl', howMany, widthMm, heightMm }) as const;
const plate = (howMany: number, widthMm = 260) => ({ form: 'plate', howMany, widthMm }) as const;
const vase = (howMany: number, widthMm = 120, heightMm = 220) =>
  ({ form: 'vase', howMany, widthMm, heightMm }) as const;

/** Forty-four pieces of eight people that wait for the next glaze firing. */
const WAITING: Lot[] = [
  { who: 'Ida', piece: cup(6), made: 13, glazes: ['HG'], handedIn: 11 },
  { who: 'Ida', piece: bowl(2, 170, 80), made: 13, glazes: ['CH'], handedIn: 4 },
  { who: 'Tomas', piece: beaker(4), made: 12, glazes: ['TB'], handedIn: 9 },
  { who: 'Tomas', piece: vase(1, 140, 260), made: 12, glazes: ['HG', 'TB'], handedIn: 9 },
  { who: 'Petra', piece: bowl(6, 145, 70), made: 10, glazes: ['OS'], handedIn: 8 },
  { who: 'Petra', piece: plate(2), made: 10, glazes: ['OS'], handedIn: 8 },
  { who: 'Lowell', piece: plate(3, 230), made: 9, glazes: ['TB'], handedIn: 7 },
  { who: 'Lowell', piece: cup(2), made: 9, glazes: ['CH', 'TB'], handedIn: 7 },
  { who: 'Noor', piece: bowl(1, 300, 120), made: 8, glazes: ['CH'], handedIn: 6 },
  { who: 'Noor', piece: beaker(4), made: 8, glazes: ['CH'], handedIn: 6 },
  { who: 'Jory', piece: vase(2), made: 7, glazes: ['TB'], handedIn: 5 },
  { who: 'Jory', piece: cup(3), made: 7, glazes: ['WD'], handedIn: 5 },
  { who: 'Wren', piece: cup(4), made: 6, glazes: ['HG'], handedIn: 3 },
  { who: 'Maro', piece: { form: 'tile', howMany: 3 }, made: 5, glazes: ['OS'], handedIn: 2 },
  {
    who: 'Maro',
    piece: { form: 'other', called: 'Teapot', shape: 'rectangle', widthMm: 220, depthMm: 140, heightMm: 150 },
    made: 5,
    glazes: ['OS'],
    handedIn: 2,
  },
];

/** Greenware, dry and on the way there, among it what needs somebody. */
const GREENWARE: Lot[] = [
  { who: 'Ida', piece: { ...bowl(4), begins: 'drying' }, made: 6, dry: 2 },
  { who: 'Tomas', piece: { ...cup(4), begins: 'drying' }, made: 6, dry: 2 },
  { who: 'Petra', piece: { ...plate(3), begins: 'drying' }, made: 7, dry: 2 },
  { who: 'Noor', piece: { ...vase(1, 180, 340), thickestMm: 15, begins: 'drying' }, made: 9, dry: 3 },
  { who: 'Jory', piece: { ...beaker(3), begins: 'wet' }, made: 1 },
];

const FOR_GLAZE = { kind: 'glaze', cone: '6', atmosphere: 'oxidation' } as const;
const CLAY = { clay: 'Buff stoneware' };

/** Clays, households and classes, what glazes do in company. */
export async function furnishWare(by: By, opened: Instant): Promise<void> {
  const wren = by('Wren', opened);
  for (const clay of CLAYS) await addClay(wren, clayForm.parse(clay));
  await ensureOrdinaryConflicts(wren);
  for (const [code, { isRunny = false, tags = [], ...coat }] of Object.entries(TRAITS))
    await setTrait(
      wren,
      code,
      traitForm.parse({
        isRunny,
        trayMm: isRunny ? 20 : undefined,
        tags: tags.join(', ') || undefined,
        ...coat,
      }),
    );
  const household = await makeHousehold(by('Petra', opened), { name: 'Weir Cottage' });
  await addToGroup(by('Petra', opened), household, { who: 'Lowell' });
  await makeClass(wren, { name: 'Class Tuesday 07', contact: 'technician@millrace.example' });
}

export async function registerLot(by: By, lot: Lot, now: Instant): Promise<number[]> {
  const at = (daysAgo: number) => now - daysAgo * DAY;
  const { who, piece, made, dry, glazes, counts, handedIn } = lot;
  const begins = glazes ? 'bisqued' : 'drying';
  const command = registerForm.parse({ ...FOR_GLAZE, ...(piece.ownClay ? {} : CLAY), begins, ...piece });
  const { numbers } = await registerPieces(by(who, at(made)), command);
  if (glazes && handedIn !== undefined) {
    const act = by(who, at(handedIn));
    if (counts) {
      for (const [nth, bucket] of glazes.entries()) {
        const face = nth === 0 ? 'all' : 'over';
        await movePieces(act, 'coat', numbers, { bucket, face, way: 'dip', seconds: counts[nth] });
      }
    } else await movePieces(act, 'glazes', numbers, { glazes: glazes.map((bucket) => ({ bucket })) });
    await movePieces(act, 'hand-in', numbers, { heldBack: true });
  }
  if (dry !== undefined) await movePieces(by('Wren', at(dry)), 'dry', numbers, {});
  return numbers;
}

/** What stands about in the studio today: waiting, drying, given back, nameless. */
export async function fillRacks(by: By, now: Instant): Promise<void> {
  for (const lot of [...WAITING, ...GREENWARE]) await registerLot(by, lot, now);
  const asked = await registerLot(by, { who: 'Lowell', piece: bowl(2, 200, 90), made: 4 }, now);
  await movePieces(by('Lowell', now - DAY), 'ask-dry', asked, {});
  const red = { ...beaker(2), clay: 'Orchard red earthenware', cone: '04' };
  await registerLot(by, { who: 'Jory', piece: red, made: 5, dry: 1 }, now);
  const strange = { ...bowl(1), ownClay: 'Dug behind the allotment' };
  await registerLot(by, { who: 'Noor', piece: strange, made: 6, glazes: ['CH'], handedIn: 1 }, now);
  const dripping = await registerLot(
    by,
    { who: 'Tomas', piece: vase(1, 110, 180), made: 5, glazes: ['WD'], handedIn: 2 },
    now,
  );
  await movePieces(by('Wren', now - DAY), 'return', dripping, {
    reason: 'foot',
    note: 'A run down to the shelf line. Wipe it back 12 mm.',
  });
  const picture = await photoOf(beakerWithoutName());
  const found = { form: 'beaker', looks: 'fired', mark: 'a leaf?', place: 'Shelf without names' } as const;
  const { numbers } = await registerFound(by('Wren', now - 3 * DAY), foundForm.parse(found), picture);
  await claimPiece(by('Noor', now - DAY), numbers[0] as number, { note: 'The leaf is mine, from spring.' });
}

const beakerWithoutName = () => `<svg xmlns="http://www.w3.org/2000/svg" width="480" height="480">
  <rect width="480" height="480" fill="#d8d2c6"/><rect y="360" width="480" height="120" fill="#b9ad99"/>
  <ellipse cx="240" cy="398" rx="96" ry="22" opacity=".25"/>
  <path d="M150 120 L172 380 Q240 402 308 380 L330 120 Z" fill="#7c8f93"/>
  <path d="M166 318 L172 380 Q240 402 308 380 L314 318 Q240 340 166 318 Z" fill="#c9a679"/>
  <ellipse cx="240" cy="120" rx="90" ry="20" fill="#5f7176"/><ellipse cx="240" cy="123" rx="76" ry="14" fill="#3f4c50"/>
</svg>`;
