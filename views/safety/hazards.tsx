import { H_TEXTS, P_TEXTS } from '../../server/materials/hazards.ts';
import type { Found } from '../../server/safety/ghs.ts';
import { share } from '../../server/safety/ghs-mixture.ts';
import type { Hazards, MixtureLine, RecipeMixture } from '../../server/safety/service/classify.ts';
import { State } from '../ui/icons.tsx';
import { Empty, More, Notice, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { Caution, NotHarmless } from './parts.tsx';
import { Pictograms } from './pictogram.tsx';

export const RULE_WORDS = {
  un: 'the UN’s rules (GHS)',
  'eu-clp': 'the EU’s rules (Regulation (EC) 1272/2008, CLP)',
  'us-hazcom': 'the US rules (29 CFR 1910.1200, HazCom)',
} as const;

interface HazardsProps {
  hazards: Hazards;
  reader: { mayPost: boolean; maySeeMaterials: boolean };
}

/** What a glaze is classified as, how that came about, and what is not known of it. */
export function HazardsPage({ hazards, reader }: HazardsProps) {
  const { name, recipe, mixture, bucket, solids } = hazards;
  const { classes, rules } = mixture;
  const isEarlier = recipe.version !== recipe.latest;
  const recipeHref = `/recipes/${recipe.id}${isEarlier ? `?version=${recipe.version}` : ''}`;
  return (
    <>
      <h1>{bucket ? `Hazards of ${bucket.name}` : `Hazards of ${name}`}</h1>
      <p class="soft">
        {bucket && <span class="code">{bucket.code}</span>}{' '}
        <a href={recipeHref}>
          {name}, version {recipe.version}
        </a>
        {isEarlier && (bucket ? ', which is in the bucket' : ', an earlier one')}. By {RULE_WORDS[rules]}.
      </p>
      {isEarlier && !bucket && (
        <Notice title="An earlier version">
          <p>
            <a href={`/recipes/${recipe.id}/hazards`}>See version {recipe.latest}</a>
          </p>
        </Notice>
      )}
      <div class="split">
        <div>
          <ForLabel mixture={mixture} />
          {mixture.unknown.length > 0 && (
            <Notice title="What is not known" tone="needs-reading">
              <ul class="reasons">
                {mixture.unknown.map((words) => (
                  <li key={words}>{words}</li>
                ))}
              </ul>
            </Notice>
          )}
          {bucket && reader.mayPost && (
            <p>
              <a class="plain" href={`/notices/new?bucket=${bucket.code}`}>
                Draft a notice from this
              </a>
            </p>
          )}
          <DryAndWet classes={classes} />
        </div>
        <div>
          <Panel title="How it came about">
            {classes.length === 0 ? (
              <p>No ingredient that is known reaches a limit.</p>
            ) : (
              classes.map((found) => <Class key={`${found.hazardClass} ${found.hCode}`} found={found} />)
            )}
            {mixture.notes.length > 0 && (
              <More summary="Worked out, and no class">
                <ul class="reasons">
                  {mixture.notes.map((words) => (
                    <li key={words}>{words}</li>
                  ))}
                </ul>
              </More>
            )}
          </Panel>
          {mixture.lines.length > 0 && (
            <Panel title="Ingredients">
              <Ingredients lines={mixture.lines} solids={solids} links={reader.maySeeMaterials} />
            </Panel>
          )}
        </div>
      </div>
      <Caution />
      <Ways bucket={bucket} />
    </>
  );
}

/** A bucket that was never set up. */
export function NothingInside({ bucket }: { bucket: { code: string; name: string } }) {
  return (
    <>
      <h1>Hazards of {bucket.name}</h1>
      <Empty title="Nothing is known to be in it">
        <p>Once the bucket is set up with a recipe, its classification stands here.</p>
        <NotHarmless />
      </Empty>
      <Caution />
      <Ways bucket={bucket} />
    </>
  );
}

function Ways({ bucket }: { bucket: { code: string; name: string } | null }) {
  return (
    <p>
      {bucket && (
        <>
          <a href={`/buckets/${bucket.code}`}>Back to {bucket.name}</a>
          {' · '}
        </>
      )}
      <a href="/safety">Safety</a>
    </p>
  );
}

function ForLabel({ mixture }: { mixture: RecipeMixture }) {
  const { signalWord, pictograms, hStatements, pStatements, classes, supplement } = mixture;
  return (
    <Panel title="On its label">
      {classes.length === 0 ? (
        <p>No hazard class comes out of what is known.</p>
      ) : (
        <>
          <div class="notice-signs">
            <Pictograms codes={pictograms} size={64} />
            {signalWord && <b class="signal-word">{signalWord}</b>}
          </div>
          <Statements codes={hStatements} texts={H_TEXTS} />
          <More summary="Precautions for the label">
            <Statements codes={pStatements} texts={P_TEXTS} />
          </More>
        </>
      )}
      {supplement.map((words) => (
        <p key={words}>{words}</p>
      ))}
      <NotHarmless />
    </Panel>
  );
}

function Statements({ codes, texts }: { codes: string[]; texts: Readonly<Record<string, string>> }) {
  return (
    <ul class="statements">
      {codes.map((code) => (
        <li key={code}>
          <span class="code">{code}</span> {texts[code]}
        </li>
      ))}
    </ul>
  );
}

function Class({ found }: { found: Found }) {
  const { hazardClass, hCode, because, dustOnly, organs } = found;
  return (
    <section class="hazard-class">
      <h3>
        {hazardClass} <span class="code">{hCode}</span>
      </h3>
      {organs && <p class="soft">Organs: {organs}</p>}
      <ul class="reasons">
        {because.map((words) => (
          <li key={words}>{words}</li>
        ))}
      </ul>
      {dustOnly && <p class="soft">Through the air: matters dry.</p>}
    </section>
  );
}

function DryAndWet({ classes }: { classes: Found[] }) {
  const airborne = classes.filter(({ dustOnly }) => dustOnly);
  return (
    <Panel title="Dry and wet">
      <p>
        What is breathed in matters at mixing, sanding, spraying and cleaning up what has dried. A wet bucket
        gives off no dust, and is labelled all the same.
      </p>
      {airborne.length > 0 && (
        <p>
          Here that is{' '}
          {airborne.map(({ hazardClass, hCode }, at) => (
            <>
              {at > 0 && ', '}
              {hazardClass} <span class="code">{hCode}</span>
            </>
          ))}
          .
        </p>
      )}
    </Panel>
  );
}

function Ingredients({
  lines,
  solids,
  links,
}: {
  lines: MixtureLine[];
  solids: Hazards['solids'];
  links: boolean;
}) {
  return (
    <>
      <Table
        columns={[
          { label: 'Material', main: true, wraps: true },
          { label: 'Dry', number: true, keepLabel: true },
          ...(solids ? [{ label: 'In the slurry', number: true, keepLabel: true }] : []),
          { label: 'Classified as', wraps: true },
        ]}
        rows={lines.map((line, at) => ({
          key: at,
          cells: [
            links ? <a href={`/materials/${line.materialId}`}>{line.name}</a> : line.name,
            share(rounded(line.percent)),
            ...(solids ? [share(rounded(line.percent * solids.fraction))] : []),
            <Known line={line} />,
          ],
        }))}
      />
      <p class="soft">
        Percent by mass. Classified is the dry glaze, whose shares are the greater
        {solids &&
          `; at the bucket’s gravity of ${solids.gravity.toFixed(2)} its slurry is ${share(rounded(100 * solids.fraction))} dry glaze, the rest water`}
        .
      </p>
    </>
  );
}

const rounded = (percent: number): number => Number(percent.toPrecision(3));

function Known({ line: { classification, classes } }: { line: MixtureLine }) {
  if (classification === 'unknown') return <State state="needs-reading" words="Unknown" />;
  if (classification === 'none' || classes.length === 0) return <>Not classified by its sheet</>;
  return <>{classes.join(', ')}</>;
}
