import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import { mmFigure } from '../../server/ware/coat-bands.ts';
import type { ConflictRule, Trait } from '../../server/ware/service/traits.ts';
import type { WareSettings } from '../../server/ware/settings.ts';
import { firingWords } from '../buckets/parts.tsx';
import { Check, Field, Form, NumberField, Submit } from '../ui/field.tsx';
import { Chip } from '../ui/icons.tsx';
import { Empty, Flash, More, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { PlainAct } from '../ui/verdict.tsx';

interface GlazesProps {
  glazes: { bucket: BucketNow; trait: Trait | null }[];
  rules: ConflictRule[];
  /** Ordinary rules that this studio does not have. */
  offered: ConflictRule[];
  settings: WareSettings;
  mayEdit: boolean;
  done: string | null;
  refused: string | null;
  newKey: string;
}

export function GlazesPage(props: GlazesProps) {
  const { glazes, rules, offered, settings, mayEdit, done, refused, newKey } = props;
  return (
    <>
      {done && <Flash words={done} />}
      {refused && <Flash words={refused} tone="refused" />}
      <h1>Glazes in the kiln</h1>
      <p class="soft narrow">
        Which cones a glaze takes, how thick it goes on, whether it runs, and what it does to others in the
        same load. What a bucket is made of stands at the bucket.
      </p>
      {glazes.length === 0 ? (
        <Empty title="No bucket yet">
          <p>The glazes of the wall show here by themselves.</p>
        </Empty>
      ) : (
        <Panel>
          <Table
            columns={[
              { label: 'Glaze', main: true },
              { label: 'Fires at' },
              { label: 'Coat', keepLabel: true },
              { label: 'Runs' },
              { label: 'Words', keepLabel: true },
            ]}
            rows={glazes.map(({ bucket, trait }) => ({
              key: bucket.code,
              cells: [
                <>
                  <Chip colour={bucket.colour} />{' '}
                  {mayEdit ? <a href={`/ware/glazes/${bucket.code}`}>{bucket.name}</a> : bucket.name}{' '}
                  <span class="code">{bucket.code}</span>
                </>,
                firingWords(bucket) || 'cone not known',
                coat(trait, settings),
                runs(trait),
                trait?.tags.join(', ') || 'none',
              ],
            }))}
          />
        </Panel>
      )}
      <h2>Not in one load</h2>
      {rules.length === 0 && <p>No rule yet: any glaze may share a load with any other.</p>}
      {rules.length > 0 && (
        <ul class="plain-list">
          {rules.map(({ tagA, tagB, why }, at) => (
            <li key={`${tagA},${tagB}`}>
              <b>{tagA}</b> beside <b>{tagB}</b>: {why}
              {mayEdit && (
                <More summary={`Take away ${tagA} beside ${tagB}`}>
                  <PlainAct
                    post="/ware/glazes/rule/remove"
                    idempotencyKey={`${newKey}-${at}`}
                    fields={{ tagA, tagB }}
                    label="They may share a load"
                  />
                </More>
              )}
            </li>
          ))}
        </ul>
      )}
      {mayEdit &&
        offered.map(({ tagA, tagB, why }, at) => (
          <Panel key={`${tagA},${tagB}`} title="Often kept apart">
            <p>
              {tagA} beside {tagB}. {why} Common practice, no source.
            </p>
            <PlainAct
              post="/ware/glazes/rule"
              idempotencyKey={`${newKey}-offer-${at}`}
              fields={{ tagA, tagB, why }}
              label="Take this rule on"
              small="It works once glazes carry these words."
            />
          </Panel>
        ))}
      {mayEdit && (
        <p>
          <a class="plain" href="/ware/glazes/rule">
            Write a rule
          </a>
        </p>
      )}
      <p class="row">
        <a href="/ware/runs">Glazes that run together</a>
        <a href="/clays">Clays</a>
        <a href="/ware">Back to my ware</a>
      </p>
    </>
  );
}

/** '0.5 mm, dry 1.35 g/cm³'; where nobody said how thick, what is usual here. */
function coat(trait: Trait | null, { usualCoatLowMm, usualCoatHighMm }: WareSettings): string {
  const { wantedCoatMm: wanted = null, dryCoatDensity: density = null } = trait ?? {};
  const thick =
    wanted === null
      ? `as usual, ${mmFigure(usualCoatLowMm)} to ${mmFigure(usualCoatHighMm)} mm`
      : `${mmFigure(wanted)} mm`;
  return density === null ? thick : `${thick}, dry ${density} g/cm³`;
}

function runs(trait: Trait | null): string {
  const tray = trait && trait.trayMm > 0 ? `tray ${trait.trayMm} mm all round` : null;
  if (trait?.isRunny) return `runny, ${tray}`;
  return tray ?? 'not known to run';
}

interface GlazeProps {
  bucket: BucketNow;
  form: FormState;
  tags: string[];
  /** Around a runny glaze where nothing is said. */
  runnyTrayMm: number;
  settings: WareSettings;
  newKey: string;
}

export function GlazePage({ bucket, form, tags, runnyTrayMm, settings, newKey }: GlazeProps) {
  const { usualCoatLowMm, usualCoatHighMm, dryCoatDensity } = settings;
  return (
    <>
      <h1>
        {bucket.name} <span class="code">{bucket.code}</span>
      </h1>
      <p>{firingWords(bucket) || 'Its cones are not known: add them at the bucket.'}</p>
      <Form action={`/ware/glazes/${bucket.code}`} form={form} idempotencyKey={newKey}>
        <Check
          name="isRunny"
          label="It runs"
          hint="Pieces with it stand on a tray and are glazed further from the foot."
        />
        <NumberField
          name="trayMm"
          label="Tray beyond the piece, all round"
          hint={`Empty: ${runnyTrayMm} mm where it runs, none where it does not.`}
          unit="mm"
          optional
        />
        <Field
          name="tags"
          label="Words that rules name"
          hint={
            tags.length > 0
              ? `Parted by commas. Used here: ${tags.join(', ')}.`
              : 'Parted by commas, such as: chromium, tin white.'
          }
          maxlength={400}
          autocomplete="off"
          optional
        />
        <NumberField
          name="wantedCoatMm"
          label="Coat wanted"
          hint={`Dry, of one coat. Empty: as usual here, ${mmFigure(usualCoatLowMm)} to ${mmFigure(usualCoatHighMm)} mm.`}
          unit="mm"
          optional
        />
        <NumberField
          name="dryCoatDensity"
          label="A dry coat weighs"
          hint={
            `To measure it: let a coat dry, scratch through it for its thickness, scrape it off a known area with a damp ` +
            `blade, dry and weigh it. Grams over (cm² times thickness in cm). Empty: ${dryCoatDensity} g/cm³ as everywhere here.`
          }
          unit="g/cm³"
          optional
        />
        <Submit label="Save" />
      </Form>
      <p class="row">
        <a href="/ware/glazes">All glazes</a>
        <a href={`/buckets/${bucket.code}`}>The bucket</a>
      </p>
    </>
  );
}

interface RuleProps {
  form: FormState;
  tags: string[];
  newKey: string;
}

export function RulePage({ form, tags, newKey }: RuleProps) {
  return (
    <>
      <h1>What must not share a load</h1>
      <p class="soft narrow">Two words that glazes carry. No load is approved with both in it.</p>
      <Form action="/ware/glazes/rule" form={form} idempotencyKey={newKey}>
        <Field
          name="tagA"
          label="This"
          hint="Such as: chromium."
          maxlength={30}
          list="tags"
          autocomplete="off"
        />
        <Field
          name="tagB"
          label="Not beside this"
          hint="Such as: tin white."
          maxlength={30}
          list="tags"
          autocomplete="off"
        />
        <datalist id="tags">
          {tags.map((tag) => (
            <option key={tag} value={tag} />
          ))}
        </datalist>
        <Field name="why" label="Why" hint="What happens to the ware." maxlength={200} />
        <Submit label="Take this rule on" />
      </Form>
      <p>
        <a href="/ware/glazes">All glazes</a>
      </p>
    </>
  );
}
