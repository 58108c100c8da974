import type { Instant } from '../../server/core/clock.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import { massFractions } from '../../server/materials/recipe.ts';
import type { KnownLine, RecipePage } from '../../server/materials/service/index.ts';
import { Facts, Flash, Notice, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { Classification } from './material-parts.tsx';

interface Props {
  recipe: RecipePage;
  /** Its lines again, in their order, with what the register knows of each. */
  known: KnownLine[];
  mayEdit: boolean;
  saved: boolean;
  now: Instant;
  timeZone: string;
}

export function RecipePageView({ recipe, known, mayEdit, saved, now, timeZone }: Props) {
  const { current, lines, versions } = recipe;
  const latest = versions[0]?.version ?? current.version;
  const when = (at: Instant) => shownTime(at, now, timeZone);
  return (
    <>
      {saved && (
        <Flash
          words={`Version ${current.version} is saved. A bucket takes it on when you choose it there.`}
        />
      )}
      <h1>{current.name}</h1>
      <p class="soft">
        Version {current.version}
        {current.version === latest ? ', the latest' : ''}
      </p>
      {current.version !== latest && (
        <Notice title="An earlier version">
          <p>
            It stays as it was written, for what buckets held then.{' '}
            <a href={`/recipes/${current.recipeId}`}>See version {latest}</a>
          </p>
        </Notice>
      )}
      <div class="split">
        <Panel title="Materials">
          {lines.length === 0 ? (
            <p>The materials are not known here, only the density of the dry glaze.</p>
          ) : (
            <>
              <Lines lines={lines} known={known} />
              <p>
                <a
                  class="plain"
                  href={`/recipes/${current.recipeId}/hazards${current.version === latest ? '' : `?version=${current.version}`}`}
                >
                  What the mixture is classified as
                </a>
              </p>
            </>
          )}
        </Panel>
        <div>
          <Panel title="What follows">
            <Facts
              items={[
                ['Density of the dry glaze', `${current.solidsDensity.toFixed(3)} g/cm³`],
                [
                  'Solubles',
                  current.hasSolubles
                    ? 'Something in it dissolves: clear water is never taken off, it would carry that away.'
                    : 'None.',
                ],
              ]}
            />
          </Panel>
          <Panel title="Versions">
            <Table
              columns={[
                { label: 'Version', main: true },
                { label: 'Written' },
                { label: 'Density', number: true },
              ]}
              rows={versions.map(({ version, madeAt, solidsDensity }) => ({
                key: version,
                cells: [
                  version === current.version ? (
                    <b>Version {version}, shown here</b>
                  ) : (
                    <a href={`/recipes/${current.recipeId}?version=${version}`}>Version {version}</a>
                  ),
                  when(madeAt),
                  `${solidsDensity.toFixed(2)} g/cm³`,
                ],
              }))}
            />
          </Panel>
          {mayEdit && (
            <p>
              <a class="plain" href={`/recipes/${current.recipeId}/revise`}>
                Write version {latest + 1}
              </a>
            </p>
          )}
          <p>
            <a href="/recipes">All recipes</a>
          </p>
        </div>
      </div>
    </>
  );
}

function Lines({ lines, known }: Pick<RecipePage, 'lines'> & Pick<Props, 'known'>) {
  const shares = massFractions(lines);
  const total = lines.reduce((sum, { parts }) => sum + parts, 0);
  return (
    <>
      <Table
        columns={[
          { label: 'Material', main: true },
          { label: 'Parts', number: true, keepLabel: true },
          { label: 'Of the whole', number: true, keepLabel: true },
          { label: 'Particle density', number: true, keepLabel: true },
          { label: 'On its own' },
        ]}
        rows={lines.map(({ material, parts, density }, at) => ({
          key: at,
          cells: [
            <LineName key="name" material={material} known={known[at]} />,
            figure(parts),
            `${(100 * (shares[at] ?? 0)).toFixed(1)} %`,
            `${figure(density)} g/cm³`,
            known[at] ? <Classification facts={known[at].facts} /> : '',
          ],
        }))}
      />
      <p class="soft">
        {figure(total)} parts by weight in all
        {total > 100.05 && '; what goes beyond 100 is additions'}.
      </p>
    </>
  );
}

function LineName({ material, known }: { material: string; known: KnownLine | undefined }) {
  return known ? <a href={`/materials/${known.materialId}`}>{material}</a> : <span>{material}</span>;
}

const figure = (value: number) => String(Number(value.toPrecision(6)));
