import postgres from 'postgres';
import type { Entry } from '../../server/buckets/kinds.ts';
import { type emptyFacts, fold } from '../../server/buckets/ledger.ts';
import { HOUR, type Instant } from '../../server/core/clock.ts';

const CAPACITY = 25;
const RECIPE = { solidsDensity: 2.6, hasSolubles: false };
/** So that fifty events are the three weeks that a bucket's page shows. */
const APART = 10 * HOUR;

interface Written {
  number: number;
  kind: string;
  happened_at: string;
  payload: Entry;
  used_l: number | null;
}

/** What an ordinary bucket's ledger holds: set up, then stirred, read, dipped from and topped up. */
function ordinaryLedger(length: number, now: Instant): Written[] {
  return Array.from({ length }, (_, i) => {
    const number = i + 1;
    const payload = entryOf(number, length);
    // A stir and its reading happen together.
    const ago = payload.kind === 'stir' ? length - i - 1 : length - i;
    return {
      number,
      kind: payload.kind,
      happened_at: new Date(now - ago * APART).toISOString(),
      payload,
      used_l: payload.kind === 'dipping' ? payload.litres : null,
    };
  });
}

function entryOf(number: number, length: number): Entry {
  if (number === 1)
    return {
      kind: 'setup',
      from: 'gravity',
      litres: 18,
      litresU: 0.36,
      specificGravity: 1.46,
      solidsKg: 13.4,
      waterKg: 12.8,
    };
  switch (number % 10) {
    case 2:
    case 5:
    case 8:
      return number === length ? { kind: 'note' } : { kind: 'stir', pairedWith: number + 1 };
    case 3:
    case 6:
    case 9: {
      const grams = 145 + (number % 7) / 2;
      return {
        kind: 'reading',
        method: 'weighed',
        specificGravity: grams / 100,
        standardUncertainty: 0.007,
        stirred: true,
        pairedWith: number - 1,
        typed: { grams, millilitres: 100 },
      };
    }
    case 7:
      return number % 50 === 7
        ? { kind: 'level', how: 'litres', litres: 16, litresU: 0.32 }
        : { kind: 'addition', what: 'water', litres: 0.3 };
    default:
      return { kind: 'dipping', pieces: 2, litres: 0.1, stirred: true };
  }
}

/** As many buckets as asked, each with an ordinary ledger and the state that follows from it. */
export async function fill(
  ownerUrl: string,
  o: { streams: number; length: number; personId: number; now: Instant },
): Promise<string[]> {
  const sql = postgres(ownerUrl, { max: 1, onnotice: () => {} });
  try {
    const written = ordinaryLedger(o.length, o.now);
    const events = written.map((e) => ({
      number: e.number,
      happenedAt: Date.parse(e.happened_at),
      ...e.payload,
    }));
    await sql`insert into recipes (name, latest_version) values ('Bench glaze', 1)`;
    await sql`insert into recipe_versions
      select id, 1, ${RECIPE.solidsDensity}, ${RECIPE.hasSolubles}, ${o.personId}, now() from recipes`;
    const [recipe] = await sql<{ id: number }[]>`select id::int from recipes`;
    const start = { ...RECIPE, recipe: { id: recipe?.id ?? 0, version: 1 } };
    const facts = fold(start, events, { capacityLitres: CAPACITY });
    await sql`
      insert into buckets (code, name, colour, place, capacity_l, sg_low, sg_aim, sg_high, cone_from, cone_to,
        atmosphere, stir_interval_min, reading_trusted_h, sieve_mesh, care_notes, rinse_bucket,
        mix_more_fraction, first_recipe_id, first_recipe_version, made_at)
      select 1000 + n, 'Bench glaze ' || n, '#4a6b5d', 'Shelf ' || n / 20, ${CAPACITY}, 1.44, 1.46, 1.48, '5', '6',
        'oxidation', 5, 168, 80, 'Dip for three seconds.', '', 0.33, ${start.recipe.id}, 1, now()
      from generate_series(1, ${o.streams}) n`;
    await sql`
      insert into bucket_state select s.* from buckets b, jsonb_populate_record(null::bucket_state,
        ${sql.json(asColumns(facts))} || jsonb_build_object('bucket_id', b.id)) s`;
    await sql`
      insert into bucket_events (bucket_id, number, kind, happened_at, recorded_at, by, v, payload, used_l)
      select b.id, e.number, e.kind, e.happened_at, e.happened_at, ${o.personId}, 1, e.payload, e.used_l
      from buckets b, jsonb_to_recordset(${sql.json(written as never)})
        as e (number int, kind text, happened_at timestamptz, payload jsonb, used_l float8)`;
    await sql`create table floor_rows (id bigint generated always as identity primary key, at timestamptz)`;
    await sql`grant insert on floor_rows to public`;
    await sql`vacuum analyze`;
    const codes = await sql<{ code: string }[]>`select code from buckets order by id`;
    return codes.map(({ code }) => code);
  } finally {
    await sql.end();
  }
}

/** Facts under the names of the columns that keep them. */
function asColumns(facts: ReturnType<typeof emptyFacts>): postgres.JSONValue {
  return Object.fromEntries(
    Object.entries(facts).map(([name, value]) => [
      name.replace(/[A-Z]/g, (letter) => `_${letter.toLowerCase()}`),
      name.endsWith('At') && value !== null ? new Date(value as number).toISOString() : value,
    ]),
  ) as postgres.JSONValue;
}
