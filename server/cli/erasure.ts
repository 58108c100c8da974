import { createHash, randomUUID } from 'node:crypto';
import type postgres from 'postgres';
import type { Instant } from '../core/clock.ts';
import { Conflict, NotFound } from '../core/errors.ts';
import { moneyText } from '../core/money.ts';
import { asOwner, quoted } from '../core/owner.ts';
import { toWallTime } from '../core/wall-time.ts';
import { type EntryKind, type LogRow, standingOf } from '../safety/log.ts';
import { ANSWERS_FOR, OWN, OWN_PICTURES, RECORDED_BY_LAW, typed, WORDS } from './person-tables.ts';
import { type Reference, referencesTo } from './references.ts';

/** What stands where somebody's words were. */
export const REMOVED = '(removed)';

/** An erased person's address is none, so that no form takes it: nobody signs in, invites or reactivates by it. */
const FORMER = /^former-member-\d+$/;
export const isFormer = (address: string): boolean => FORMER.test(address);

export interface Erased {
  /** 'Former member 12' and 'former-member-12'. */
  name: string;
  address: string;
  /** How many of each were removed or blanked. */
  removed: Record<string, number>;
  /** Words that stay because the law asks for the record: why, and how many. */
  stay: Record<string, number>;
  /** Columns that still hold the name or address, in words of others: how many rows. */
  still: Record<string, number>;
}

interface Wish {
  email: string;
  now: Instant;
  /** Although their account is not settled. */
  withBalance: boolean;
  /** Everything is tried and nothing kept. */
  rehearse: boolean;
}

/**
 * Takes one person out, in one transaction as the role that owns the tables: name, address, secrets, messages, marks,
 * words and pictures go; numbers, ids and amounts of every ledger stay. Null: erased already.
 * @throws NotFound where nobody has this address; Conflict for the last manager, for pieces in a load, a group that
 * others are in, trouble in the safety log that waits for them, an account that is not settled
 */
export async function erase(ownerUrl: string, wish: Wish): Promise<Erased | null> {
  let done: Erased | null = null;
  class Rehearsed extends Error {}
  try {
    await asOwner(ownerUrl, (sql) =>
      sql.begin(async (tx) => {
        done = await eraseIn(tx, wish);
        if (wish.rehearse) throw new Rehearsed();
      }),
    );
  } catch (error) {
    if (!(error instanceof Rehearsed)) throw error;
  }
  return done;
}

interface Person {
  id: string;
  name: string;
  email: string;
  role: string;
  active: boolean;
}

async function eraseIn(tx: postgres.TransactionSql, wish: Wish): Promise<Erased | null> {
  const { email, now, withBalance } = wish;
  // Two at once would take the same number, and two managers could both be the last but one.
  await tx`lock table people in share row exclusive mode`;
  const [person] = await tx<
    Person[]
  >`select id, name, email, role, active from people where email = ${email}`;
  if (!person)
    throw new NotFound(`Nobody here has the e-mail address ${email}: never here, or erased already.`);
  if (isFormer(person.email)) return null;
  await mustBeFree(tx, person, withBalance);

  const [{ last } = { last: 0 }] = await tx<{ last: number }[]>`
    select coalesce(max(substring(email from '^former-member-([0-9]+)$')::int), 0) as last from people
    where email ~ '^former-member-[0-9]+$'`;
  const number = last + 1;
  const former = { name: `Former member ${number}`, address: `former-member-${number}` };
  const run = counting(tx, person.id);

  await signRecords(tx, person);
  await eraseWords(run);
  await eraseReasons(run);
  await eraseName(tx, person, former.name);
  await eraseOrphans(run);
  await erasePictures(run);
  await endAccess(run, person, now);
  await endStanding(run, former.name, now);
  await tx`update people set name = ${former.name}, email = ${former.address}, role = 'member', units = null,
    password_hash = '', pin_hash = null, card_hash = null, active = false where id = ${person.id}`;
  await tx`insert into audit (at, act, subject, details)
    values (${new Date(now).toISOString()}, 'person.erased', ${`person:${person.id}`}, ${tx.json({ number })})`;
  return {
    ...former,
    removed: run.counts,
    stay: await staying(tx, person.id),
    still: await stillNamed(tx, person),
  };
}

/** Runs a statement of `$1`, the person, and counts its rows under a name. */
type Run = ReturnType<typeof counting>;
function counting(tx: postgres.TransactionSql, id: string) {
  const counts: Record<string, number> = {};
  const add = (what: string, count: number): void => {
    counts[what] = (counts[what] ?? 0) + count;
  };
  const run = async (what: string, sql: string, ...more: string[]): Promise<void> =>
    add(what, (await tx.unsafe(typed(sql), [id, ...more])).count);
  return Object.assign(run, { counts, add, tx, id });
}

async function mustBeFree(
  tx: postgres.TransactionSql,
  { id, role, active }: Person,
  withBalance: boolean,
): Promise<void> {
  const [managers] = await tx`select count(*)::int as count from people where role = 'manager' and active`;
  if (role === 'manager' && active && managers?.count === 1)
    throw new Conflict('This is the last manager. Make somebody else a manager first.');

  // Held, so that none gets into a load meanwhile.
  const pieces = await tx.unsafe<{ number: number; stage: string }[]>(
    typed(`select number, stage from pieces where id in ${ANSWERS_FOR.pieces} order by id for update`),
    [id],
  );
  const fired = pieces.filter(({ stage }) => stage === 'in-load').map((piece) => piece.number);
  if (fired.length > 0)
    throw new Conflict(
      `In a load: ${fired.length === 1 ? 'piece' : 'pieces'} ${fired.join(', ')}. Wait until it is unloaded, or give them to somebody else.`,
    );

  const groups = await tx<{ name: string }[]>`
    select g.name from groups g where g.contact_id = ${id} and g.retired_at is null and (g.kind = 'class'
      or exists (select from group_people m where m.group_id = g.id and m.person_id <> ${id})) order by g.name`;
  if (groups.length > 0)
    throw new Conflict(
      `They answer for ${groups.map(({ name }) => name).join(', ')}. Let somebody else answer for it first, or retire it.`,
    );
  await mustWaitForNothing(tx, id);
  if (!withBalance) await mustBeSettled(tx, id);
}

/** Somebody still has to read what they wrote of trouble that nobody closed, or to do what they took on. */
async function mustWaitForNothing(tx: postgres.TransactionSql, id: string): Promise<void> {
  const rows = await tx<(LogRow & { about: number | null; kind: string; mine: boolean; theirs: boolean })[]>`
    select e.number, e.about, e.kind, e.payload, null as "owner", e.due_on as "dueOn", e.by = ${id} as mine,
      coalesce(e.owner_id = ${id}, false) as theirs
    from safety_entries e where coalesce(e.about, e.number) in
      (select coalesce(m.about, m.number) from safety_entries m where m.by = ${id} or m.owner_id = ${id})
    order by e.number`;
  const waiting = rows.flatMap((entry) => {
    if (entry.about !== null) return [];
    const later = rows.filter(({ about }) => about === entry.number);
    const { state } = standingOf({ kind: entry.kind as EntryKind, payload: entry.payload }, later);
    const isBlanked = entry.mine && !(RECORDED_BY_LAW as readonly string[]).includes(entry.kind);
    const isTheirs = later.findLast(({ kind }) => kind === 'follow-up')?.theirs ?? false;
    return (state === 'open' && isBlanked) || (state === 'to-do' && (isBlanked || isTheirs))
      ? [entry.number]
      : [];
  });
  if (waiting.length > 0)
    throw new Conflict(
      `In the safety log ${waiting.length === 1 ? 'entry' : 'entries'} ${waiting.join(', ')} of theirs still wait: close them, or let somebody else follow up.`,
    );
}

async function mustBeSettled(tx: postgres.TransactionSql, id: string): Promise<void> {
  // Nothing is entered until this is done.
  await tx`select from fee_books for update`;
  const accounts = await tx.unsafe<{ number: number; minor: string; waits: boolean }[]>(
    typed(`select t.number, exists (select from fee_requests r where r.account_id = t.id and r.decision is null) as waits,
      (select coalesce(sum(p.amount_minor), 0) from fee_postings p where p.account_id = t.id)::text as minor
      from fee_accounts t where t.id in ${ANSWERS_FOR.accounts} order by t.number`),
    [id],
  );
  const [studio] = await tx<{ currency: string }[]>`select currency from studio`;
  const open = accounts.flatMap(({ number, minor, waits }) => {
    const owed = BigInt(minor);
    const amount = moneyText(owed < 0n ? -owed : owed, studio?.currency ?? 'EUR');
    return [
      ...(owed > 0n ? [`account ${number} owes ${amount}`] : []),
      ...(owed < 0n ? [`account ${number} has ${amount} in credit`] : []),
      ...(waits ? [`a charge or credit of account ${number} waits for a manager`] : []),
    ];
  });
  if (open.length > 0)
    throw new Conflict(
      `Not settled: ${open.join('; ')}. Settle it first, or say --with-balance; the account then stays without the name.`,
    );
}

/** A record that law binds to a person keeps who wrote it, in words that only technicians and managers may open. */
async function signRecords(tx: postgres.TransactionSql, { id, name }: Person): Promise<void> {
  await tx`
    update safety_notes n set text = n.text || ${`\n\nWritten by ${name}.`} from safety_entries e
    where e.by = ${id} and e.what_id = n.id and e.about is null and e.restricted
      and e.kind in ('incident', 'exposure', 'first-aid', 'respirator-fit')`;
}

async function eraseWords(run: Run): Promise<void> {
  for (const { notes, table, column, key = `t.${column}`, wrote, stay } of WORDS)
    if (stay === undefined)
      await run(
        'notes blanked',
        `update ${notes} n set text = $2 from ${table} t
          where ${key} = n.id and (${wrote}) and n.text not in ('', $2)`,
        REMOVED,
      );
}

/** Words of theirs that are no notes: why a piece is kept back, and what its owner was told of that in the same moment. */
async function eraseReasons(run: Run): Promise<void> {
  await run(
    'reasons blanked',
    `update pieces p set flag = $2 where p.flag is not null and $1 =
      (select e.by from piece_events e where e.piece_id = p.id and e.kind = 'flagged' order by e.number desc limit 1)`,
    REMOVED,
  );
  for (const [table, words, at, more] of [
    ['messages', 'words', 'at', ''],
    ['mails', 'body', 'made_at', `, subject = split_part(m.subject, ': ', 1)`],
  ])
    await run(
      'reasons blanked',
      `update ${table} m set ${words} = split_part(m.${words}, ': ', 1) || ': ' || $2${more}
        where position(': ' in m.${words}) > 0 and (m.kind in ('flag', 'return', 'lost') and m.${at} in
            (select e.recorded_at from piece_events e where e.by = $1 and e.kind in ('flagged', 'returned', 'lost'))
          or m.kind = 'load' and m.${at} in
            (select e.recorded_at from load_events e where e.by = $1 and e.kind = 'cancelled'))`,
      REMOVED,
    );
}

const escaped = (text: string): string => text.replaceAll(/[\\^$.*+?()[\]{}|/]/g, '\\$&');

/** Their name as a word of its own, not a part of another. */
const patternOf = ({ name, email }: Person): RegExp =>
  new RegExp(`(?<![\\p{L}\\p{N}])(?:${escaped(email)}|${escaped(name)})(?![\\p{L}\\p{N}])`, 'giu');

/** In words of others about them, in messages that we worded, and in answers kept for a retry. */
async function eraseName(tx: postgres.TransactionSql, person: Person, former: string): Promise<void> {
  const pattern = patternOf(person);
  for (const { notes, table, column, key = `t.${column}`, about } of WORDS) {
    if (about === undefined) continue;
    const rows = await tx.unsafe<{ id: string; text: string }[]>(
      typed(`select distinct n.id, n.text from ${notes} n join ${table} t on ${key} = n.id where ${about}`),
      [person.id],
    );
    for (const { id, text } of rows) {
      const without = text.replaceAll(pattern, former);
      if (without !== text) await tx.unsafe(`update ${notes} set text = $2 where id = $1`, [id, without]);
    }
  }
  await tx`update messages set words = ${former} || substr(words, char_length(${person.name}) + 1)
    where starts_with(words, ${`${person.name} added you to `}) or starts_with(words, ${`${person.name} said `})`;
  await tx`update mails set subject = replace(subject, ${person.name}, ${former}),
      body = replace(body, ${person.name}, ${former})
    where starts_with(body, ${`${person.name} added you to `}) or starts_with(body, ${`${person.name} said `})`;
  const asJson = JSON.stringify(person.name);
  await tx`update idempotency_keys
    set answer = replace(replace(answer::text, ${asJson}, ${JSON.stringify(former)}), ${person.email}, ${REMOVED})::jsonb
    where position(${asJson} in answer::text) > 0 or position(${person.email} in answer::text) > 0`;
  const calls = await tx<
    { id: string; words: string }[]
  >`select id, on_call as words from loads where on_call <> ''`;
  // What stands beside a name there is a telephone number.
  for (const { id, words } of calls)
    if (words.search(pattern) >= 0) await tx`update loads set on_call = ${former} where id = ${id}`;
}

/** Notes that nothing leads to any more, such as one that was written anew: nobody can say whose they were. */
async function eraseOrphans(run: Run): Promise<void> {
  const tables = [...new Set(WORDS.map(({ notes }) => notes))];
  const references = await referencesTo(run.tx, tables);
  for (const notes of tables) {
    const leads = [
      ...references
        .filter(({ to }) => to === notes)
        .map(({ table, column }) => ({ table, key: `t.${quoted(column)}` })),
      ...WORDS.flatMap((one) => (one.notes === notes && one.key ? [{ table: one.table, key: one.key }] : [])),
    ].map(({ table, key }) => `not exists (select from ${table} t where ${key} = n.id)`);
    const { count } = await run.tx.unsafe(`delete from ${notes} n where ${leads.join(' and ')}`);
    run.add('notes that nothing led to', count);
  }
}

/** One clear dot, where a ledger refers to a picture that is gone. */
const NOTHING_TO_SEE = Buffer.from('R0lGODlhAQABAIAAAAAAAP///yH5BAEAAAAALAAAAAABAAEAAAIBRAA7', 'base64');

/** What they brought and nobody else needs: what only their own marks and pieces refer to, or nothing at all. */
async function erasePictures({ tx, id: person, add }: Run): Promise<void> {
  const references = await referencesTo(tx, ['files']);
  const own = (one: Reference) => OWN_PICTURES[`${one.table}.${one.column}`];
  const leads = (one: Reference) => `from ${one.table} t where t.${quoted(one.column)} = f.id`;
  const theirs = references.flatMap((one) =>
    own(one) ? [`exists (select ${leads(one)} and ${own(one)})`] : [],
  );
  const others = references.map(
    (one) => `exists (select ${leads(one)} and not coalesce(${own(one) ?? 'false'}, false))`,
  );
  const gone = await tx.unsafe<{ id: string }[]>(
    typed(`select f.id from files f
      where (f.made_by = $1 or ${theirs.join(' or ')}) and not (${others.join(' or ')})`),
    [person],
  );
  for (const { id } of gone) {
    await tx`update marks set file_id = null where file_id = ${id}`;
    await tx`update pieces set file_id = null where file_id = ${id}`;
    const sha256 = createHash('sha256').update(randomUUID()).digest('hex');
    await tx`update files set bytes = ${NOTHING_TO_SEE}, type = 'image/gif', sha256 = ${sha256} where id = ${id}`;
    await tx`delete from files f where f.id = ${id} and not exists (select from piece_events e where e.file_id = f.id)`;
  }
  add('pictures', gone.length);
}

const timeOf = (now: Instant): string => new Date(now).toISOString();

/** Whatever opens anything, and what was kept of how they came in. */
async function endAccess(run: Run, { email }: Person, now: Instant): Promise<void> {
  await run('sessions', 'delete from sessions where person_id = $1');
  await run('codes at the sign-in', 'delete from second_factors where person_id = $1');
  await run('codes at the sign-in', 'delete from recovery_codes where person_id = $1');
  await run('codes at the sign-in', 'delete from sign_in_steps where person_id = $1');
  await run('choices of how they are told', 'delete from told_choices where person_id = $1');
  await run('reminders', 'delete from reminders where person_id = $1');
  await run('mail', 'delete from mails where person_id = $1');
  await run('links to the calendar', 'delete from calendar_feeds where person_id = $1');
  await run(
    'invitations and resets',
    `delete from links where person_id = $1 or (kind = 'invitation' and email = $2)`,
    email,
  );
  // One that they made for somebody else can be made again by whoever is here.
  await run(
    'invitations and resets',
    'update links set expires_at = $2::timestamptz where made_by = $1 and used_at is null and expires_at > $2::timestamptz',
    timeOf(now),
  );
  // Ledgers say which token did what, so its row stays.
  await run(
    'tokens',
    `update tokens set name = $3, hash = 'erased-' || id, revoked_at = coalesce(revoked_at, $2::timestamptz)
      where person_id = $1`,
    timeOf(now),
    REMOVED,
  );
  await run('messages', 'delete from messages where person_id = $1');
  await run('answers kept for a retry', 'delete from idempotency_keys where person_id = $1');
  const { count } = await run.tx`delete from sign_in_failures where email = ${email}`;
  run.add('failed sign-ins', count);
}

/** What would go on in their name, and what they called their own. */
async function endStanding(run: Run, formerName: string, now: Instant): Promise<void> {
  const [studio] = await run.tx<{ time_zone: string }[]>`select time_zone from studio`;
  const month = toWallTime(now, studio?.time_zone ?? 'UTC').slice(0, 7);
  await run(
    'marks',
    `update marks set text = '', retired_at = coalesce(retired_at, $2::timestamptz) where person_id = $1`,
    timeOf(now),
  );
  await run('marks', `update pieces set mark = '' where id in ${OWN.pieces} and mark <> ''`);
  await run(
    'kilns they might fire',
    'update kiln_firers set ended_at = $2::timestamptz where person_id = $1 and ended_at is null',
    timeOf(now),
  );
  await run(
    'dues',
    `delete from standing_charges where account_id in ${OWN.accounts} and from_period > $2`,
    month,
  );
  await run(
    'dues',
    `update standing_charges set until_period = $2 where account_id in ${OWN.accounts}
      and (until_period is null or until_period > $2)`,
    month,
  );
  await run('places in a group', 'delete from group_people where person_id = $1');
  await run(
    'households',
    `update groups g set name = 'Household ' || g.id || ' of ' || $2, retired_at = coalesce(retired_at, $3::timestamptz)
      where g.id in ${OWN.households}`,
    formerName,
    timeOf(now),
  );
}

/** How many words of theirs stay, by the reason. */
async function staying(tx: postgres.TransactionSql, id: string): Promise<Record<string, number>> {
  const stay: Record<string, number> = {};
  for (const { table, column, key = `t.${column}`, wrote, stay: why } of WORDS) {
    if (why === undefined) continue;
    const [row] = await tx.unsafe<{ count: number }[]>(
      typed(`select count(*)::int as count from ${table} t where ${key} is not null and (${wrote})`),
      [id],
    );
    if (row && row.count > 0) stay[why] = (stay[why] ?? 0) + row.count;
  }
  return stay;
}

/** Columns of text that hold the name or address as a word of its own still, wherever they are. */
async function stillNamed(
  tx: postgres.TransactionSql,
  { name, email }: Person,
): Promise<Record<string, number>> {
  const tables = await tx<{ table: string; columns: string[] }[]>`
    select c.oid::regclass::text as table, array_agg(a.attname::text order by a.attnum) as columns
    from pg_class c join pg_attribute a on a.attrelid = c.oid and a.attnum > 0 and not a.attisdropped
    where c.relnamespace = 'public'::regnamespace and c.relkind = 'r'
      and a.atttypid in ('text'::regtype, 'text[]'::regtype, 'jsonb'::regtype)
    group by c.oid order by 1`;
  const pattern = `(^|[^[:alnum:]])(${escaped(email)}|${escaped(name)})($|[^[:alnum:]])`;
  const still: Record<string, number> = {};
  for (const { table, columns } of tables) {
    const counts = columns.map(
      (one, i) => `count(*) filter (where t.${quoted(one)}::text ~* $1)::int as "${i}"`,
    );
    const [row] = await tx.unsafe<Record<string, number>[]>(`select ${counts.join(', ')} from ${table} t`, [
      pattern,
    ]);
    for (const [i, one] of columns.entries()) {
      const count = row?.[i] ?? 0;
      if (count > 0) still[`${table}.${one}`] = count;
    }
  }
  return still;
}
