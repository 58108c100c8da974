import { z } from 'zod';
import { choice, code, count, day, email, flag, instant, quantity, text } from '../../core/forms.ts';
import { AIR_UNITS, CHECK_UNITS, OUTCOMES, QUANTITY_UNITS, TOPICS, WAYS_OUT, WIPE_UNITS } from '../log.ts';

const LARGEST = 1_000_000;
const LARGEST_NUMBER = 2 ** 31 - 1;

const about = {
  /** When it happened; without it now. */
  happenedAt: instant().optional(),
  bucket: code().optional(),
  kiln: code().optional(),
  /** A material's number. */
  material: count(1, LARGEST_NUMBER).optional(),
  /** What was done about it there and then. */
  action: text(2000).optional(),
  topic: choice(TOPICS).optional(),
  /** It tells of somebody's health: only technicians, managers and whoever wrote it read it. */
  restricted: flag().optional(),
};
const duty = count(1, LARGEST_NUMBER).optional();

/** What is written into the log, by kind. */
export const entryBody = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: choice(['incident', 'near-miss', 'exposure', 'spill', 'first-aid']),
    place: text(80),
    what: text(4000),
    ...about,
  }),
  z.strictObject({
    kind: choice(['wet-cleaning', 'training']),
    place: text(80).optional(),
    what: text(4000).optional(),
    duty,
    ...about,
  }),
  z.strictObject({
    kind: z.literal('air'),
    place: text(80),
    what: text(4000).optional(),
    substance: text(80),
    value: quantity(0, LARGEST),
    unit: choice(AIR_UNITS),
    below: flag().optional(),
    method: text(120),
    minutes: quantity(1, 1440, 'min').optional(),
    ...about,
  }),
  z.strictObject({
    kind: z.literal('wipe'),
    place: text(80),
    what: text(4000).optional(),
    substance: text(80),
    value: quantity(0, LARGEST),
    unit: choice(WIPE_UNITS),
    below: flag().optional(),
    method: text(120),
    ...about,
  }),
  z.strictObject({
    kind: choice(['ventilation', 'respirator-fit', 'inspection']),
    place: text(80).optional(),
    what: text(4000).optional(),
    outcome: choice(OUTCOMES),
    value: quantity(0, LARGEST).optional(),
    unit: choice(CHECK_UNITS).optional(),
    method: text(120).optional(),
    duty,
    ...about,
  }),
  z.strictObject({
    kind: z.literal('waste'),
    place: text(80).optional(),
    what: text(4000),
    quantity: quantity(0, LARGEST),
    quantityUnit: choice(QUANTITY_UNITS),
    way: choice(WAYS_OUT),
    /** Of the manifest or the receipt. */
    reference: text(80).optional(),
    ...about,
  }),
]);
export type EntryCommand = z.output<typeof entryBody>;

export const amendBody = z.strictObject({
  what: text(4000),
  /** From now on only technicians, managers and whoever wrote it read the entry; there is no way back. */
  restrict: flag().optional(),
  /** The entry does not count any more. It stays, crossed out. */
  strike: flag().optional(),
});

export const followUpBody = z.strictObject({
  what: text(2000),
  /** E-mail address of a technician or manager. */
  owner: email(),
  dueOn: day(),
});

export const closeBody = z.strictObject({ what: text(2000) });
