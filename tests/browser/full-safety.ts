import { findBucket } from '../../server/buckets/service/index.ts';
import { DAY, HOUR } from '../../server/core/clock.ts';
import { documentIn, pictureIn } from '../../server/core/files.ts';
import { toWallTime } from '../../server/core/wall-time.ts';
import type { MaterialFacts } from '../../server/materials/facts.ts';
import {
  addCommon,
  addSheet,
  countStock,
  deliver,
  disposeStock,
  listRegister,
  recallLot,
  retireMaterial,
  saveMaterial,
  setReorderLevel,
  takeStock,
  voidStock,
} from '../../server/materials/service/index.ts';
import { holdBriefing } from '../../server/safety/service/briefings.ts';
import { recordAtContainer } from '../../server/safety/service/container-acts.ts';
import { containerEventBody } from '../../server/safety/service/container-forms.ts';
import {
  createContainer,
  newContainerBody,
  permitDrain,
  retireContainer,
} from '../../server/safety/service/containers.ts';
import { addDuty, addUsualDuties, dutyBody, endDuty } from '../../server/safety/service/duties.ts';
import { recordTest, testBody, voidTest } from '../../server/safety/service/food.ts';
import {
  giveInductions,
  listInductions,
  strikeOutInduction,
} from '../../server/safety/service/inductions.ts';
import { addPhoto, amend, close, followUp, logEntry } from '../../server/safety/service/log.ts';
import { entryBody } from '../../server/safety/service/log-forms.ts';
import {
  noticeBody,
  postNotice,
  readNotice,
  reviseNotice,
  withdrawNotice,
  wordsBody,
} from '../../server/safety/service/notices.ts';
import { VERBS } from '../../server/safety/settings.ts';
import type { Studio } from '../helpers/studio.ts';
import { aPhoto } from '../helpers/upload.ts';
import { past } from './full-ware.ts';

/** What stands for a parameter in the address of a page about safety. */
export interface SafetyThings {
  /** Material numbers: everything is known of one, its sheet only is of another, nothing of a third. */
  materials: Record<'full' | 'bare' | 'common' | 'retired', number>;
  /** A row of the full one's stock, and one of its lots that went into a batch. */
  stockRow: number;
  lots: number[];
  notices: Record<
    'bucket' | 'material' | 'kiln' | 'room' | 'everywhere' | 'later' | 'ended' | 'withdrawn',
    number
  >;
  induction: number;
  briefing: number;
  entries: Record<
    'closed' | 'open' | 'late' | 'struck' | 'photo' | 'air' | 'wipe' | 'check' | 'waste',
    number
  >;
  tests: Record<'passed' | 'failed' | 'voided', number>;
}

/** Codes of containers, one of each kind, one never used and one out of use. */
export const CONTAINERS = ['RLONG', 'RMIX', 'DRUM', 'RNEW', 'ROLD'];

const dayOf = ({ clock }: Studio, days = 0): string =>
  toWallTime(clock.now() + days * DAY, 'Europe/London').slice(0, 10);
const aSheet = documentIn(
  { bytes: Buffer.from('%PDF-1.4\nMade up for a test.\n%%EOF\n'), isTooLarge: false },
  'sheet',
);

const EVERYTHING = (name: string): MaterialFacts => ({
  otherNames: ['Black manganese', name],
  substances: [
    { name: 'Manganese dioxide', cas: '1313-13-9', percent: 78 },
    { name, cas: '14808-60-7', percent: null },
  ],
  classification: 'classified',
  hazards: [
    { hazardClass: 'Acute Tox. 4', hCode: 'H302' },
    { hazardClass: 'Acute Tox. 4', hCode: 'H332' },
    { hazardClass: 'Skin Sens. 1', hCode: 'H317' },
    { hazardClass: 'Eye Dam. 1', hCode: 'H318' },
    { hazardClass: 'Carc. 1B', hCode: 'H350', limitPercent: 0.01, note: 'by inhalation' },
    {
      hazardClass: 'STOT RE 1',
      hCode: 'H372',
      note: name,
      ranges: [{ hazardClass: 'STOT RE 2', hCode: 'H373', fromPercent: 0.1, belowPercent: 10 }],
    },
    { hazardClass: 'Aquatic Chronic 1', hCode: 'H410', mFactor: 10 },
  ],
  ate: { oral: 500, inhalation: { value: 1.5, form: 'dust-mist' } },
  pStatements: ['P260', 'P273', 'P280'],
  limits: [{ of: name, value: 0.2, unit: 'mg/m³', averaging: '8 h', source: `Of ${name}` }],
  source: `Sheet of ${name}, section 2.`,
  supplier: name,
  storage: `Locked. ${name}`,
  incompatible: name,
  ppe: `Respirator. ${name}`,
});

/** A store from which batches can be weighed: lots of the material called `name`. */
export async function someStock(studio: Studio, name: string): Promise<void> {
  const longAgo = past(studio, 40 * DAY);
  await longAgo.as(studio.people.technician, async (act) => {
    await addCommon(act);
    const full = (await listRegister(act)).find((one) => one.name === name)?.id ?? 0;
    const lots = [
      { lot: name.slice(0, 40), kg: 25 },
      { lot: 'OLD 1', kg: 2, expiresOn: dayOf(studio, -3) },
      { lot: 'BACK 7', kg: 4 },
    ];
    for (const lot of lots) await deliver(act, full, { ...lot, supplier: name, note: name });
    await takeStock(act, full, { lot: 'BACK 7', kg: 5, confirm: true, note: name });
    await countStock(act, full, { lot: 'OLD 1', kg: 1.7, note: name });
    await disposeStock(act, full, { lot: 'OLD 1', kg: 0.4, confirm: false, note: name });
    const { number } = await disposeStock(act, full, { lot: 'OLD 1', kg: 0.3, confirm: false });
    await voidStock(act, full, number, { reason: name, confirm: false });
    await setReorderLevel(act, full, { kg: 80 });
  });
}

/** What a studio's safety consists of; `name` is the longest that a name may be and has no blank. Nothing is gated. */
export async function someSafety(studio: Studio, name: string, clay: number): Promise<SafetyThings> {
  const materials = await someMaterials(studio, name);
  const tests = await someTests(studio, name, clay);
  await someContainers(studio, name);
  return {
    materials,
    stockRow: 1,
    lots: [1, 2, 3],
    notices: await someNotices(studio, name, materials.full),
    ...(await somePeopleShown(studio, name)),
    entries: await someEntries(studio, name, materials.full),
    tests,
  };
}

async function someMaterials(studio: Studio, name: string): Promise<SafetyThings['materials']> {
  const before = past(studio, 20 * DAY);
  return before.as(studio.people.technician, async (act) => {
    const idOf = async (wanted: string) =>
      (await listRegister(act)).find((one) => one.name === wanted)?.id ?? 0;
    const full = await idOf(name);
    await saveMaterial(act, full, { name, density: 5, facts: { ...EVERYTHING(name), limits: [] } });
    await saveMaterial(act, full, { name, density: 5, facts: EVERYTHING(name) });
    const sheet = { kind: 'sheet', supplier: name, language: name.slice(0, 40) } as const;
    for (const issuedOn of ['2019-04-01', '2021-06-30'])
      await addSheet(act, full, { ...sheet, issuedOn }, aSheet);
    await addSheet(act, full, { kind: 'reviewed', reviewOn: dayOf(studio, -9) }, null);
    await addSheet(act, full, { kind: 'newer-exists' }, null);
    await recallLot(act, full, { lot: 'BACK 7', note: name });
    const common = await idOf('Whiting');
    await addSheet(act, common, { ...sheet, issuedOn: dayOf(studio, -90) }, aSheet);
    const unknown = EVERYTHING('');
    const nothing = {
      ...unknown,
      classification: 'unknown',
      substances: [],
      hazards: [],
      limits: [],
    } as const;
    const facts: MaterialFacts = {
      ...nothing,
      otherNames: [],
      pStatements: [],
      ate: {},
      substances: [],
      hazards: [],
      limits: [],
    };
    const { id: bare } = await saveMaterial(act, null, { name: 'Barn ash', density: 2.4, facts });
    const { id: retired } = await saveMaterial(act, null, {
      name: 'Barium carbonate, old',
      density: 4.3,
      facts,
    });
    await retireMaterial(act, retired, true);
    return { full, bare, common, retired };
  });
}

async function someNotices(studio: Studio, name: string, material: number): Promise<SafetyThings['notices']> {
  const { technician, member, manager } = studio.people;
  const words = { title: name, dipping: `Gloves. ${name}`, mixing: `Respirator. ${name}`, cleaning: name };
  const post = (days: number, command: object) =>
    past(studio, days * DAY).as(technician, (act) =>
      postNotice(act, noticeBody.parse({ ...words, ...command })),
    );
  const bucket = await post(9, { scope: 'bucket', bucket: 'LONG', notForChildren: true });
  await studio.as(technician, (act) =>
    reviseNotice(act, bucket, wordsBody.parse({ ...words, cleaning: 'Wet.' })),
  );
  const made = {
    bucket,
    material: await post(8, { scope: 'material', material }),
    kiln: await post(7, { scope: 'kiln', kiln: 'ROUND' }),
    room: await post(6, { scope: 'room', room: name }),
    everywhere: await post(5, { scope: 'everywhere', validTo: dayOf(studio, 3) }),
    later: await post(4, { scope: 'bucket', bucket: 'LONG', validFrom: dayOf(studio, 30) }),
    ended: await post(20, { scope: 'bucket', bucket: 'STIFF', validTo: dayOf(studio, -10) }),
    withdrawn: await post(3, { scope: 'bucket', bucket: 'STIFF' }),
  };
  // Of the rest only what hangs at LONG and on its material is still to be read.
  for (const person of [member, manager]) await studio.as(person, (act) => readNotice(act, made.everywhere));
  await studio.as(technician, (act) => withdrawNotice(act, made.withdrawn));
  return made;
}

async function somePeopleShown(studio: Studio, name: string) {
  const { technician, member, manager } = studio.people;
  const given = (days: number, people: { email: string }[], verbs: readonly string[]) =>
    past(studio, days * DAY).as(manager, (act) =>
      giveInductions(act, {
        people: people.map(({ email }) => email),
        verbs: VERBS.filter((verb) => verbs.includes(verb)),
        givenOn: dayOf(studio, -days),
      }),
    );
  await given(400, [member, technician], ['common', 'spray']);
  await given(350, [member], ['dip']);
  await given(20, [manager, member], ['common', 'load']);
  await given(10, [technician], ['dip']);
  const { inductions } = await studio.as(manager, (act) => listInductions(act));
  const [wrong, induction] = inductions.map(({ id }) => id);
  await studio.as(manager, (act) => strikeOutInduction(act, wrong ?? 0, { reason: name }));
  const { number: briefing } = await studio.as(technician, (act) =>
    holdBriefing(act, {
      className: name,
      heads: 3,
      hasChildren: true,
      heldOn: dayOf(studio),
      buckets: ['LONG', 'READY'],
      roster: [name, 'Anselm', 'Bettine'],
    }),
  );
  return { induction: induction ?? 0, briefing };
}

async function someEntries(studio: Studio, name: string, material: number): Promise<SafetyThings['entries']> {
  const { technician, member, manager } = studio.people;
  const at = (days: number) => past(studio, days * DAY);
  const write = (days: number, entry: object, who = technician) =>
    at(days).as(who, (act) =>
      logEntry(act, entryBody.parse({ place: name, what: `Spilt. ${name}`, ...entry })),
    );
  const about = { bucket: 'LONG', kiln: 'ROUND', material, action: name };

  await at(60).as(technician, async (act) => {
    await addDuty(act, dutyBody.parse({ name, everyDays: 10, kind: 'ventilation', forRole: 'technician' }));
    await addUsualDuties(act);
    await endDuty(
      act,
      await addDuty(
        act,
        dutyBody.parse({ name: 'Once', everyDays: 7, kind: 'training', forRole: 'manager' }),
      ),
    );
  });
  const closed = await write(20, { kind: 'spill', topic: 'slip', ...about }, member);
  await at(19).as(member, (act) => amend(act, closed, { what: name }));
  const hand = (number: number, days: number, dueDays: number) =>
    at(days).as(technician, (act) =>
      followUp(act, number, { what: name, owner: manager.email, dueOn: dayOf(studio, dueDays) }),
    );
  await hand(closed, 18, -2);
  await at(17).as(manager, (act) => close(act, closed, { what: name }));
  const late = await write(16, { kind: 'exposure', topic: 'dust', ...about, restricted: true });
  await hand(late, 15, -5);
  const open = await write(14, { kind: 'near-miss', ...about }, member);
  await hand(open, 13, 5);
  const struck = await write(12, { kind: 'first-aid' });
  await at(11).as(technician, (act) => amend(act, struck, { what: name, strike: true }));
  const photo = await write(10, { kind: 'incident' }, member);
  const picture = await pictureIn({ bytes: await aPhoto(300, 200), isTooLarge: false }, 'photo');
  await at(10).as(member, (act) => addPhoto(act, photo, picture));
  const method = name;
  const air = await write(9, {
    kind: 'air',
    substance: name,
    value: 25,
    unit: 'µg/m³',
    below: true,
    method,
    minutes: 480,
  });
  const wipe = await write(8, { kind: 'wipe', substance: name, value: 14, unit: 'µg/100 cm²', method });
  const check = await write(7, {
    kind: 'ventilation',
    outcome: 'needs-work',
    value: 0.2,
    unit: 'm/s',
    method,
  });
  await write(6, { kind: 'respirator-fit', outcome: 'in-order' });
  await write(5, { kind: 'wet-cleaning', duty: 2 }, member);
  const waste = await write(4, {
    kind: 'waste',
    quantity: 12,
    quantityUnit: 'kg',
    way: 'collected',
    reference: name,
  });
  return { closed, open, late, struck, photo, air, wipe, check, waste };
}

async function someContainers(studio: Studio, name: string): Promise<void> {
  const { technician, member, manager } = studio.people;
  const place = { name, place: name, capacityLitres: 12 };
  const at = (days: number) => past(studio, days * DAY);
  const record = (days: number, code: string, event: object, who = technician) =>
    at(days).as(who, (act) =>
      recordAtContainer(act, code, containerEventBody.parse({ note: name, ...event })),
    );
  await at(60).as(technician, async (act) => {
    for (const container of [
      { kind: 'rinse', code: 'RLONG', bucket: 'LONG' },
      { kind: 'rinse', code: 'RNEW', bucket: 'MIXED' },
      { kind: 'reclaim', code: 'RMIX' },
      { kind: 'waste', code: 'DRUM' },
      { kind: 'waste', code: 'ROLD' },
    ])
      await createContainer(act, newContainerBody.parse({ ...place, ...container }));
    await retireContainer(act, 'ROLD', true);
  });
  await record(18, 'RLONG', { kind: 'in', litres: 9, specificGravity: 1.08 }, member);
  await record(17, 'RMIX', { kind: 'in', litres: 4, bucket: 'THIN' }, member);
  const wrong = await record(16, 'RMIX', { kind: 'in', litres: 2 }, member);
  await at(16).as(member, (act) =>
    recordAtContainer(act, 'RMIX', { kind: 'void', number: wrong, reason: name }),
  );
  await record(15, 'RLONG', { kind: 'move', litres: 2, to: 'RMIX' });
  await record(14, 'RMIX', { kind: 'level', litres: 7, specificGravity: 1.1 });
  await record(13, 'RMIX', { kind: 'move', litres: 3, to: 'DRUM' });
  await record(12, 'DRUM', { kind: 'dispose', litres: 1, how: 'carrier', byWhom: name, manifest: name });
  await at(11).as(manager, (act) =>
    permitDrain(act, 'RLONG', { authority: name, validTo: dayOf(studio, 20) }),
  );
  await record(10, 'RLONG', { kind: 'dispose', litres: 1, clear: true, how: 'drain', byWhom: name });
  await record(9, 'RLONG', { kind: 'in', litres: 6 }, member);
  await record(2, 'RMIX', { kind: 'sieve-back', litres: 0.5, bucket: 'RECLAIM' });
}

async function someTests(studio: Studio, name: string, clay: number): Promise<SafetyThings['tests']> {
  const { technician } = studio.people;
  return past(studio, HOUR).as(technician, async (act) => {
    const recipeOf = async (bucket: string) => (await findBucket(act, bucket)).facts.recipe;
    const [long, mixed] = [await recipeOf('LONG'), await recipeOf('MIXED')];
    const test = (recipe: typeof long, more: object) =>
      recordTest(
        act,
        testBody.parse({
          recipe: recipe?.id,
          version: recipe?.version,
          clay,
          cone: '6',
          rules: 'eu-84-500',
          unit: 'mg/L',
          lab: name,
          testedOn: dayOf(studio, -20),
          ware: { shape: 'bowl', internalDepthMm: 65, volumeMl: 620 },
          cadmium: [0.02, 0.02, 0.02, 0.02],
          ...more,
        }),
        aSheet,
      );
    const passed = await test(long, { lead: [0.2, 0.2, 0.2, 0.2] });
    const failed = await test(mixed, { lead: [9, 8, 7, 8] });
    const six = Array.from({ length: 6 }, () => 0.02);
    const voided = await test(mixed, { lead: six, cadmium: six, rules: 'us-fda' });
    await voidTest(act, voided, name);
    return { passed, failed, voided };
  });
}
