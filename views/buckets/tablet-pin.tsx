import type { ComponentChildren } from 'preact';
import type { Reader } from '../../server/buckets/actions/reader.ts';
import { eventWords } from '../../server/buckets/sentences.ts';
import type { BucketNow, LedgerEvent } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { AtTablet } from '../../server/members/service/tablet.ts';
import { Form, Submit, TextArea } from '../ui/field.tsx';
import { Notice } from '../ui/panel.tsx';
import { PinField } from '../ui/pin.tsx';
import { TabletSubPage } from './tablet-parts.tsx';

interface PinFormProps {
  bucket: BucketNow;
  path: string;
  person: AtTablet;
  form: FormState;
  reader: Reader;
}

export interface PinnedProps extends Omit<PinFormProps, 'bucket'> {
  hidden?: Record<string, string>;
  label: string;
  children?: ComponentChildren;
}

/** A form that only its person's PIN sends off; without one it says what to do instead. */
export function Pinned({ path, person, form, reader, hidden, label, children }: PinnedProps) {
  const { name } = person.actor;
  if (!person.hasPin)
    return (
      <Notice title={`${name} has no PIN yet`}>
        <p>
          It takes one at a tablet. Set it on your own page, signed in on your phone; or{' '}
          <a href="/sign-in">sign in here</a>, do it, and sign out.
        </p>
      </Notice>
    );
  return (
    <Form action={path} form={form} idempotencyKey={reader.key} hidden={{ ...hidden, as: person.handle }}>
      {children}
      <PinField label={`PIN of ${name}`} />
      <Submit label={label} />
    </Form>
  );
}

interface TakeBackPageProps extends Omit<PinFormProps, 'path'> {
  event: LedgerEvent;
}

export function TakeBackPage({ bucket, event, ...rest }: TakeBackPageProps) {
  const { reader } = rest;
  const path = `/tablet/buckets/${bucket.code}/take-back/${event.number}`;
  return (
    <TabletSubPage bucket={bucket} title="Take it back">
      <Notice title={eventWords(event.entry, reader.units)}>
        <p>
          {event.by}, {shownTime(event.happenedAt, reader.now, reader.timeZone)}
        </p>
      </Notice>
      {event.voided ? (
        <p>This was struck out already.</p>
      ) : (
        <Pinned {...rest} path={path} label="Strike it out" />
      )}
    </TabletSubPage>
  );
}

export const PinNotePage = ({ bucket, ...rest }: PinFormProps) => (
  <TabletSubPage bucket={bucket} title="Write a note">
    <Pinned {...rest} label="Keep this note">
      <TextArea name="note" label="Note" rows={2} maxlength={500} />
    </Pinned>
  </TabletSubPage>
);

export function PinUsePage({ bucket, ...rest }: PinFormProps) {
  const stops = bucket.facts.service === 'in-service';
  return (
    <TabletSubPage bucket={bucket} title={stops ? 'Stop its use' : 'Put it back in use'}>
      {!stops && <p>A technician does this, once it is right.</p>}
      <Pinned
        {...rest}
        hidden={{ state: stops ? 'do-not-use' : 'in-service' }}
        label={stops ? 'Stop its use' : 'Put it back in use'}
      >
        <TextArea name="reason" label="Why" rows={2} maxlength={500} optional={!stops} />
      </Pinned>
    </TabletSubPage>
  );
}
