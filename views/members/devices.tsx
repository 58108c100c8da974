import type { Instant } from '../../server/core/clock.ts';
import type { FormState } from '../../server/core/routes.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { ListedDevice } from '../../server/members/service/devices.ts';
import { Field, Form, Submit } from '../ui/field.tsx';
import { Empty, Flash, Notice, Panel } from '../ui/panel.tsx';
import { Qr } from '../ui/qr.tsx';
import { Table } from '../ui/table.tsx';

interface DevicesPageProps {
  devices: ListedDevice[];
  /** One was just revoked. */
  ended: boolean;
  form: FormState;
  now: Instant;
  timeZone: string;
  newKey: string;
}

export function DevicesPage({ devices, ended, form, now, timeZone, newKey }: DevicesPageProps) {
  const time = (at: Instant) => shownTime(at, now, timeZone);
  return (
    <>
      {ended && <Flash words="The tablet is revoked. It shows nothing more from now on." />}
      <h1>Wall tablets</h1>
      <p class="narrow">
        A paired tablet shows the glaze wall to whoever stands there, without a password. People tap their
        name and record a dip, a check, water or a problem. A few other things ask for their PIN; nothing else
        is open on it.
      </p>
      {devices.length === 0 ? (
        <Empty title="No tablet is paired yet" />
      ) : (
        <Table
          columns={[
            { label: 'Name', main: true },
            { label: 'Paired', keepLabel: true },
            { label: 'By', keepLabel: true },
            { label: 'Revoke' },
          ]}
          rows={devices.map(({ name, by, pairedAt, waitsUntil }, at) => ({
            key: name,
            cells: [
              name,
              waitsUntil === null ? time(pairedAt) : `not yet: its code works until ${time(waitsUntil)}`,
              by,
              <Form
                key={name}
                id={`revoke${at}`}
                action="/devices/revoke"
                idempotencyKey={`${newKey}-${at}`}
                hidden={{ name }}
              >
                <Submit label={`Revoke ${name}`} look="plain danger" />
              </Form>,
            ],
          }))}
        />
      )}
      <Panel title="Pair a tablet">
        <Form action="/devices" form={form}>
          <Field
            name="name"
            label="Its name"
            hint="Where it hangs: by the sink, glaze room door …"
            maxlength={40}
            autocomplete="off"
          />
          <Submit label="Make a code" small="You type it on the tablet." look="plain" />
          <button class="plain" type="submit" formaction="/devices/here">
            Pair this very screen
            <small>You are signed out on it.</small>
          </button>
        </Form>
      </Panel>
    </>
  );
}

interface PairingCodePageProps {
  name: string;
  code: string;
  /** The page to open on the tablet, and with the code in it for its camera. */
  address: string;
  scan: string | null;
  expiresAt: Instant;
  now: Instant;
  timeZone: string;
}

export function PairingCodePage({
  name,
  code,
  address,
  scan,
  expiresAt,
  now,
  timeZone,
}: PairingCodePageProps) {
  return (
    <>
      <h1>Pair {name}</h1>
      <ol class="narrow">
        <li>
          On the tablet, open <b>{address}</b>
        </li>
        <li>
          Type this code there:
          <p class="pairing-code">
            <output>{code}</output>
          </p>
        </li>
      </ol>
      {scan && (
        <>
          <p>Or scan this with the tablet's camera:</p>
          <div class="pairing-scan">
            <Qr text={scan} label="QR code that opens the page to pair on the tablet" />
          </div>
        </>
      )}
      <Notice title="Shown this once">
        <p>It works once, until {shownTime(expiresAt, now, timeZone)}, on whichever screen it is typed.</p>
      </Notice>
      <p>
        <a class="plain" href="/devices">
          The tablet shows the wall
        </a>
      </p>
    </>
  );
}

interface PairPageProps {
  form: FormState;
  device: { name: string } | null;
  person: { name: string } | null;
}

export function PairPage({ form, device, person }: PairPageProps) {
  return (
    <>
      <h1>Pair this screen</h1>
      <p class="narrow">
        As a wall tablet it shows the glaze wall to whoever stands here. A technician makes the code, under
        People, Wall tablets.
      </p>
      {device && (
        <Notice title={`It is paired already, as ${device.name}`}>
          <p>A new code pairs it anew, under the new name.</p>
        </Notice>
      )}
      {person && <p class="narrow">{person.name} is signed in here and will not be any more.</p>}
      <Form action="/pair" form={form}>
        <Field
          name="code"
          label="Code"
          hint="Ten letters and digits. Capitals or not makes no difference."
          maxlength={40}
          autocomplete="off"
          spellcheck={false}
        />
        <Submit label="Pair this screen" />
      </Form>
    </>
  );
}

export function UnpairedPage() {
  return (
    <>
      <h1>This tablet is not paired any more</h1>
      <p class="narrow">
        A technician has ended that, so it does not show the glaze wall by itself. Nothing that was recorded
        here is lost.
      </p>
      <p class="row">
        <a class="plain" href="/pair">
          Pair it again
        </a>
        <a class="plain" href="/sign-in">
          Sign in
        </a>
      </p>
    </>
  );
}
