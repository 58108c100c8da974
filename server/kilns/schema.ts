import { sql } from 'drizzle-orm';
import {
  boolean,
  check,
  doublePrecision,
  index,
  integer,
  jsonb,
  pgTable,
  primaryKey,
  smallint,
  text,
  uniqueIndex,
} from 'drizzle-orm/pg-core';
import { identity, instant, reference } from '../core/database.ts';
import { files, people, tokens } from '../core/schema.ts';
import type { Atmosphere, FiringKind } from '../ware/firing.ts';
import { pieceNotes, pieces } from '../ware/schema.ts';
import type { LoadState } from './load-fold.ts';
import type { KeepOut, Load, Plan, PostPosition, PostStock, Problem, Shelf } from './packing/problem.ts';
import type { Segment } from './schedule.ts';

export const kilns = pgTable(
  'kilns',
  {
    id: identity(),
    code: text('code').notNull(),
    name: text('name').notNull(),
    opens: text('opens').$type<'top' | 'front'>().notNull(),
    shelf: jsonb('shelf').$type<Shelf>().notNull(),
    fullShelves: integer('full_shelves').notNull(),
    halfShelves: integer('half_shelves').notNull(),
    shelfThicknessMm: doublePrecision('shelf_thickness_mm').notNull(),
    /** Above the chamber floor. */
    usableHeightMm: doublePrecision('usable_height_mm').notNull(),
    floorPostMm: doublePrecision('floor_post_mm').notNull(),
    edgeGapMm: doublePrecision('edge_gap_mm').notNull(),
    splitGapMm: doublePrecision('split_gap_mm').notNull(),
    clearanceMm: doublePrecision('clearance_mm').notNull(),
    topClearanceMm: doublePrecision('top_clearance_mm').notNull(),
    keepOuts: jsonb('keep_outs').$type<KeepOut[]>().notNull(),
    postPositions: jsonb('post_positions').$type<PostPosition[]>().notNull(),
    posts: jsonb('posts').$type<PostStock[]>().notNull(),
    postsPerShelf: integer('posts_per_shelf').notNull(),
    stackedPosts: boolean('stacked_posts').notNull(),
    tallLevel: text('tall_level').$type<'top' | 'bottom' | 'any'>().notNull(),
    maxCone: text('max_cone').notNull(),
    atmospheres: text('atmospheres').array().$type<Atmosphere[]>().notNull(),
    power: text('power').$type<'electric' | 'gas'>().notNull(),
    kilowatts: doublePrecision('kilowatts'),
    volts: doublePrecision('volts'),
    /** Share of full power over a whole firing; null: that of the kind of firing. */
    duty: doublePrecision('duty'),
    /** Of the drawings: where the controls or the door are. */
    controls: text('controls').$type<'front' | 'back' | 'left' | 'right'>().notNull(),
    /** Shut and whom to phone, for a kiln with burners. */
    emergency: text('emergency').notNull(),
    service: text('service').$type<'in-service' | 'out-of-service'>().notNull(),
    serviceCause: text('service_cause').notNull(),
    madeAt: instant('made_at').notNull(),
    retiredAt: instant('retired_at'),
  },
  (t) => [uniqueIndex('kilns_code').on(sql`lower(${t.code})`)],
);

/** Who may fire a kiln, from when, and until when if that was said. */
export const kilnFirers = pgTable(
  'kiln_firers',
  {
    kilnId: reference('kiln_id')
      .notNull()
      .references(() => kilns.id),
    personId: reference('person_id')
      .notNull()
      .references(() => people.id),
    inductedAt: instant('inducted_at').notNull(),
    inductedBy: reference('inducted_by')
      .notNull()
      .references(() => people.id),
    endedAt: instant('ended_at'),
  },
  (t) => [primaryKey({ columns: [t.kilnId, t.personId] })],
);

/** Append-only: what was done to a kiln. */
export const kilnCare = pgTable(
  'kiln_care',
  {
    kilnId: reference('kiln_id')
      .notNull()
      .references(() => kilns.id, { onDelete: 'restrict' }),
    number: integer('number').notNull(),
    kind: text('kind').notNull(),
    happenedAt: instant('happened_at').notNull(),
    recordedAt: instant('recorded_at').notNull(),
    by: reference('by')
      .notNull()
      .references(() => people.id, { onDelete: 'restrict' }),
    voids: integer('voids'),
    noteId: reference('note_id').references(() => pieceNotes.id, { onDelete: 'restrict' }),
    v: smallint('v').notNull(),
    payload: jsonb('payload').notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.kilnId, t.number] }),
    uniqueIndex('kiln_care_voided_once').on(t.kilnId, t.voids).where(sql`${t.voids} is not null`),
  ],
);

/** Never changed once a load has it: a better one is a new row, and the old one is retired. */
export const schedules = pgTable(
  'schedules',
  {
    id: identity(),
    number: integer('number').notNull(),
    name: text('name').notNull(),
    kind: text('kind').$type<FiringKind>().notNull(),
    cone: text('cone').notNull(),
    forThick: boolean('for_thick').notNull(),
    segments: jsonb('segments').$type<Segment[]>().notNull(),
    madeBy: reference('made_by')
      .notNull()
      .references(() => people.id),
    madeAt: instant('made_at').notNull(),
    retiredAt: instant('retired_at'),
  },
  (t) => [uniqueIndex('schedules_number').on(t.number)],
);

/** One filling of one kiln, as it stands now. What led there is in `load_events`. */
export const loads = pgTable(
  'loads',
  {
    id: identity(),
    number: integer('number').notNull(),
    lastEvent: integer('last_event').notNull(),
    kilnId: reference('kiln_id')
      .notNull()
      .references(() => kilns.id),
    state: text('state').$type<LoadState>().notNull(),
    kind: text('kind').$type<FiringKind>().notNull(),
    cone: text('cone').notNull(),
    atmosphere: text('atmosphere').$type<Atmosphere>().notNull(),
    scheduleId: reference('schedule_id').references(() => schedules.id),
    /** What the packer was asked, pieces by their numbers: moves are judged by it. */
    problem: jsonb('problem').$type<Problem>().notNull(),
    plan: jsonb('plan').$type<Load>().notNull(),
    /** How near the best it is: as the packer proved it. */
    bound: jsonb('bound').$type<Plan['bound'] & { gap: number; value: number }>().notNull(),
    /** Pieces a technician pinned to a level, and ones kept out of this load. */
    wishes: jsonb('wishes').$type<{ pins: Record<string, number>; leftOut: number[] }>().notNull(),
    /** On the calendar: from the start to when it is cold enough to be emptied. */
    startsAt: instant('starts_at'),
    freeAt: instant('free_at'),
    proposedAt: instant('proposed_at').notNull(),
    approvedAt: instant('approved_at'),
    approvedBy: reference('approved_by').references(() => people.id),
    loadedAt: instant('loaded_at'),
    startedAt: instant('started_at'),
    startedBy: reference('started_by').references(() => people.id),
    onCall: text('on_call').notNull(),
    shutOffAt: instant('shut_off_at'),
    openedAt: instant('opened_at'),
    unloadedAt: instant('unloaded_at'),
    cancelledAt: instant('cancelled_at'),
    /** The newest pyrometer reading that somebody typed. */
    measuredC: doublePrecision('measured_c'),
    measuredAt: instant('measured_at'),
  },
  (t) => [
    uniqueIndex('loads_number').on(t.number),
    index('loads_kiln').on(t.kilnId, t.startsAt),
    index('loads_state').on(t.state),
  ],
);

/** Which pieces a load holds. A piece is reserved by one load at most. */
export const loadPieces = pgTable(
  'load_pieces',
  {
    loadId: reference('load_id')
      .notNull()
      .references(() => loads.id),
    pieceId: reference('piece_id')
      .notNull()
      .references(() => pieces.id),
    part: text('part').$type<'full' | 'left' | 'right'>().notNull(),
    /** Counted from 1 at the floor, on its side. */
    level: integer('level').notNull(),
    /** From approval until the load is emptied or cancelled. */
    reserves: boolean('reserves').notNull(),
    /** Whether it stands in the kiln; null until its level was ticked. */
    isIn: boolean('is_in'),
  },
  (t) => [
    primaryKey({ columns: [t.loadId, t.pieceId] }),
    uniqueIndex('load_pieces_reserved_once').on(t.pieceId).where(sql`${t.reserves}`),
    index('load_pieces_piece').on(t.pieceId),
  ],
);

/** Append-only: what was done with a load. */
export const loadEvents = pgTable(
  'load_events',
  {
    loadId: reference('load_id')
      .notNull()
      .references(() => loads.id, { onDelete: 'restrict' }),
    number: integer('number').notNull(),
    kind: text('kind').notNull(),
    happenedAt: instant('happened_at').notNull(),
    recordedAt: instant('recorded_at').notNull(),
    by: reference('by')
      .notNull()
      .references(() => people.id, { onDelete: 'restrict' }),
    tokenId: reference('token_id').references(() => tokens.id, { onDelete: 'restrict' }),
    state: text('state').$type<LoadState>(),
    voids: integer('voids'),
    fileId: reference('file_id').references(() => files.id, { onDelete: 'restrict' }),
    noteId: reference('note_id').references(() => pieceNotes.id, { onDelete: 'restrict' }),
    v: smallint('v').notNull(),
    payload: jsonb('payload').notNull(),
  },
  (t) => [
    primaryKey({ columns: [t.loadId, t.number] }),
    index('load_events_by_kind').on(t.kind, t.happenedAt),
    uniqueIndex('load_events_voided_once').on(t.loadId, t.voids).where(sql`${t.voids} is not null`),
  ],
);

/** A controller's log as it was read: thinned points, and what was computed from all of them. The newest counts. */
export const firingLogs = pgTable(
  'firing_logs',
  {
    id: identity(),
    loadId: reference('load_id')
      .notNull()
      .references(() => loads.id),
    source: text('source').$type<'import' | 'api'>().notNull(),
    startsAt: instant('starts_at').notNull(),
    points: jsonb('points').$type<[atS: number, celsius: number][]>().notNull(),
    pointCount: integer('point_count').notNull(),
    /** Peak, rates, equivalent cone with its chart and edition, and the fit of the cooling. */
    findings: jsonb('findings').notNull(),
    madeBy: reference('made_by')
      .notNull()
      .references(() => people.id),
    madeAt: instant('made_at').notNull(),
  },
  (t) => [index('firing_logs_load').on(t.loadId, t.madeAt)],
);

/** A private link to the calendar; its secret is kept as a hash. */
export const calendarFeeds = pgTable(
  'calendar_feeds',
  {
    id: identity(),
    personId: reference('person_id')
      .notNull()
      .references(() => people.id),
    hash: text('hash').notNull(),
    madeAt: instant('made_at').notNull(),
    revokedAt: instant('revoked_at'),
  },
  (t) => [uniqueIndex('calendar_feeds_hash').on(t.hash), index('calendar_feeds_person').on(t.personId)],
);

/** What the studio chose; one row, none until something was changed. */
export const kilnSettings = pgTable(
  'kiln_settings',
  { id: smallint('id').primaryKey().default(1), value: jsonb('value').notNull() },
  (t) => [check('kiln_settings_is_one', sql`${t.id} = 1`)],
);
