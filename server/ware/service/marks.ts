import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import type { Picture } from '../../core/files.ts';
import { text } from '../../core/forms.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import * as store from '../store/marks.ts';
import { keptPhoto } from './describing.ts';
import { photoOf } from './pieces.ts';

/** What a person cuts or writes into the foot. */
export type Mark = store.MarkRow;

const MOST_MARKS = 10;

export const markForm = z.strictObject({ text: text(60), kept: keptPhoto() });

/** The marks of whoever asks, newest first. */
export async function listOwnMarks(read: Read): Promise<Mark[]> {
  mustBeAllowed(read.actor, 'ware.own');
  return store.listMarks(read.tx, read.actor.id);
}

/** Everybody's marks by name: to find whose the mark on a foot is. */
export async function listAllMarks(read: Read): Promise<Mark[]> {
  mustBeAllowed(read.actor, 'ware.see-all');
  return store.listMarks(read.tx, null);
}

/** A mark of whoever acts. Throws Invalid without a photo: words alone find nobody. */
export async function addMark(
  act: Act,
  { text, kept }: z.output<typeof markForm>,
  picture: Picture | null,
): Promise<void> {
  mustBeAllowed(act.actor, 'ware.own');
  const fileId = await photoOf(act, picture, kept);
  if (fileId === null)
    throw new Invalid([
      { path: 'photo', message: 'Take a photo of the mark: that is how your pots are found.' },
    ]);
  if ((await store.listMarks(act.tx, act.actor.id)).length >= MOST_MARKS)
    throw new Conflict(`You have ${MOST_MARKS} marks: take one off first.`);
  await store.insertMark(act.tx, { personId: act.actor.id, text, fileId, madeAt: act.now });
}

/** No longer shown. Throws NotFound for a mark that is not of whoever acts. */
export async function retireMark(act: Act, id: number): Promise<void> {
  mustBeAllowed(act.actor, 'ware.own');
  if (!(await store.retireMark(act.tx, { id, personId: act.actor.id }, act.now)))
    throw new NotFound('You have no such mark.');
}
