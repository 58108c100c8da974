import type { FormState } from '../../server/core/routes.ts';
import type { LoadReader } from '../../server/kilns/actions/load-reader.ts';
import type { LoadPage } from '../../server/kilns/service/index.ts';
import { sizeWords } from '../../server/ware/sentences.ts';
import { Form, Select, Submit, TextArea } from '../ui/field.tsx';
import { More, Notice, Panel } from '../ui/panel.tsx';
import { Act, PlainAct } from '../ui/verdict.tsx';
import { Checks, loadAddress, pieceAddress } from './load-parts.tsx';
import { isToCome } from './load-words.ts';
import { floorName, mm, pieceCount } from './plan-parts.tsx';

/** A load as whoever looks at it sees it, with what came of the last act. */
export interface LoadProps {
  page: LoadPage;
  form: FormState;
  /** What came of the last act. */
  done: string | null;
  /** Address of the script that lets pieces be dragged. */
  script: string;
  /** What ramps and holds are called here. */
  scheduleWord: string;
  /** Those in use for its kind of firing and cone. */
  schedules: { number: number; name: string }[];
  reader: LoadReader;
}

/** What must hold before it is approved, and the act. */
export function Approval({ page: { load, checks }, reader }: LoadProps) {
  const open = checks.filter(({ ok }) => !ok).length;
  return (
    <Panel title="Before you approve" id="approve">
      <Checks checks={checks} mends={{ plan: <PackAgain load={load} reader={reader} at="plan" /> }} />
      <div class="narrow">
        <Act
          post={`${loadAddress(load.number)}/approve`}
          idempotencyKey={`${reader.key}-approve`}
          fields={{ version: load.version }}
          label="Approve this load"
          small={
            open === 0
              ? 'It takes its pieces from the queue. Cones, posts and vent are checked before firing.'
              : `${open === 1 ? 'One check is' : `${open} checks are`} still open: mend ${open === 1 ? 'it' : 'them'} first.`
          }
        />
      </div>
    </Panel>
  );
}

/** What a check found after the load was approved. */
export function ComeToLight({ page: { load, checks }, reader }: LoadProps) {
  const open = checks.filter(({ ok }) => !ok);
  if (open.length === 0) return null;
  return (
    <Notice title="This has come to light since it was approved" tone="do-not-use">
      <Checks
        checks={open}
        mends={load.state === 'approved' ? { plan: <PackAgain load={load} reader={reader} at="plan" /> } : {}}
      />
    </Notice>
  );
}

/** Moving, pinning, leaving out and packing anew. */
export function Changes({ page, reader }: LoadProps) {
  const { load, fits, notYetIn } = page;
  const at = loadAddress(load.number);
  const { pins, leftOut } = load.wishes;
  const version = { version: load.version };
  const [largest] = [...fits].sort((a, b) => b.circleMm - a.circleMm);
  return (
    <Panel title="Change it" id="change">
      <p>
        To move a piece, pick its number under a level. With a mouse, drag it; on a touch screen pick it
        first.
      </p>
      <p>
        {largest === undefined
          ? 'Nothing worth a word still fits.'
          : `What still fits is under each level; the most: ${floorName(largest).toLowerCase()}, one ${largest.circleMm} mm piece up to ${mm(largest.heightMm)} high.`}
      </p>
      {notYetIn.length > 0 && (
        <More
          summary={`Put another piece in (${notYetIn.length} ${notYetIn.length === 1 ? 'waits' : 'wait'})`}
        >
          <ul class="piece-list">
            {notYetIn.map((piece) => (
              <li key={piece.number}>
                <a class="piece-number" href={pieceAddress(load.number, piece.number)}>
                  {piece.number}
                </a>
                <span>
                  {piece.form}, {sizeWords(piece.asPacked)}
                  {piece.owner && `, ${piece.owner.name}`}
                  {!piece.isReady && <b> · not ready</b>}
                </span>
              </li>
            ))}
          </ul>
        </More>
      )}
      {(Object.keys(pins).length > 0 || leftOut.length > 0) && (
        <More summary="Pinned and left out" open>
          <ul class="wishes">
            {Object.entries(pins).map(([number, level]) => (
              <li key={number}>
                <span>
                  Piece {number} stays on level {level}.
                </span>
                <PlainAct
                  post={`${at}/unpin`}
                  idempotencyKey={`${reader.key}-unpin-${number}`}
                  fields={{ piece: number, ...version }}
                  label={`Unpin ${number}`}
                />
              </li>
            ))}
            {leftOut.map((number) => (
              <li key={number}>
                <span>Piece {number} is left out of this load.</span>
                <a class="plain" href={pieceAddress(load.number, number)}>
                  Put {number} in
                </a>
              </li>
            ))}
          </ul>
        </More>
      )}
      <PackAgain load={load} reader={reader} at="change" />
    </Panel>
  );
}

/** @param at where on the page it stands: each form has a key of its own */
function PackAgain({ load, reader, at }: { load: LoadPage['load']; reader: LoadReader; at: string }) {
  return (
    <PlainAct
      post={`${loadAddress(load.number)}/repack`}
      idempotencyKey={`${reader.key}-repack-${at}`}
      fields={{ version: load.version }}
      label="Pack the rest again"
      small="What is pinned stays where it is. Takes a few seconds."
    />
  );
}

/** What it is fired by instead. */
export function OtherSchedule({ page: { load }, schedules, scheduleWord, form, reader }: LoadProps) {
  const others = schedules.filter(({ number }) => number !== load.schedule?.number);
  const mayChoose = reader.mayPlan && isToCome(load);
  if (!mayChoose || others.length === 0) return null;
  const isHere = form.typed.schedule !== undefined;
  return (
    <More summary={`Another ${scheduleWord}`} open={isHere || !load.schedule}>
      <Form
        id="schedule"
        action={`${loadAddress(load.number)}/schedule`}
        form={isHere ? form : undefined}
        idempotencyKey={`${reader.key}-schedule`}
        hidden={{ version: load.version }}
      >
        <Select
          name="schedule"
          label={`Fire it by this ${scheduleWord}`}
          options={others.map(({ number, name }) => ({ value: String(number), label: name }))}
        />
        <Submit label="Choose it" look="plain" />
      </Form>
    </More>
  );
}

/** Last of all, and with a reason. */
export function Cancel({ page: { load, pieces }, form, reader }: LoadProps) {
  const isHere = form.typed.reason !== undefined;
  return (
    <div class="screen-only narrow">
      <More summary="Cancel this load" open={isHere}>
        {load.state === 'loaded' && (
          <Notice title="It stands in the kiln" tone="ask-technician">
            <p>Take everything out first, shelf by shelf from the top.</p>
          </Notice>
        )}
        <Form
          id="cancel"
          action={`${loadAddress(load.number)}/cancel`}
          form={isHere ? form : undefined}
          idempotencyKey={`${reader.key}-cancel`}
        >
          <TextArea
            name="reason"
            label="Why"
            hint="Whoever waits for it reads this."
            rows={2}
            maxlength={300}
          />
          <Submit
            label={`Cancel load ${load.number}`}
            small={
              load.state === 'proposed'
                ? undefined
                : `${pieceCount(pieces.length)} go back to the queue, each at its old place.`
            }
            look="plain danger"
          />
        </Form>
      </More>
    </div>
  );
}
