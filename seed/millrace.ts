import { createBucket, editBucket } from '../server/buckets/service/index.ts';
import { ConfigError } from '../server/config.ts';
import type { Act, Actor } from '../server/core/actor.ts';
import { DAY, HOUR, type Instant, MINUTE } from '../server/core/clock.ts';
import type { Tx } from '../server/core/database.ts';
import { type Device, findDevice } from '../server/core/device.ts';
import type { Services } from '../server/core/services.ts';
import { findStudio } from '../server/core/session.ts';
import { createRecipe, reviseRecipe } from '../server/materials/service/index.ts';
import { pairHere } from '../server/members/service/devices.ts';
import { createPerson } from '../server/members/service/people.ts';
import { createStudio } from '../server/members/service/studio.ts';
import { chooseOwn } from '../server/members/service/told.ts';
import { halfWeighed } from './batches.ts';
import { fillBench, furnishBench } from './bench.ts';
import { BUCKETS, type DemoBucket } from './buckets.ts';
import { standContainers } from './containers.ts';
import { booksOf, keepBooks, keepBooksLately, openBooks } from './fees.ts';
import { sendGlazesToTheLab } from './food.ts';
import { bringGear } from './gear.ts';
import { ordinaryWeeks, type Step, toSteps } from './history.ts';
import { briefClass, showEverybody } from './inductions.ts';
import { buildKilns, fireKilns, proposeNext } from './kilns.ts';
import { fillRegister } from './materials.ts';
import { hangNotices } from './notices.ts';
import { DEMO_PEOPLE, type DemoName } from './people.ts';
import { type DemoRecipe, RECIPES, REVISIONS } from './recipes.ts';
import { keepSafetyLog } from './safety-log.ts';
import { fillStore } from './stock.ts';
import { fillRacks, furnishWare } from './ware.ts';

export { DEMO_PEOPLE } from './people.ts';

const STUDIO = {
  name: 'Millrace Clay Commons',
  timeZone: 'Europe/London',
  currency: 'GBP',
  units: 'metric',
} as const;

type People = Record<DemoName, Actor>;
type By = (who: DemoName, at: Instant, atTablet?: boolean) => Act;
type RecipeIds = Record<DemoRecipe, number>;

/**
 * Fills an empty database with Millrace Clay Commons, in one transaction and through the use cases alone: each
 * act is done by its person at its time, so that the demo's ledgers are such as a studio would have written.
 * Leaves a database that has it already as it is; throws `ConfigError` on one that holds another studio.
 */
export async function seedDemo({ database, passwords, clock }: Services): Promise<void> {
  const found = await findStudio(database.db);
  if (found && found.name !== STUDIO.name)
    throw new ConfigError(
      `This database holds another studio, ${found.name}. Unset DATABASE_URL, or name an empty one, for the demo.`,
    );
  if (found) return;
  const hashes = await Promise.all(DEMO_PEOPLE.map(({ password }) => passwords.hash(password)));
  const now = clock.now();
  await database.transaction(async (tx) => {
    const opened = now - 30 * DAY;
    const books = booksOf(now, STUDIO.timeZone);
    const { founded } = books;
    await createStudio(tx, STUDIO, founded);
    const people = await bringIn(tx, hashes, founded);
    const tablet = await hangTablet({ tx, actor: people.Wren, now: opened });
    const by: By = (who, at, atTablet = false) => ({
      tx,
      actor: { ...people[who], deviceId: atTablet ? tablet : null },
      now: at,
    });
    await showEverybody(by, opened, STUDIO.timeZone);
    await bringGear(by('Wren', opened));
    const recipes = await writeRecipes(by('Wren', now - 22 * DAY));
    await fillRegister(by, now);
    await fillStore(by, now);
    for (const bucket of BUCKETS)
      await createBucket(by('Wren', madeAt(bucket, now)), bucket.command, recipes[bucket.recipe]);
    await standContainers(by, opened, now);
    await Promise.all(BUCKETS.map((bucket) => live(bucket, recipes, by, now)));
    await halfWeighed(by('Wren', now - 2 * HOUR), 'WD');
    await furnishWare(by, founded);
    await buildKilns(by, founded);
    await openBooks(by, books);
    await keepBooks(by, now, books);
    await furnishBench(by, now);
    await fireKilns(by, now, STUDIO.timeZone);
    await fillRacks(by, now);
    await fillBench(by, now);
    await proposeNext(by, now);
    await keepBooksLately(by, now, books);
    await hangNotices(by, now);
    await sendGlazesToTheLab(by, now);
    await keepSafetyLog(by, opened, now);
    await briefClass(by, now, STUDIO.timeZone);
    await chooseOwn(by('Wren', now - DAY), { stir: 'mail', quietFrom: 21 * 60, quietUntil: 7 * 60 });
    await chooseOwn(by('Ida', now - DAY), { 'own-things': 'mail' });
  });
}

async function bringIn(tx: Tx, hashes: string[], at: Instant): Promise<People> {
  const people: Partial<People> = {};
  for (const [i, { name, email, role }] of DEMO_PEOPLE.entries()) {
    const id = await createPerson(tx, { name, email, role, passwordHash: hashes[i] as string }, at);
    people[name] = { id, name, email, role, units: STUDIO.units, tokenId: null, deviceId: null };
  }
  return people as People;
}

/** The tablet that hung by the sink all this while; the demo has no cookie of it, so that any screen may be paired anew. */
async function hangTablet(act: Act): Promise<number> {
  const secret = await pairHere(act, 'By the glaze sink', null);
  const device = await findDevice(act.tx, secret);
  return (device as Device).id;
}

async function writeRecipes(act: Act): Promise<RecipeIds> {
  const ids: Partial<RecipeIds> = {};
  for (const name of Object.keys(RECIPES) as DemoRecipe[])
    ids[name] = (await createRecipe(act, name, RECIPES[name])).recipeId;
  return ids as RecipeIds;
}

/** A bucket with three weeks behind it is as old as they are; one that is new came with its first act. */
function madeAt({ weeks, lately }: DemoBucket, now: Instant): Instant {
  if (weeks) return now - 22 * DAY;
  return now - Math.max(...lately.map(({ minutes }) => minutes)) * MINUTE - HOUR;
}

/** Everything that happened at one bucket, in its order. */
async function live(bucket: DemoBucket, recipes: RecipeIds, by: By, now: Instant): Promise<void> {
  const { command, recipe, weeks, lately } = bucket;
  const revised = REVISIONS.filter((revision) => revision.recipe === recipe).map(
    ({ daysAgo, takenOn, command: newer }): Step => ({
      at: now - daysAgo * DAY,
      who: 'Wren',
      deed: async (act, code) => {
        await reviseRecipe(act, recipes[recipe], newer);
        if (takenOn) await editBucket(act, code, command, recipes[recipe]);
      },
    }),
  );
  const steps = [
    ...(weeks ? ordinaryWeeks(command.code, weeks, now, STUDIO.timeZone) : []),
    ...revised,
    ...toSteps(lately, now),
  ];
  for (const { at, who, deed, atTablet } of steps.sort((a, b) => a.at - b.at))
    await deed(by(who, at, atTablet), command.code);
}
