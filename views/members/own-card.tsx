import type { FormState } from '../../server/core/routes.ts';
import type { OwnPage } from '../../server/members/service/own.ts';
import { Form, Submit } from '../ui/field.tsx';
import { Panel } from '../ui/panel.tsx';
import { PinField } from '../ui/pin.tsx';
import { Qr } from '../ui/qr.tsx';

interface WallTabletPanelProps {
  own: Pick<OwnPage, 'hasPin' | 'hasCard'>;
  cards: boolean;
  form: FormState | undefined;
  newKey: string;
}

/** What somebody needs at the wall tablet beyond their name. */
export function WallTabletPanel({ own, cards, form, newKey }: WallTabletPanelProps) {
  return (
    <Panel title="At the wall tablet">
      <div class="form">
        <p class="hint">
          There you tap your name, or scan your card. What is more than a dip, a check, water or a problem
          asks for your PIN.
        </p>
        <Form id="pin" action="/me/pin" form={form}>
          <PinField
            label={own.hasPin ? 'New PIN' : 'PIN'}
            hint="Four digits. Nobody can look them up later."
          />
          <Submit label={own.hasPin ? 'Change the PIN' : 'Set the PIN'} look="plain" />
        </Form>
        {own.hasPin && (
          <Form id="no-pin" action="/me/pin/end" idempotencyKey={`${newKey}-pin`}>
            <Submit label="Do without a PIN" look="plain danger" />
          </Form>
        )}
        {cards ? (
          <Form id="card" action="/me/card">
            <Submit
              label={own.hasCard ? 'Make a new card' : 'Make a card'}
              small={own.hasCard && 'The one you have ends.'}
              look="plain"
            />
          </Form>
        ) : (
          <p class="hint">
            Cards can be made once this server knows the address that people type to reach it (PUBLIC_URL).
          </p>
        )}
        {own.hasCard && (
          <Form id="no-card" action="/me/card/end" idempotencyKey={`${newKey}-card`}>
            <Submit label="End my card" look="plain danger" />
          </Form>
        )}
      </div>
    </Panel>
  );
}

interface CardPageProps {
  name: string;
  studio: string;
  address: string;
}

export function CardPage({ name, studio, address }: CardPageProps) {
  return (
    <>
      <h1 class="screen-only">Your card</h1>
      <p class="screen-only narrow">
        Print it now: it is shown this once. Whoever scans it at a wall tablet acts there in your name, as
        anybody can who taps your name. Lost? Make a new one, and this one ends.
      </p>
      <article class="person-card">
        <Qr text={address} label={`QR code of ${name}'s card`} />
        <p>
          <b>{name}</b>
          <br />
          {studio}
        </p>
      </article>
      <div class="row screen-only">
        <button class="plain" type="button" data-print>
          Print the card
        </button>
        <a class="plain" href="/me">
          I have printed it
        </a>
      </div>
    </>
  );
}
