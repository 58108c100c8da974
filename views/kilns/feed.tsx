import type { Instant } from '../../server/core/clock.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { LoadReader } from '../../server/kilns/actions/load-reader.ts';
import { Field } from '../ui/field.tsx';
import { Flash, Notice, Panel } from '../ui/panel.tsx';
import { PlainAct } from '../ui/verdict.tsx';

interface Props {
  madeAt: Instant | null;
  done: string | null;
  reader: LoadReader;
}

/** A private link to the calendar: made here, and ended here. */
export function FeedPage({ madeAt, done, reader }: Props) {
  return (
    <>
      {done && <Flash words={done} />}
      <h1>In your own calendar</h1>
      <p class="narrow">
        A calendar program that is given a private link shows the loads beside your own dates, and looks for
        changes by itself. It says load, kiln and firing, and never whose ware it is.
      </p>
      <Panel title="Your link">
        {madeAt === null ? (
          <PlainAct post="/kilns/calendar/feed" idempotencyKey={`${reader.key}-make`} label="Make a link" />
        ) : (
          <>
            <p>Made {shownTime(madeAt, reader.now, reader.timeZone)}. It is shown once only.</p>
            <div class="row">
              <PlainAct
                post="/kilns/calendar/feed"
                idempotencyKey={`${reader.key}-make`}
                label="Make another, end this one"
              />
              <PlainAct
                post="/kilns/calendar/feed/end"
                idempotencyKey={`${reader.key}-end`}
                label="End this link"
              />
            </div>
          </>
        )}
      </Panel>
      <p>
        <a class="plain" href="/kilns/calendar">
          Calendar
        </a>
      </p>
    </>
  );
}

/** The one page that shows the link. */
export function NewFeedPage({ url }: { url: string }) {
  return (
    <>
      <h1>Your calendar link</h1>
      <Notice title="Copy it now">
        <p>
          It is shown this once. Whoever has it can read the kiln calendar, so keep it to yourself. A link
          made before has ended.
        </p>
      </Notice>
      <div class="form">
        <Field
          name="link"
          label="Link for your calendar"
          value={url}
          readOnly
          spellcheck={false}
          autocomplete="off"
        />
      </div>
      <p>In your calendar program: add a calendar by its address, and paste this.</p>
      <p>
        <a class="plain" href="/kilns/calendar/feed">
          I have copied it
        </a>
      </p>
    </>
  );
}
