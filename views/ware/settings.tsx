import type { FormState } from '../../server/core/routes.ts';
import { Beside, Field, Form, NumberField, Submit } from '../ui/field.tsx';
import { Flash } from '../ui/panel.tsx';

interface Props {
  form: FormState;
  saved: boolean;
  newKey: string;
}

export function WareSettingsPage({ form, saved, newKey }: Props) {
  return (
    <>
      {saved && <Flash words="Saved. Every piece is judged by this from now on." />}
      <h1>How ware is handled</h1>
      <p class="soft narrow">
        Common practice to begin with. Change what your clays, your glazes and your shelves ask for.
      </p>
      <Form action="/ware/settings" form={form} idempotencyKey={newKey}>
        <Beside>
          <NumberField
            name="thickAboveMm"
            label="Thick is more than"
            hint="The thickest part of a piece."
            unit="mm"
          />
          <NumberField
            name="thickWaitDays"
            label="Thick ware waits"
            hint="Longer than the rest, before bisque."
            unit="days"
          />
        </Beside>
        <Beside>
          <NumberField name="heldBackMm" label="Glaze ends above the foot" unit="mm" />
          <NumberField
            name="heldBackRunnyMm"
            label="A runny glaze ends"
            hint="And stands on a tray."
            unit="mm"
          />
        </Beside>
        <Beside>
          <NumberField
            name="uncollectedDays"
            label="Fetch fired ware within"
            hint="After that the desk asks for it to be put away."
            unit="days"
          />
          <Field
            name="bisqueCone"
            label="Bisque cone of a clay nobody knows"
            hint="Such as 06."
            maxlength={6}
            autocomplete="off"
            spellcheck={false}
          />
        </Beside>
        <h2>Coats at the bench</h2>
        <p class="soft narrow">
          To begin with, thicknesses and density are from memory, the rest is common practice without a
          source. Dry thickness, as a pin scratches it.
        </p>
        <Beside>
          <NumberField name="usualCoatLowMm" label="A usual coat is from" unit="mm" />
          <NumberField
            name="usualCoatHighMm"
            label="A usual coat is up to"
            hint="A glaze may want its own: say so at the glaze."
            unit="mm"
          />
        </Beside>
        <Beside>
          <NumberField
            name="mostCoatMm"
            label="All coats together at most"
            hint="Beyond it a technician looks at the piece."
            unit="mm"
          />
          <NumberField
            name="dryCoatDensity"
            label="A dry coat weighs"
            hint="Of a glaze that nobody measured."
            unit="g/cm³"
          />
        </Beside>
        <Beside>
          <NumberField
            name="dryBackHours"
            label="A lined piece dries for"
            hint="Before the outside, where it is not weighed."
            unit="h"
          />
          <NumberField
            name="waterGonePercent"
            label="Water gone before the next coat"
            hint="By the scale, of what the coat brought."
            unit="%"
          />
        </Beside>
        <Submit label="Save" />
      </Form>
      <p>
        <a href="/ware/desk">Back to the desk</a>
      </p>
    </>
  );
}
