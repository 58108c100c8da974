import type { ComponentChildren } from 'preact';
import type { Instant } from '../../server/core/clock.ts';
import type { FormState } from '../../server/core/routes.ts';
import { shownTime, toWallTime } from '../../server/core/wall-time.ts';
import type { LoadReader } from '../../server/kilns/actions/load-reader.ts';
import { firingActs } from '../../server/kilns/firing-acts.ts';
import type { FiringPage, LoadNow } from '../../server/kilns/service/index.ts';
import { firingWords } from '../../server/ware/firing.ts';
import { Field, TextArea } from '../ui/field.tsx';
import { Flash, More } from '../ui/panel.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { loadAddress } from './load-parts.tsx';
import { LoadStateMark } from './load-state.tsx';
import { listed } from './load-words.ts';

export interface FiringProps {
  firing: FiringPage;
  form: FormState;
  /** What came of the last act. */
  done: string | null;
  reader: LoadReader;
}

/** Beside which load and kiln one is, and what came of the last act. */
export function FiringHead({
  load,
  title,
  done,
  undo,
}: {
  load: LoadNow;
  title: string;
  done: string | null;
  undo?: Parameters<typeof Flash>[0]['undo'];
}) {
  return (
    <>
      {done && <Flash words={done} {...(undo && { undo })} />}
      <h1>
        {title}{' '}
        <span class="soft">
          load&nbsp;{load.number}, {load.kiln.name}
        </span>
      </h1>
      <p class="row">
        <LoadStateMark state={load.state} /> {firingWords(load.firing)}
      </p>
    </>
  );
}

/** The ways on from a page of a firing, but for the one it is. */
export function FiringFoot({ load, here, reader }: { load: LoadNow; here: string; reader: LoadReader }) {
  const at = loadAddress(load.number);
  return (
    <p class="row screen-only">
      {firingActs(load, reader)
        .filter(({ href }) => href !== `${at}/${here}`)
        .map(({ href, label }) => (
          <PlainAct key={href} href={href} label={label} />
        ))}
      <PlainAct href={at} label={`Back to load ${load.number}`} />
    </p>
  );
}

/** Who may do what this page is for, where whoever looks may not. */
export function AskWhom({ load, what }: { load: LoadNow; what: string }) {
  const { firers, name } = load.kiln;
  return (
    <p>
      {firers.length === 0
        ? `Nobody is named yet as one who fires ${name}: ask a technician.`
        : `${listed(firers.map((one) => one.name))} may ${what}.`}
    </p>
  );
}

/** For what was done some time ago. */
export function notNow(form: FormState, reader: Pick<LoadReader, 'now' | 'timeZone'>) {
  return (
    <More summary="It was not just now" open={Boolean(form.typed.happenedAt)}>
      <Field
        name="happenedAt"
        type="datetime-local"
        label="When"
        hint={`Now is ${toWallTime(reader.now, reader.timeZone).replace('T', ' ')}.`}
        optional
      />
    </More>
  );
}

export const noteField = (label = 'Note', hint?: string, optional = true) => (
  <TextArea name="note" label={label} hint={hint} rows={2} maxlength={500} optional={optional} />
);

/** Whether this form was asked about and may be sent with a yes: also where the yes came, but not its reason. */
export const isAsked = ({ doubtful, typed }: FormState, token: string): boolean =>
  doubtful === true || typed.confirm === token;

/** '1084 °C', with a blank that does not break. */
export const degrees = (c: number): string => `${Math.round(c)}\u00a0°C`;

/** When, by whom and in what words something was written. */
export function Written({
  at,
  by,
  note,
  reader,
  children,
}: {
  at: Instant;
  by: string | null;
  note?: string | null;
  reader: LoadReader;
  children?: ComponentChildren;
}) {
  return (
    <>
      {children}
      <small class="soft">
        {children ? ' ' : ''}
        {[shownTime(at, reader.now, reader.timeZone), by].filter(Boolean).join(', ')}
        {note && ` “${note}”`}
      </small>
    </>
  );
}

/** Strikes one entry out, with the reason, without leaving the page. */
export function StrikeOut({
  load,
  event,
  what,
  back,
  reader,
}: {
  load: number;
  event: number;
  /** 'number 12' */
  what: string;
  /** The page it is shown on. */
  back: string;
  reader: LoadReader;
}) {
  const id = `strike-${event}`;
  return (
    <More summary="Strike out">
      <form class="form" method="post" action={`${loadAddress(load)}/strike-out`} hx-sync="drop">
        <input type="hidden" name="key" value={`${reader.key}-s${event}`} />
        <input type="hidden" name="event" value={event} />
        <input type="hidden" name="back" value={back} />
        <div class="field">
          <label for={id}>What is wrong with {what}</label>
          <input class="input" id={id} name="reason" maxlength={300} required />
        </div>
        <button class="plain" type="submit">
          Strike {what} out
        </button>
      </form>
    </More>
  );
}
