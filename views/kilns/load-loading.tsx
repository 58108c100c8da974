import type { FormState } from '../../server/core/routes.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { LoadReader } from '../../server/kilns/actions/load-reader.ts';
import type { Problem } from '../../server/kilns/packing/problem.ts';
import type { LoadPage, LoadPiece } from '../../server/kilns/service/index.ts';
import { Field, Form, PhotoField, Submit } from '../ui/field.tsx';
import { Flash, More, Notice, Panel } from '../ui/panel.tsx';
import { Act, PlainAct } from '../ui/verdict.tsx';
import { noteField } from './firing-parts.tsx';
import { LevelPlan, PlanKey } from './level-plan.tsx';
import { columnsUnder, type Floor, furnitureOf } from './load-geometry.ts';
import { Checks, floorsOfLoad, HeatCaution, loadAddress, pieceWords } from './load-parts.tsx';
import { listed, upper } from './load-words.ts';
import { floorName, floorWords, furnitureWords, type Look, mm, pieceCount } from './plan-parts.tsx';
import { SideView } from './side-view.tsx';

interface Props {
  page: LoadPage;
  form: FormState;
  reader: LoadReader;
}

/** At the kiln with a phone: one level at a time from the floor, ticked by what is not in it. */
export function LoadingPage({ page, form, reader }: Props) {
  const { load, pieces, levels } = page;
  const floors = floorsOfLoad(load);
  const tickOf = (floor: Floor) =>
    levels.find(({ part, level }) => part === floor.part && level === floor.level)?.tick ?? null;
  const next = floors.find((floor) => tickOf(floor) === null);
  const done = floors.filter((floor) => tickOf(floor) !== null);
  const at = `${loadAddress(load.number)}/load`;
  const isShownInForm = next
    ? form.typed.part !== undefined
    : form.errors.some(({ path }) => path === 'note');
  return (
    <>
      {form.errors.length > 0 && !isShownInForm && (
        <Flash tone="refused" words={form.errors.map(({ message }) => message).join(' ')} />
      )}
      <h1>
        {next ? floorName(next) : 'Every level is in'}{' '}
        <span class="soft">
          load {load.number}, {done.length} of {floors.length} loaded
        </span>
      </h1>
      {done.length === 0 && <HeatCaution load={load} />}
      {next ? (
        <NextLevel
          next={next}
          isFirst={done.length === 0}
          floors={floors}
          page={page}
          form={form}
          reader={reader}
        />
      ) : (
        <Finish
          page={page}
          form={form}
          reader={reader}
          label="The kiln is loaded"
          small="Then comes the list before firing."
        />
      )}
      {done.length > 0 && (
        <Panel title="Loaded so far">
          <ul class="wishes">
            {done.map((floor) => {
              const tick = tickOf(floor);
              if (!tick) return null;
              const isTop = !done.some(
                (other) =>
                  other.baseMm > floor.baseMm && (other.part === floor.part || floor.part === 'full'),
              );
              return (
                <li key={`${floor.part} ${floor.level}`}>
                  <span>
                    {floorName(floor)},{' '}
                    {tick.notIn.length === 0 ? 'all of it' : `all but ${listed(tick.notIn)}`}.{' '}
                    <small class="soft">
                      {[tick.by, shownTime(tick.at, reader.now, reader.timeZone)].filter(Boolean).join(', ')}
                      {tick.why && `, no photo: ${tick.why}`}
                    </small>{' '}
                    {tick.photo && <a href={`/files/${tick.photo}`}>photo</a>}
                  </span>
                  {isTop && (
                    <PlainAct
                      post={`${at}/reopen`}
                      idempotencyKey={`${reader.key}-reopen-${floor.part}-${floor.level}`}
                      fields={{ part: floor.part, level: floor.level }}
                      label={`Take the tick of ${floorName(floor).toLowerCase()} back`}
                    />
                  )}
                </li>
              );
            })}
          </ul>
        </Panel>
      )}
      <Panel title="The whole load">
        <SideView
          problem={load.problem}
          floors={floors}
          {...(next && { at: { part: next.part, level: next.level } })}
        />
      </Panel>
      {done.length > 0 && <HeatCaution load={load} />}
      <p class="row">
        <a class="plain" href={loadAddress(load.number)}>
          Back to load {load.number}
        </a>
        <a class="plain" href={`${loadAddress(load.number)}/sheet`}>
          Load sheet
        </a>
      </p>
      {pieces.length === 0 && <p class="soft">Nothing is in this load.</p>}
    </>
  );
}

/** The word that all of it stands; what has come to light since the approval is explained with it. */
function Finish({ page, form, reader, ...act }: Props & { label: string; small: string }) {
  const open = page.checks.filter(({ ok }) => !ok);
  const action = `${loadAddress(page.load.number)}/load/finish`;
  const idempotencyKey = `${reader.key}-finish`;
  if (open.length === 0) return <Act post={action} idempotencyKey={idempotencyKey} {...act} />;
  return (
    <>
      <Notice title="This has come to light since it was approved" tone="do-not-use">
        <Checks checks={open} />
      </Notice>
      <Form action={action} form={form} idempotencyKey={idempotencyKey}>
        {noteField('Why it is loaded all the same', undefined, false)}
        <Submit {...act} />
      </Form>
    </>
  );
}

interface NextLevelProps extends Props {
  next: Floor;
  isFirst: boolean;
  floors: Floor[];
}

function NextLevel({ next, isFirst, floors, page, form, reader }: NextLevelProps) {
  const { load, pieces } = page;
  const here = pieces
    .filter(({ number }) => next.ids.includes(String(number)))
    .sort((a, b) => a.number - b.number);
  const typed = form.typed.notIn === undefined ? [] : [form.typed.notIn].flat();
  const looks = (id: string): Look => (typed.includes(id) ? 'out' : 'plain');
  const { kept } = form.typed;
  const furniture = furnitureWords(furnitureOf(load.problem, floors));
  return (
    <>
      {isFirst && <p>Fetch {listed(furniture)}.</p>}
      {next.level === 1 && <p>{firstWords(load.problem, next, floors)}</p>}
      <figure class="plan-big">
        <LevelPlan
          problem={load.problem}
          floors={[next]}
          id="plan"
          controls={load.kiln.controls}
          opens={load.kiln.opens}
          lookOf={looks}
        />
        <figcaption>{floorWords(next)}</figcaption>
        <PlanKey problem={load.problem} floors={[next]} looks={next.ids.map(looks)} />
      </figure>
      <Form
        action={`${loadAddress(load.number)}/load`}
        form={form}
        idempotencyKey={`${reader.key}-${next.part}-${next.level}`}
        hidden={{
          part: next.part,
          level: next.level,
          kept: typeof kept === 'string' ? kept : undefined,
        }}
        takesFiles
      >
        <fieldset class="field" id="f-notIn">
          <legend>Tick only what is not in</legend>
          <p class="hint">It waits for the next load, at its old place.</p>
          {here.map((piece) => (
            <NotIn key={piece.number} piece={piece} isTicked={typed.includes(String(piece.number))} />
          ))}
        </fieldset>
        {typeof kept === 'string' && (
          <figure class="tile">
            <img src={`/files/${kept}`} alt="What you sent before" />
            <figcaption>This photo is kept: no need to send it again.</figcaption>
          </figure>
        )}
        <PhotoField
          name="photo"
          label={kept === undefined ? 'Photo of this level' : 'Another photo'}
          hint="From above, the whole shelf, before the next one goes on."
          optional={kept !== undefined}
        />
        <More summary="No photo" open={Boolean(form.typed.why)}>
          <Field name="why" label="Why there is none" maxlength={300} optional />
        </More>
        <Submit
          label={`${floorName(next)} is in`}
          small={
            here.length === 0
              ? 'Nothing stands on it.'
              : `All ${pieceCount(here.length)} but the ones ticked.`
          }
        />
      </Form>
      <p class="then">{thenWords(load.problem, next)}</p>
    </>
  );
}

function NotIn({ piece, isTicked }: { piece: LoadPiece; isTicked: boolean }) {
  return (
    <div class="field check">
      <label>
        <input type="checkbox" name="notIn" value={piece.number} checked={isTicked} />
        <span>
          <b>{piece.number}</b>
          <small>{pieceWords(piece)}</small>
        </span>
      </label>
    </div>
  );
}

/** What carries the lowest shelf. */
function firstWords(problem: Problem, floor: Floor, floors: Floor[]): string {
  const { part } = floor;
  const shelf = part === 'full' ? 'the first shelf' : `the ${part} half shelf`;
  const each = (problem.postsPerShelf ?? 3) * columnsUnder(floor, floors);
  const height = problem.floorPostMm ?? 0;
  return height > 0
    ? `First ${each} floor posts of ${mm(height)} and ${shelf}.`
    : `${upper(shelf)} lies on the floor.`;
}

const SHELVES = { full: 'the next shelf', left: 'the left half shelf', right: 'the right half shelf' };

/** 'Then 3 posts of 160 mm and the next shelf.' */
export function thenWords(problem: Problem, { posts, above, columns }: Floor): string {
  if (posts === null || above.length === 0) return 'Nothing goes above it.';
  const count = (problem.postsPerShelf ?? 3) * columns;
  const heights = posts.map((height) => `${count} posts of ${mm(height)}`).join(', on them ');
  return `Then ${heights} and ${above.length === 2 ? 'a half shelf on each side' : listed(above.map((part) => SHELVES[part]))}.`;
}
