import { PinNotePage, PinUsePage, TakeBackPage } from '../../../views/buckets/tablet-pin.tsx';
import type { Act, Actor } from '../../core/actor.ts';
import { NotFound } from '../../core/errors.ts';
import { readForm } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, go, type Visit } from '../../core/routes.ts';
import { pinForm } from '../../members/forms.ts';
import { type AtTablet, findAtTabletById, provePin } from '../../members/service/tablet.ts';
import { KINDS } from '../kinds.ts';
import { findBucket, listEvents, recordAct, voidEvent } from '../service/index.ts';
import { askWho, numberIn, type Stand, standAt, TYPING, tabletPage, whoIsIt } from './tablet.tsx';

// What a tapped name is not enough for: each of these is done only with the person's own PIN.

export async function showTakeBack(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const stand = standAt(visit);
  const { bucket, event, person } = await whatToTakeBack(visit, stand);
  const props = { bucket, event, person, form, reader: stand.reader };
  return tabletPage(`Take back: ${bucket.name}`, <TakeBackPage {...props} />, TYPING);
}

/** Strikes out what somebody recorded at a tablet, as that person. */
export const takeBack = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showTakeBack(visit, form),
    async () => {
      const stand = standAt(visit);
      const { event, person } = await whatToTakeBack(visit, stand);
      const { number } = event;
      return withPin(visit, stand, person, (act, code) =>
        voidEvent(act, code, number, 'Taken back at the tablet'),
      );
    },
  );

async function whatToTakeBack(visit: Visit, { read, device, studio }: Stand) {
  const code = visit.param('code');
  const number = numberIn(visit.param('number'));
  const [bucket, { events }] = await Promise.all([
    findBucket(read, code),
    listEvents(read, code, { limit: 1, before: number + 1 }),
  ]);
  const [event] = events;
  if (event?.number !== number || !event.atTablet || event.entry.kind === 'void')
    throw new NotFound('Nothing of this number was recorded at a wall tablet.');
  return { bucket, event, person: await findAtTabletById({ db: read.tx, device, studio }, event.byId) };
}

export const showNote = (visit: Visit, form: FormState = emptyForm()): Promise<Answer> =>
  showPinned(visit, form, { title: 'Write a note', path: 'note', Page: PinNotePage });

export const keepNote = (visit: Visit): Promise<Answer> =>
  pinned(visit, showNote, (stand) => {
    const body = readForm(KINDS.notes.body, { note: visit.typed.note }, stand.formSetting);
    return (act, code) => recordAct(act, code, 'notes', body);
  });

export const showUse = (visit: Visit, form: FormState = emptyForm()): Promise<Answer> =>
  showPinned(visit, form, { title: 'Stop its use, or put it back', path: 'use', Page: PinUsePage });

export const changeUse = (visit: Visit): Promise<Answer> =>
  pinned(visit, showUse, (stand) => {
    const { state, reason } = visit.typed;
    const body = readForm(KINDS.service.body, { state, reason }, stand.formSetting);
    return (act, code) => recordAct(act, code, 'service', body);
  });

type Shown = { title: string; path: string; Page: typeof PinNotePage };

async function showPinned(visit: Visit, form: FormState, { title, path, Page }: Shown): Promise<Answer> {
  const stand = standAt(visit);
  const bucket = await findBucket(stand.read, visit.param('code'));
  const at = `/tablet/buckets/${bucket.code}/${path}`;
  const refused = form.errors.find((e) => e.path === 'card')?.message ?? null;
  const person = refused === null ? await whoIsIt(visit, stand) : null;
  if (!person) return askWho(visit, stand, { bucket, title, path: at, refused });
  const props = { bucket, path: at, person, form, reader: stand.reader };
  return tabletPage(`${title}: ${bucket.name}`, <Page {...props} />, TYPING);
}

type Work = (act: Act, code: string) => Promise<{ event: { number: number }; bucket: { code: string } }>;

const pinned = (
  visit: Visit,
  show: (visit: Visit, form: FormState) => Promise<Answer>,
  read: (stand: Stand) => Work,
): Promise<Answer> =>
  visit.submit(
    (form) => show(visit, form),
    async () => {
      const stand = standAt(visit);
      const person = await whoIsIt(visit, stand);
      const here = visit.request.url.split('?')[0] ?? '/tablet';
      if (!person) return go(here);
      if (visit.typed.card !== undefined) return go(`${here}?as=${person.handle}`);
      return withPin(visit, stand, person, read(stand));
    },
  );

async function withPin(
  visit: Visit,
  { device, formSetting }: Stand,
  person: AtTablet,
  work: Work,
): Promise<Answer> {
  const { services, now } = visit;
  const { pin } = readForm(pinForm, visit.typed, formSetting);
  const actor: Actor = await provePin(services, person, device, pin, now);
  const done = await visit.act(async (act) => {
    const { event, bucket } = await work(act, visit.param('code'));
    return `${bucket.code}.${event.number}`;
  }, actor);
  return go(`/tablet?did=${done}`);
}
