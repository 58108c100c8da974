import { DAY } from '../../server/core/clock.ts';
import { pictureIn } from '../../server/core/files.ts';
import {
  addClay,
  addConflict,
  addMark,
  addToGroup,
  claimPiece,
  ensureOrdinaryConflicts,
  foundForm,
  makeClass,
  makeHousehold,
  markForm,
  movePieces,
  registerForm,
  registerFound,
  registerPieces,
  setTrait,
} from '../../server/ware/service/index.ts';
import { TestClock } from '../helpers/app.ts';
import type { Person, Studio } from '../helpers/studio.ts';
import { aPhoto } from '../helpers/upload.ts';

/** What stands for a parameter in the address of a page about ware. */
export interface WareThings {
  clay: number;
  household: number;
  /** A piece for every state that one reaches without a kiln, by what is odd about it. */
  pieces: Record<(typeof WITHOUT_KILN)[number], number>;
  /** Whose pieces they are; she belongs to the household. */
  owner: Person;
}

const WITHOUT_KILN = [
  'made',
  'drying',
  'asked',
  'closed',
  'thick',
  'dry',
  'bisqued',
  'glazed',
  'waiting',
  'strange',
  'returned',
  'flagged',
  'taken',
  'lost',
  'nameless',
] as const;

/** The studio some time ago: what is done by its `as` is done then. */
export function past(studio: Studio, ms: number): Studio {
  const clock = new TestClock();
  clock.forward(studio.clock.now() - ms - clock.now());
  const as: Studio['as'] = (person, work) =>
    studio.database.transaction((tx) => work({ tx, actor: person.caller, now: clock.now() }));
  return { ...studio, clock, as };
}

/** Pieces in every state, with all that they refer to; `name` is the longest that a name may be and has no blank. */
export async function someWare(studio: Studio, name: string): Promise<WareThings> {
  const { technician, member } = studio.people;
  const before = past(studio, 20 * DAY);
  const picture = await pictureIn({ bytes: await aPhoto(300, 200), isTooLarge: false }, 'photo');
  const shrinks = { bisqueCone: '06', dryShrinkPercent: 6, firedShrinkPercent: 12 };
  const { clay, household } = await before.as(technician, async (act) => {
    const clay = await addClay(act, { name, maxCone: '10', note: `Warps. ${name}`, ...shrinks });
    await addClay(act, { name: 'Orchard red', maxCone: '02', ...shrinks });
    await ensureOrdinaryConflicts(act);
    await addConflict(act, { tagA: 'copper', tagB: name.slice(0, 30), why: name });
    await setTrait(act, 'LONG', { isRunny: true, trayMm: 20, tags: `copper, ${name.slice(0, 30)}` });
    await setTrait(act, 'READY', { tags: 'chromium' });
    await makeClass(act, { name: 'Class Tuesday 07', contact: technician.email });
    const household = await makeHousehold(act, { name });
    await addToGroup(act, household, { who: member.email });
    return { clay, household };
  });
  await before.as(member, async (act) => {
    await addMark(act, markForm.parse({ text: name }), picture);
    await addMark(act, markForm.parse({ text: 'A wave over two dots' }), picture);
  });

  const register = async (at: Studio, fields: object, who = member): Promise<[number, ...number[]]> => {
    const command = registerForm.parse({ form: 'bowl', cone: '6', clay: name, ...fields });
    const { numbers } = await at.as(who, (act) => registerPieces(act, command));
    return numbers as [number, ...number[]];
  };
  const move = (who: Person, path: Parameters<typeof movePieces>[1], numbers: number[], body: object = {}) =>
    past(studio, 2 * DAY).as(who, (act) => movePieces(act, path, numbers, body as never, null));
  const long = {
    form: 'other',
    called: name.slice(0, 40),
    shape: 'rectangle',
    widthMm: 220,
    depthMm: 140,
    heightMm: 150,
    mark: name.slice(0, 30),
    place: name,
    note: `For the window. ${name}`,
    wantedBy: '2026-12-24',
    kg: 1.25,
    group: name,
    payer: 'me',
  };

  const [made] = await register(studio, { form: 'cup', howMany: 6 });
  const [drying] = await register(studio, { ...long, begins: 'drying' });
  const asked = await register(before, { form: 'plate', howMany: 3, begins: 'drying' });
  await move(member, 'ask-dry', asked);
  const [closed] = await register(before, { form: 'vase', closed: true, begins: 'drying' });
  const [thick] = await register(before, { form: 'tile', thickestMm: 18, begins: 'drying' });
  const dry = await register(before, { howMany: 5, begins: 'drying' });
  await move(technician, 'dry', [thick, ...dry]);
  const [bisqued] = await register(studio, { form: 'beaker', begins: 'bisqued' });
  const glazed = await register(studio, { begins: 'bisqued', howMany: 2 });
  await move(member, 'glazes', glazed, { glazes: [{ bucket: 'LONG' }, { bucket: 'READY' }] });
  const waiting = await register(before, { ...long, begins: 'bisqued', howMany: 3 });
  await move(member, 'glazes', waiting, { glazes: [] });
  await move(member, 'hand-in', waiting);
  const strange = await register(before, { clay: undefined, ownClay: name, begins: 'bisqued', howMany: 2 });
  const own = { own: `Sister's ${name}`.slice(0, 60), coneFrom: '5', coneTo: '7' };
  await move(member, 'glazes', strange, { glazes: [{ bucket: 'THIN' }, own] });
  await move(member, 'hand-in', strange, { heldBack: true });
  const [returned] = await register(before, { begins: 'drying' });
  await past(studio, 10 * DAY).as(technician, (act) =>
    movePieces(act, 'return', [returned], { reason: 'crack', note: name }, picture),
  );
  const [flagged] = await register(before, { begins: 'drying' });
  await move(technician, 'dry', [flagged]);
  await move(technician, 'flag', [flagged], { words: name });
  const [taken] = await register(before, { begins: 'bisqued' });
  await move(member, 'pick-up', [taken]);
  const [lost] = await register(before, {});
  await move(technician, 'lost', [lost], { cause: 'broken', note: name });
  const [nameless] = await before.as(technician, async (act) => {
    const found = { form: 'beaker', looks: 'fired', mark: name.slice(0, 30), place: name, note: name };
    await registerFound(act, foundForm.parse({ form: 'bowl', looks: 'bisque' }), picture);
    return (await registerFound(act, foundForm.parse(found), picture)).numbers as [number];
  });
  for (const person of [member, studio.people.manager])
    await studio.as(person, (act) => claimPiece(act, nameless, { note: name }));
  return {
    clay,
    household,
    owner: member,
    pieces: {
      made,
      drying,
      asked: asked[0],
      closed,
      thick,
      dry: dry[0],
      bisqued,
      glazed: glazed[0],
      waiting: waiting[0],
      strange: strange[0],
      returned,
      flagged,
      taken,
      lost,
      nameless,
    },
  };
}
