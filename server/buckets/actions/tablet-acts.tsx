import type { VNode } from 'preact';
import {
  CheckForm,
  ProblemForm,
  type VerbFormProps,
  WaterForm,
} from '../../../views/buckets/tablet-acts.tsx';
import { readForm, type Typed } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, go, type Visit } from '../../core/routes.ts';
import { KINDS, type KindPath } from '../kinds.ts';
import { chooseAsk, everyAsk } from '../round.ts';
import { findBucket, listRoundGear, recordAct, safetyOf, showBucket } from '../service/index.ts';
import { askWho, standAt, TYPING, tabletPage, whoIsIt } from './tablet.tsx';

/** One of the four things that a name alone is enough for. */
export interface Verb {
  path: string;
  title: string;
  kind: KindPath;
  /** All that is taken from the form: nothing else that the kind knows, such as a time or a note. */
  fields: string[];
  fixed: Typed;
  /** Null: the name is all it takes. */
  form: ((visit: Visit, props: VerbFormProps) => Promise<VNode>) | null;
}

export const DIP: Verb = {
  path: 'dip',
  title: 'Stirred, dipping',
  kind: 'dippings',
  fields: [],
  fixed: { stirred: 'yes' },
  form: null,
};

export const CHECK: Verb = {
  path: 'check',
  title: 'Check SG',
  kind: 'readings',
  fields: [
    ...['method', 'vessel', 'millilitres', 'scale', 'instrument', 'float'],
    ...['grams', 'value', 'millimetres', 'stirred', 'confirm'],
  ],
  fixed: {},
  async form(visit, props) {
    const stand = standAt(visit);
    const [gear, { trend }] = await Promise.all([
      listRoundGear(stand.read),
      showBucket(stand.read, props.bucket.code),
    ]);
    const last = trend.events.findLast(({ entry }) => entry.kind === 'reading')?.entry ?? null;
    const { with: tool } = { ...visit.query, ...props.form.typed };
    const ask = chooseAsk(typeof tool === 'string' ? tool : null, last, gear);
    return <CheckForm {...props} ask={ask} tools={everyAsk(gear)} />;
  },
};

export const WATER: Verb = {
  path: 'water',
  title: 'Add water',
  kind: 'top-ups',
  fields: ['litres'],
  fixed: { kind: 'water' },
  form: async (_visit, props) => <WaterForm {...props} />,
};

export const PROBLEM: Verb = {
  path: 'problem',
  title: 'Problem',
  kind: 'problems',
  fields: ['problem'],
  fixed: {},
  form: async (_visit, props) => <ProblemForm {...props} />,
};

/** Asks for the name first, then for whatever else the verb needs. */
export async function showVerb(visit: Visit, verb: Verb, form: FormState = emptyForm()): Promise<Answer> {
  const stand = standAt(visit);
  const bucket = await findBucket(stand.read, visit.param('code'));
  const path = pathOf(bucket.code, verb);
  const refused = form.errors.map(({ message }) => message).join(' ') || null;
  const isCard = form.errors.some((e) => e.path === 'card');
  const person = isCard ? null : await whoIsIt(visit, stand);
  const { title } = verb;
  if (!person || !verb.form) {
    const wanted = { bucket, title, path, records: !verb.form, refused };
    if (!person || refused === null) return askWho(visit, stand, wanted);
    const { notices } = await safetyOf({ ...stand.read, actor: person.actor }, bucket);
    const toRead = { notices: notices.filter(({ unread }) => unread), person };
    return askWho(visit, stand, { ...wanted, toRead });
  }
  const shown = await verb.form(visit, { bucket, path, person, form, reader: stand.reader });
  return tabletPage(`${title}: ${bucket.name}`, shown, TYPING);
}

/** Records the verb as whoever was named, then shows the wall again. */
export const recordVerb = (visit: Visit, verb: Verb): Promise<Answer> =>
  visit.submit(
    (form) => showVerb(visit, verb, form),
    async () => {
      const stand = standAt(visit);
      const code = visit.param('code');
      const path = pathOf(code, verb);
      const person = await whoIsIt(visit, stand);
      if (!person) return go(path);
      if (verb.form && visit.typed.card !== undefined) return go(`${path}?as=${person.handle}`);
      const given = Object.fromEntries(verb.fields.map((name) => [name, visit.typed[name]]));
      const body = readForm(KINDS[verb.kind].body, { ...given, ...verb.fixed }, stand.formSetting);
      const done = await visit.act(async (act) => {
        const { event, bucket } = await recordAct(act, code, verb.kind, body as never);
        return `${bucket.code}.${event.number}`;
      }, person.actor);
      return go(`/tablet?did=${done}`);
    },
  );

const pathOf = (code: string, { path }: Verb): string =>
  `/tablet/buckets/${encodeURIComponent(code)}/${path}`;
