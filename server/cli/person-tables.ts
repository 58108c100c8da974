/**
 * What of one person each table holds, for the export and the erasure. In SQL, `t` is a row and `$1` the person's id;
 * `typed` says so to the database.
 * A test walks the database's foreign keys and fails where one of them is neither here nor among the reasons below.
 */
export interface Held {
  /** What the rows are, for whoever reads the export. */
  meaning: string;
  /** Columns that name a person: a row is theirs by any of them. */
  people?: readonly string[];
  /** Rows that are theirs by something else. */
  or?: string;
  /** Columns that are not told, each with why. */
  without?: Readonly<Record<string, string>>;
  /** What is told beside the columns. */
  also?: Readonly<Record<string, string>>;
}

const SECRET = 'a secret, kept as a hash';
/** What belongs to the person, or to a household of theirs. */
const within = (households: string) => ({
  households,
  pieces: `(select p.id from pieces p where p.owner_id = $1 or p.owner_group_id in ${households})`,
  accounts: `(select a.id from fee_accounts a where a.person_id = $1 or a.group_id in ${households})`,
});
const household = `select g.id from groups g where g.contact_id = $1 and g.kind = 'household'`;
/** With the households they answer for, whoever else is in them. */
export const ANSWERS_FOR = within(`(${household})`);
/** Nobody else's. */
export const OWN = within(
  `(${household} and not exists (select 1 from group_people m where m.group_id = g.id and m.person_id <> $1))`,
);
const OWN_ENTRIES = '(select e.number from safety_entries e where e.by = $1)';
const by = ['by'] as const;
const madeBy = ['made_by'] as const;

/** A piece of SQL of this file, with the type of its parameter. */
export const typed = (sql: string): string => sql.replaceAll(/\$1(?!::)/g, '$1::bigint');

export const HELD: Readonly<Record<string, Held>> = {
  people: {
    meaning: 'The person: name, address, role, choice of units.',
    or: 't.id = $1',
    without: { password_hash: SECRET, pin_hash: SECRET, card_hash: SECRET },
  },
  sessions: {
    meaning: 'Browsers they are signed in with, and until when.',
    people: ['person_id'],
    without: { id_hash: SECRET },
  },
  tokens: {
    meaning: 'Tokens for programs and instruments.',
    people: ['person_id'],
    without: { hash: SECRET },
  },
  links: {
    meaning: 'The invitation they came by, password resets, and invitations they made for others.',
    people: ['person_id', 'made_by'],
    or: `(t.kind = 'invitation' and t.email = (select p.email from people p where p.id = $1))`,
    without: { hash: SECRET, email: "may be somebody else's address" },
  },
  sign_in_failures: {
    meaning: 'Failed attempts to sign in as them, with the address on the network they came from.',
    or: 't.email = (select p.email from people p where p.id = $1)',
  },
  idempotency_keys: {
    meaning: 'What a browser or program sent in the last 30 days, so that a retry is not done twice.',
    people: ['person_id'],
    without: { fingerprint: 'a hash of what was sent' },
  },
  second_factors: {
    meaning: 'Whether a code from their phone is asked for when they sign in.',
    people: ['person_id'],
    without: { secret: 'a secret that codes are counted from' },
  },
  recovery_codes: {
    meaning: 'Codes for the day their phone is lost, and which were used.',
    people: ['person_id'],
    without: { hash: SECRET },
  },
  sign_in_steps: {
    meaning: 'Sign-ins that a code is still asked for.',
    people: ['person_id'],
    without: { hash: SECRET },
  },
  told_choices: { meaning: 'How they want to be told of what.', people: ['person_id'] },
  reminders: { meaning: 'What they were reminded of.', people: ['person_id'] },
  mails: { meaning: 'Mail to them.', people: ['person_id'] },
  hooks: {
    meaning: 'Other systems of the studio that they had told of changes.',
    people: ['made_by'],
    without: { secret: 'a secret that signs what is sent' },
  },
  devices: {
    meaning: 'Tablets at the wall that they paired.',
    people: ['paired_by'],
    without: { hash: SECRET },
  },
  files: {
    meaning: 'Photos and documents they brought, whole; other tables name them by their hash.',
    people: madeBy,
    without: { bytes: 'told as base64' },
    also: { base64: `replace(encode(t.bytes, 'base64'), chr(10), '')` },
  },
  messages: { meaning: 'What they were told in their inbox.', people: ['person_id'] },
  audit: {
    meaning: 'What they did to people and settings, and what was done to their own account.',
    people: by,
    or: `t.subject = 'person:' || $1::bigint::text or t.details ->> 'person' = $1::bigint::text or t.details ->> 'contact' = $1::bigint::text`,
  },

  material_versions: { meaning: 'What they wrote down of materials.', people: by },
  material_sheets: { meaning: 'Safety data sheets they filed or looked through.', people: by },
  stock_events: { meaning: 'Stock they took in, used, counted or threw away.', people: by },
  recipe_versions: { meaning: 'Recipes they wrote.', people: madeBy },

  bucket_events: { meaning: 'What they did at glaze buckets, with what they wrote.', people: by },
  float_calibrations: { meaning: 'Floats they calibrated.', people: madeBy },
  batches: { meaning: 'Batches they planned or checked.', people: ['made_by', 'checked_by'] },
  batch_lines: { meaning: 'What they weighed.', people: ['weighed_by'] },
  fired_tiles: { meaning: 'Fired tiles they hung up, with what they wrote.', people: madeBy },

  groups: {
    meaning: 'Households and classes they answer for or are in.',
    people: ['contact_id'],
    or: 't.id in (select m.group_id from group_people m where m.person_id = $1)',
  },
  group_people: { meaning: 'When they are in a household or class.', people: ['person_id'] },
  marks: { meaning: 'Their marks in the foot.', people: ['person_id'] },
  pieces: {
    meaning: 'Pieces they own, registered or pay for.',
    people: ['owner_id', 'registered_by', 'payer_id'],
    or: `t.id in ${ANSWERS_FOR.pieces}`,
  },
  piece_glazes: { meaning: 'Coats on their pieces.', or: `t.piece_id in ${ANSWERS_FOR.pieces}` },
  piece_events: {
    meaning: 'What they did to pieces, and what anybody did to theirs.',
    people: by,
    or: `t.piece_id in ${ANSWERS_FOR.pieces}`,
  },
  piece_outcomes: {
    meaning: 'How their pieces came out, and what they noted of others.',
    people: by,
    or: `t.piece_id in ${ANSWERS_FOR.pieces}`,
  },
  bisque_tests: { meaning: 'Bisque they tested.', people: by },
  bisque_test_strikes: { meaning: 'Tests of bisque they struck out.', people: by },
  coat_tiles: { meaning: 'Test tiles they dipped and weighed.', people: by },
  coat_tile_strikes: { meaning: 'Test tiles they struck out.', people: by },

  kiln_firers: {
    meaning: 'Kilns they may fire, and whom they let fire one.',
    people: ['person_id', 'inducted_by'],
  },
  kiln_care: { meaning: 'Care of kilns they noted.', people: by },
  schedules: { meaning: 'Firing programmes they wrote.', people: madeBy },
  load_pieces: { meaning: 'Loads their pieces were in.', or: `t.piece_id in ${ANSWERS_FOR.pieces}` },
  load_events: { meaning: 'What they did with kiln loads, with what they wrote.', people: by },
  firing_logs: {
    meaning: "Controllers' logs they brought.",
    people: madeBy,
    without: { points: "the kiln's temperatures" },
  },
  calendar_feeds: {
    meaning: 'Private links to the calendar.',
    people: ['person_id'],
    without: { hash: SECRET },
  },

  notice_versions: { meaning: 'Safety notices they posted.', people: by },
  notice_reads: { meaning: 'Notices they read, and when.', people: ['person_id'] },
  inductions: { meaning: 'What they were shown, and what they showed others.', people: ['person_id', 'by'] },
  briefings: { meaning: 'Classes they briefed.', people: by },
  briefing_strikes: { meaning: 'Briefings they struck out.', people: by },
  safety_entries: {
    meaning: 'Entries of the safety log they wrote, rows about those, and ones they were to follow up.',
    people: ['by', 'owner_id'],
    or: `t.about in ${OWN_ENTRIES}`,
  },
  safety_photos: { meaning: 'Photos of safety log entries they wrote.', or: `t.entry in ${OWN_ENTRIES}` },
  container_events: { meaning: 'What they put into rinse and waste, and took out.', people: by },
  drain_permissions: { meaning: 'Permissions for a drain they noted.', people: by },
  leach_tests: { meaning: "Laboratories' figures they entered.", people: by },

  fee_accounts: {
    meaning: 'Their account of fees.',
    people: ['person_id'],
    or: `t.group_id in ${ANSWERS_FOR.households}`,
  },
  fee_entries: {
    meaning:
      'Charges, credits and payments of their account, and what they entered for others. Amounts in minor units.',
    people: by,
    or: `t.account_id in ${ANSWERS_FOR.accounts}`,
  },
  fee_postings: {
    meaning: 'The sides of those entries that stand on their account.',
    or: `t.account_id in ${ANSWERS_FOR.accounts}`,
  },
  fee_litres: {
    meaning: 'Litres of firing they bought and used.',
    or: `t.account_id in ${ANSWERS_FOR.accounts}`,
  },
  fee_quotes: { meaning: 'What their pieces were said to cost.', or: `t.piece_id in ${ANSWERS_FOR.pieces}` },
  fee_requests: {
    meaning: 'Charges and credits that waited for a manager: about them, asked for or decided by them.',
    people: ['by', 'decided_by'],
    or: `t.account_id in ${ANSWERS_FOR.accounts}`,
  },
  standing_charges: {
    meaning: 'Dues they pay every month, and ones they put down for others.',
    people: madeBy,
    or: `t.account_id in ${ANSWERS_FOR.accounts}`,
  },
  fee_closings: {
    meaning: 'Months they closed or opened again.',
    people: by,
    without: { totals: "the studio's books" },
  },
  tariffs: {
    meaning: 'Price lists they made or put in force.',
    people: ['made_by', 'in_force_by'],
    without: { value: "the studio's prices" },
  },
};

const IN_EVENTS = 'the act stands in the ledger, which is told';

/** References to people, their pieces and accounts that the export does not follow, each with why. */
export const NOT_FOLLOWED: Readonly<Record<string, string>> = {
  'pieces.dry_by': IN_EVENTS,
  'pieces.yes_by': IN_EVENTS,
  'loads.approved_by': IN_EVENTS,
  'loads.started_by': IN_EVENTS,
};

/** A column that leads to words somebody wrote, and what an erasure does with them. */
export interface Words {
  /** Where the words are, and the row that they belong to. */
  notes: string;
  table: string;
  column: string;
  /** How the row leads to them, where it is not simply by that column. */
  key?: string;
  /** Rows whose words the person wrote. */
  wrote: string;
  /** Rows about the person, whoever wrote them: their name in the words is replaced. */
  about?: string;
  /** Why the words stay although the person wrote them. */
  stay?: string;
  /** Rows whose words the export tells; every row that it tells, unless this is said. */
  told?: string;
}

const BOOKS = 'books of account: a booking without its reason is none';
const TRAINING = 'record of who was shown what';
const HEALTH = 'safety record: exposure, injury, measurement, training or waste';

/** Kinds of entry whose words are kept for as long as the law asks; later rows about one of them, too. */
export const RECORDED_BY_LAW = [
  'incident',
  'exposure',
  'first-aid',
  'air',
  'wipe',
  'ventilation',
  'respirator-fit',
  'training',
  'inspection',
  'waste',
] as const;
const lawful = `(${RECORDED_BY_LAW.map((kind) => `'${kind}'`).join(', ')})`;
const kindOf = '(select e.kind from safety_entries e where e.number = coalesce(t.about, t.number))';
const wroteIt = 't.by = $1';
const wordsOf = (notes: string, table: string, more: Partial<Words> = {}): Words => ({
  notes,
  table,
  column: 'note_id',
  wrote: wroteIt,
  ...more,
});

const logWords = (column: string): Words[] => {
  const told = `t.by = $1 or t.about in ${OWN_ENTRIES}`;
  const entry = { column, told, about: 't.owner_id = $1' };
  return [
    wordsOf('safety_notes', 'safety_entries', {
      ...entry,
      wrote: `t.by = $1 and ${kindOf} not in ${lawful}`,
    }),
    wordsOf('safety_notes', 'safety_entries', {
      ...entry,
      wrote: `t.by = $1 and ${kindOf} in ${lawful}`,
      stay: HEALTH,
    }),
  ];
};

export const WORDS: readonly Words[] = [
  wordsOf('bucket_notes', 'bucket_events'),
  wordsOf('bucket_notes', 'fired_tiles', { wrote: 't.made_by = $1' }),
  wordsOf('stock_notes', 'stock_events'),
  wordsOf('piece_notes', 'pieces', {
    // A note that somebody else wrote anew since it was registered is theirs.
    wrote: `(t.id in ${OWN.pieces} or t.registered_by = $1 and not exists (select 1 from piece_events e
      where e.piece_id = t.id and e.kind = 'edited' and e.by <> $1))`,
  }),
  wordsOf('piece_notes', 'piece_events', { about: `t.piece_id in ${OWN.pieces}` }),
  wordsOf('piece_notes', 'piece_outcomes', { about: `t.piece_id in ${OWN.pieces}` }),
  wordsOf('piece_notes', 'bisque_tests'),
  wordsOf('piece_notes', 'bisque_test_strikes'),
  wordsOf('piece_notes', 'coat_tiles'),
  wordsOf('piece_notes', 'coat_tile_strikes'),
  wordsOf('piece_notes', 'kiln_care'),
  wordsOf('piece_notes', 'load_events'),
  ...logWords('what_id'),
  ...logWords('action_id'),
  wordsOf('safety_notes', 'inductions', { stay: TRAINING, about: 't.person_id = $1' }),
  wordsOf('safety_notes', 'briefings', { column: 'roster_id', stay: TRAINING }),
  wordsOf('safety_notes', 'briefing_strikes', { stay: TRAINING }),
  wordsOf('safety_notes', 'container_events', { wrote: `t.by = $1 and t.kind <> 'disposal'` }),
  wordsOf('safety_notes', 'container_events', { wrote: `t.by = $1 and t.kind = 'disposal'`, stay: HEALTH }),
  wordsOf('fee_notes', 'fee_entries', { about: `t.account_id in ${OWN.accounts} or t.by = $1`, stay: BOOKS }),
  wordsOf('fee_notes', 'fee_closings', { about: wroteIt, stay: BOOKS }),
  wordsOf('fee_notes', 'fee_requests', {
    about: `t.account_id in ${OWN.accounts} or t.by = $1`,
    stay: BOOKS,
  }),
  wordsOf('fee_notes', 'fee_requests', {
    column: 'word_id',
    key: `(t.payload ->> 'wordId')::bigint`,
    wrote: 't.decided_by = $1',
    about: `t.account_id in ${OWN.accounts} or t.decided_by = $1`,
    stay: BOOKS,
  }),
];

/** Photos that go with the person, by the column that leads to them; any other reference keeps a file. */
export const OWN_PICTURES: Readonly<Record<string, string>> = {
  'marks.file_id': 't.person_id = $1',
  'pieces.file_id': `t.id in ${OWN.pieces}`,
  'piece_events.file_id': `t.piece_id in ${OWN.pieces}`,
};
