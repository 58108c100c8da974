import { NewEntryPage } from '../../../views/safety/log-new.tsx';
import { code } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { ENTRY_KINDS, type EntryKind } from '../log.ts';
import { logEntry } from '../service/log.ts';
import { entryBody } from '../service/log-forms.ts';
import { entryChoices, mayWrite } from '../service/log-read.ts';
import { logReader } from './log-reader.ts';

const isCode = (text: string) => code().safeParse(text).success;

export async function showNewEntry(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const asked = first(form.typed.kind) ?? first(visit.query.kind);
  const offered = ENTRY_KINDS.filter((kind) => mayWrite(visit.read, kind));
  return page(
    'Write it into the log',
    'safety',
    <NewEntryPage
      kind={offered.find((kind) => kind === asked) ?? null}
      offered={offered}
      choices={await entryChoices(visit.read)}
      about={aboutIn(visit)}
      form={form}
      reader={logReader(visit)}
    />,
  );
}

export const saveEntry = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showNewEntry(visit, form),
    async () => {
      const command = visit.form(entryBody);
      const number = await visit.act((act) => logEntry(act, command));
      return go(`/safety/log/${number}?done=written`);
    },
  );

export interface AboutEntry {
  bucket?: string;
  kiln?: string;
  material?: string;
  duty?: string;
}

/** What a link from elsewhere says the entry is about. */
function aboutIn(visit: Visit): AboutEntry {
  const { bucket, kiln, material, duty } = visit.query;
  const [aBucket, aKiln, aMaterial, aDuty] = [bucket, kiln, material, duty].map(first);
  return {
    ...(aBucket && isCode(aBucket) && { bucket: aBucket }),
    ...(aKiln && isCode(aKiln) && { kiln: aKiln }),
    ...(aMaterial && /^\d{1,9}$/.test(aMaterial) && { material: aMaterial }),
    ...(aDuty && /^\d{1,9}$/.test(aDuty) && { duty: aDuty }),
  };
}

const first = (value: string | string[] | undefined): string | undefined => [value ?? []].flat().at(-1);

export type OfferedKinds = readonly EntryKind[];
