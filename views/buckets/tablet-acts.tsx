import type { Reader } from '../../server/buckets/actions/reader.ts';
import { PROBLEMS } from '../../server/buckets/problems.ts';
import type { Ask } from '../../server/buckets/round.ts';
import { wayWords } from '../../server/buckets/sentences.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import { fromLitres, volumeUnit } from '../../server/core/units.ts';
import type { AtTablet } from '../../server/members/service/tablet.ts';
import { Check, Form, NumberField, Submit } from '../ui/field.tsx';
import { Filter, More } from '../ui/panel.tsx';
import { bandWords, fullWords } from './parts.tsx';
import { TabletSubPage } from './tablet-parts.tsx';

export interface VerbFormProps {
  bucket: BucketNow;
  path: string;
  person: AtTablet;
  form: FormState;
  reader: Reader;
}

/** In whose name, and how to say that it is somebody else. */
const As = ({ path, person }: Pick<VerbFormProps, 'path' | 'person'>) => (
  <p>
    As <b>{person.actor.name}</b>. <a href={path}>Not you?</a>
  </p>
);

interface CheckFormProps extends VerbFormProps {
  ask: Ask;
  tools: Ask[];
}

export function CheckForm({ bucket, path, person, form, reader, ask, tools }: CheckFormProps) {
  const hidden = {
    ...ask.fixed,
    as: person.handle,
    with: ask.id,
    confirm: form.doubtful ? 'yes' : undefined,
  };
  return (
    <TabletSubPage bucket={bucket} title="Check SG">
      <As path={path} person={person} />
      <p>Stir to the bottom first. Wanted: {bandWords(bucket.target)}.</p>
      <Form action={path} form={form} idempotencyKey={reader.key} hidden={hidden}>
        <NumberField name={ask.field} label={ask.label} hint={ask.tool} unit={ask.unit} big autofocus />
        <Check name="stirred" label="Stirred to the bottom just now" checked />
        <Submit label={form.doubtful ? 'Yes, it is right: record it' : 'Record'} />
      </Form>
      {tools.length > 1 && (
        <More summary="Measure with something else">
          <Filter
            label="Measured with"
            options={tools.map(({ id, tool }) => ({
              href: `${path}?as=${person.handle}&with=${encodeURIComponent(id)}`,
              label: tool,
              current: id === ask.id,
            }))}
          />
        </More>
      )}
    </TabletSubPage>
  );
}

export function WaterForm({ bucket, path, person, form, reader }: VerbFormProps) {
  const { advice } = bucket;
  const way = advice?.kind === 'add-water' && !bucket.verdict.askLevel ? advice : null;
  const words = way && wayWords(way, { aim: bucket.target.aim, units: reader.units });
  const litres =
    way?.kind === 'add-water' ? Number(fromLitres(way.first, reader.units).toFixed(3)) : undefined;
  return (
    <TabletSubPage bucket={bucket} title="Add water">
      <As path={path} person={person} />
      <p>In it: {fullWords(bucket, reader)}.</p>
      {words && (
        <p>
          <b>{words.title}:</b> {words.small}.
        </p>
      )}
      <Form action={path} form={form} idempotencyKey={reader.key} hidden={{ as: person.handle }}>
        <NumberField
          name="litres"
          label="Water that went in"
          unit={volumeUnit(reader.units)}
          {...(litres !== undefined && { value: litres })}
          big
          autofocus
        />
        <Submit label="Record what went in" small="Then stir to the bottom and check SG." />
      </Form>
    </TabletSubPage>
  );
}

/** Fixed words only: what is written in somebody's name needs their PIN. */
export function ProblemForm({ bucket, path, person, form, reader }: VerbFormProps) {
  const { contaminated, ...others } = PROBLEMS;
  return (
    <TabletSubPage bucket={bucket} title="What is wrong?">
      <As path={path} person={person} />
      <Form action={path} form={form} idempotencyKey={reader.key} hidden={{ as: person.handle }}>
        <Submit label={contaminated} small="Stops its use at once." name="problem" value="contaminated" />
        <div class="acts verbs">
          {Object.entries(others).map(([problem, words]) => (
            <Submit key={problem} label={words} look="plain" name="problem" value={problem} />
          ))}
        </div>
      </Form>
    </TabletSubPage>
  );
}
