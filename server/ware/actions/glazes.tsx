import { GlazePage, GlazesPage, RulePage } from '../../../views/ware/glazes.tsx';
import { findBucket, listBuckets } from '../../buckets/service/index.ts';
import { may } from '../../core/policy.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { randomSecret } from '../../core/secrets.ts';
import { wareSettings } from '../service/settings.ts';
import {
  addConflict,
  conflictForm,
  conflictPair,
  knownTags,
  listConflicts,
  listTraits,
  offeredConflicts,
  RUNNY_TRAY_MM,
  removeConflict,
  setTrait,
  traitForm,
} from '../service/traits.ts';

/** Every glaze of the wall as a kiln and the bench see it, and what must not share a load. */
export async function showGlazes(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const { read, caller, query } = visit;
  const [buckets, traits, rules, offered, settings] = await Promise.all([
    listBuckets(read),
    listTraits(read),
    listConflicts(read),
    offeredConflicts(read),
    wareSettings(read),
  ]);
  const saved = buckets.find(({ code }) => code === query.glaze);
  return page(
    'Glazes in the kiln',
    'ware',
    <GlazesPage
      glazes={buckets.map((bucket) => ({
        bucket,
        trait: traits.find(({ bucketId }) => bucketId === bucket.id) ?? null,
      }))}
      rules={rules}
      offered={offered}
      settings={settings}
      mayEdit={may(caller.role, 'ware.edit')}
      done={saved ? `${saved.name} is saved.` : visit.done(DONE)}
      refused={form.errors.map(({ message }) => message).join(' ') || null}
      newKey={randomSecret()}
    />,
  );
}

const DONE: Record<string, string> = {
  rule: 'The rule counts from now on.',
  removed: 'The rule is gone.',
};

export async function showGlaze(visit: Visit, form?: FormState): Promise<Answer> {
  const [bucket, traits, tags, settings] = await Promise.all([
    findBucket(visit.read, visit.param('code')),
    listTraits(visit.read),
    knownTags(visit.read),
    wareSettings(visit.read),
  ]);
  const trait = traits.find(({ bucketId }) => bucketId === bucket.id);
  const typed = trait && {
    isRunny: trait.isRunny ? 'yes' : '',
    trayMm: trait.trayMm > 0 ? String(trait.trayMm) : '',
    tags: trait.tags.join(', '),
    wantedCoatMm: trait.wantedCoatMm === null ? '' : String(trait.wantedCoatMm),
    dryCoatDensity: trait.dryCoatDensity === null ? '' : String(trait.dryCoatDensity),
  };
  return page(
    bucket.name,
    'ware',
    <GlazePage
      bucket={bucket}
      form={form ?? emptyForm(typed)}
      tags={tags}
      runnyTrayMm={RUNNY_TRAY_MM}
      settings={settings}
      newKey={randomSecret()}
    />,
  );
}

export const saveGlaze = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showGlaze(visit, form),
    async () => {
      const code = visit.param('code');
      const command = visit.form(traitForm);
      await visit.act((act) => setTrait(act, code, command));
      return go(`/ware/glazes?glaze=${encodeURIComponent(code)}`);
    },
  );

export async function showRule(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const tags = await knownTags(visit.read);
  return page('A rule', 'ware', <RulePage form={form} tags={tags} newKey={randomSecret()} />);
}

export const saveRule = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showRule(visit, form),
    async () => {
      const command = visit.form(conflictForm);
      await visit.act((act) => addConflict(act, command));
      return go('/ware/glazes?done=rule');
    },
  );

export const takeRuleAway = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showGlazes(visit, form),
    async () => {
      const pair = visit.form(conflictPair);
      await visit.act((act) => removeConflict(act, pair));
      return go('/ware/glazes?done=removed');
    },
  );

/** The address a rule is taken away at, opened by itself, leads to the glazes. */
export const backToGlazes = async (): Promise<Answer> => go('/ware/glazes');
