import { OutcomePage, OutcomesPage, UnloadPage } from '../../../views/kilns/outcomes.tsx';
import { CONES_A_LEVEL, ConesPage, conesAsked } from '../../../views/kilns/witness.tsx';
import { type FieldError, Invalid, NotFound } from '../../core/errors.ts';
import { pictureIn } from '../../core/files.ts';
import { readForm, type Typed } from '../../core/forms.ts';
import { type Answer, emptyForm, type FormState, go, page, type Visit } from '../../core/routes.ts';
import { numbersIn as piecesTyped } from '../../ware/numbers.ts';
import { conesAround } from '../firing-record.ts';
import {
  coneRow,
  correctOutcome,
  outcomeForm,
  outcomesOf,
  piecesIn,
  readCones,
  showFiring,
  unloadFields,
  unloadKiln,
} from '../service/index.ts';
import { gather, isBlank, movedPaths } from '../typed-rows.ts';
import { confirmed } from './firing-during.tsx';
import { numbersIn } from './load-list.tsx';
import { doneIn, loadNumber, loadReaderOf } from './load-reader.ts';

const DONE = {
  unloaded: 'It is empty, and the owners were told.',
  corrected: 'Kept, and the owner was told.',
  cones: 'The cones are kept.',
};

export async function showUnload(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const number = loadNumber(visit);
  const [firing, pieces] = await Promise.all([showFiring(visit.read, number), piecesIn(visit.read, number)]);
  if (firing.load.state === 'unloaded' && form.errors.length === 0)
    return go(`/kilns/loads/${number}/outcomes`);
  return page(
    `Unload load ${number}`,
    'kilns',
    <UnloadPage
      firing={firing}
      pieces={pieces}
      faults={faultsIn(form.typed) ?? []}
      form={form}
      done={doneIn(visit, form, DONE)}
      reader={loadReaderOf(visit)}
    />,
  );
}

/** The pieces that are not good, by their numbers; null where these cannot be read. */
const faultsIn = ({ faults }: Typed): number[] | null => piecesTyped([faults ?? []].flat().join(' '));

/** Fields of a piece on this page that are called otherwise. */
const SHORT: Record<string, string> = { beyondUse: 'beyond', studiosFault: 'ours' };

/** The button that only brings the pieces of these numbers to the top was pressed. */
const wantsToSee = (typed: Typed): boolean => typed.show !== undefined;

/**
 * Every piece has fields of its own, named with its number; those left alone are good, but for those whose numbers
 * were typed as not good.
 */
export const saveUnload = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showUnload(visit, form),
    async () => {
      const number = loadNumber(visit);
      const typed = confirmed(visit.typed);
      const pieces = await piecesIn(visit.read, number);
      const errors: FieldError[] = [];
      const faults = faultsIn(typed);
      if (!faults) throw new Invalid([{ path: 'faults', message: 'Type numbers, such as 44 51.' }]);
      const strangers = faults.filter((one) => !pieces.some((piece) => piece.number === one));
      if (strangers.length > 0)
        errors.push({ path: 'faults', message: `Not in load ${number}: ${strangers.join(', ')}.` });
      if (wantsToSee(typed)) {
        if (errors.length > 0) throw new Invalid(errors);
        return showUnload(visit, emptyForm(visit.typed));
      }
      const flat = gather(errors, () => visit.form(unloadFields, typed), null);
      const exceptions = pieces.flatMap(({ number: piece }) => {
        const fields = {
          outcome: typed[`outcome-${piece}`],
          note: typed[`note-${piece}`],
          beyondUse: typed[`beyond-${piece}`],
          studiosFault: typed[`ours-${piece}`],
        };
        if (!isBlank(fields.studiosFault) && isBlank(fields.outcome)) {
          errors.push({ path: `outcome-${piece}`, message: `Say how ${piece} came out.` });
          return [];
        }
        if (faults.includes(piece) && isBlank(fields.outcome) && isBlank(fields.beyondUse))
          errors.push({ path: `outcome-${piece}`, message: `Say how ${piece} came out.` });
        if (Object.values(fields).every(isBlank)) return [];
        return gather(
          errors,
          () => {
            const outcome = isBlank(fields.outcome) ? 'good' : fields.outcome;
            return [readForm(outcomeForm, { ...fields, outcome, piece: String(piece) }, visit.formSetting)];
          },
          [],
          (path) => `${SHORT[path] ?? path}-${piece}`,
        );
      });
      if (!flat || errors.length > 0) throw new Invalid(errors);
      await visit.act((act) => unloadKiln(act, number, { ...flat, exceptions }));
      return go(`/kilns/loads/${number}/outcomes?did=unloaded`);
    },
  );

export async function showOutcomes(visit: Visit): Promise<Answer> {
  const number = loadNumber(visit);
  const [firing, outcomes] = await Promise.all([
    showFiring(visit.read, number),
    outcomesOf(visit.read, number),
  ]);
  return page(
    `How load ${number} came out`,
    'kilns',
    <OutcomesPage
      firing={firing}
      outcomes={outcomes}
      done={doneIn(visit, emptyForm(), DONE)}
      reader={loadReaderOf(visit)}
    />,
  );
}

export async function showOutcome(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const number = loadNumber(visit);
  const [piece] = numbersIn(visit.param('piece'));
  const [firing, outcomes] = await Promise.all([
    showFiring(visit.read, number),
    outcomesOf(visit.read, number),
  ]);
  const found = outcomes.find((one) => one.number === piece);
  if (!found) throw new NotFound(`No such piece came out of load ${number}.`);
  return page(
    `Piece ${piece} of load ${number}`,
    'kilns',
    <OutcomePage firing={firing} piece={found} form={form} reader={loadReaderOf(visit)} />,
  );
}

export const saveOutcome = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showOutcome(visit, form),
    async () => {
      const number = loadNumber(visit);
      const upload = visit.upload('photo');
      const picture = upload && (await pictureIn(upload, 'photo'));
      const command = visit.form(outcomeForm, { ...visit.typed, piece: visit.param('piece') });
      await visit.act((act) => correctOutcome(act, number, command, picture));
      return go(`/kilns/loads/${number}/outcomes?did=corrected`);
    },
  );

export async function showCones(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const number = loadNumber(visit);
  const firing = await showFiring(visit.read, number);
  return page(
    `Cones of load ${number}`,
    'kilns',
    <ConesPage
      firing={firing}
      form={form}
      done={doneIn(visit, form, DONE)}
      usual={conesAround(firing.load.firing.cone)}
      reader={loadReaderOf(visit)}
    />,
  );
}

/** A row counts where it says how its cone stands. */
export function saveCones(visit: Visit): Promise<Answer> {
  const sent: number[] = [];
  const fieldOf = (_: string, at: number) => (sent[at] === undefined ? null : `level-${sent[at] + 1}`);
  return visit.submit(
    (form) => showCones(visit, { ...form, errors: movedPaths(form.errors, fieldOf) }),
    async () => {
      const number = loadNumber(visit);
      const { typed } = visit;
      const { shelves, load } = await showFiring(visit.read, number);
      const errors: FieldError[] = [];
      const levels = shelves.flatMap((shelf, at) => {
        const cones = Array.from({ length: CONES_A_LEVEL }, (_, i) => `${at + 1}-${i + 1}`).flatMap((row) =>
          isBlank(typed[`reading-${row}`])
            ? []
            : gather(
                errors,
                () => [
                  readForm(
                    coneRow,
                    { cone: typed[`cone-${row}`], reading: typed[`reading-${row}`] },
                    visit.formSetting,
                  ),
                ],
                [],
                (path) => `${path}-${row}`,
              ),
        );
        if (cones.length === 0) return [];
        sent.push(at);
        return [{ ...shelf, cones }];
      });
      if (errors.length > 0) throw new Invalid(errors);
      if (levels.length === 0)
        throw new Invalid([{ path: 'reading-1-1', message: 'Say of one cone, at least, how it stands.' }]);
      const confirm = typed.confirm === conesAsked(emptyForm(typed));
      await visit.act((act) => readCones(act, number, { levels, confirm }));
      return go(
        load.state === 'cooling'
          ? `/kilns/loads/${number}/unload?did=cones`
          : `/kilns/loads/${number}/curve?did=cones`,
      );
    },
  );
}
