import type { Instant } from '../../server/core/clock.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { HazardEntry, MaterialFacts } from '../../server/materials/facts.ts';
import { H_TEXTS, label, P_TEXTS } from '../../server/materials/hazards.ts';
import type { MaterialPage } from '../../server/materials/service/index.ts';
import { Caution, NotHarmless } from '../safety/parts.tsx';
import { Pictograms } from '../safety/pictogram.tsx';
import { State } from '../ui/icons.tsx';
import { Facts, Flash, More, Notice, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { SheetLink, SheetState } from './material-parts.tsx';

interface Props {
  found: MaterialPage;
  mayEdit: boolean;
  done: string | null;
  now: Instant;
  timeZone: string;
  newKey: string;
}

/** One material: what is known of it, and where that was read. */
export function MaterialPageView({ found, mayEdit, done, now, timeZone, newKey }: Props) {
  const { material, shown, versions, recipes } = found;
  const { id } = material;
  const { facts } = shown;
  const isNewest = shown.version === material.version;
  const at = `/materials/${id}`;
  return (
    <>
      {done && <Flash words={done} />}
      <h1>{material.name}</h1>
      {facts.otherNames.length > 0 && <p class="soft">{facts.otherNames.join(', ')}</p>}
      {material.isRetired && (
        <Notice title="Retired">
          <p>It is not bought any more. Recipes and sheets that name it keep it.</p>
        </Notice>
      )}
      {!isNewest && (
        <Notice title={`As it was written in version ${shown.version}`}>
          <p>
            <a href={at}>See what is known now</a>
          </p>
        </Notice>
      )}
      <Caution />
      <div class="split">
        <div>
          <Panel title="Classified">
            <Hazards facts={facts} />
            {facts.source && <p class="soft">{facts.source}</p>}
            <NotHarmless />
          </Panel>
          {facts.limits.length > 0 && (
            <Panel title="In the air">
              <Limits limits={facts.limits} />
            </Panel>
          )}
          {facts.substances.length > 0 && (
            <Panel title="Consists of">
              <Substances substances={facts.substances} />
            </Panel>
          )}
          <Panel title="In the studio">
            <Facts items={handling(facts, isNewest ? material.density : null)} />
          </Panel>
        </div>
        <div>
          <Panel title="Safety data sheet">
            <p>
              <SheetState sheet={material.sheet} />
            </p>
            {material.sheet.sheet && (
              <p>
                <SheetLink sheet={material.sheet.sheet} />
              </p>
            )}
            <p>
              <a class="plain" href={`${at}/sheets`}>
                {mayEdit ? 'Sheets: add, look through' : 'All its sheets'}
              </a>
            </p>
          </Panel>
          <Panel title="Stock">
            <p>
              <a class="plain" href={`${at}/stock`}>
                Lots and what is left
              </a>
            </p>
          </Panel>
          <Panel title="Recipes with it">
            {recipes.length === 0 ? (
              <p>None.</p>
            ) : (
              <ul>
                {recipes.map(({ recipeId, name, version, latest }) => (
                  <li key={recipeId}>
                    <a
                      href={
                        version === latest
                          ? `/recipes/${recipeId}`
                          : `/recipes/${recipeId}?version=${version}`
                      }
                    >
                      {name}
                    </a>
                    {version !== latest && <span class="soft"> up to version {version}</span>}
                  </li>
                ))}
              </ul>
            )}
          </Panel>
          <Panel title="Versions">
            {versions.length === 0 ? (
              <p>Nobody has said more of it than its name and density.</p>
            ) : (
              <Table
                columns={[{ label: 'Version', main: true }, { label: 'Written' }, { label: 'By' }]}
                rows={versions.map(({ version, at: written, by }) => ({
                  key: version,
                  cells: [
                    version === shown.version ? (
                      <b>Version {version}, shown here</b>
                    ) : (
                      <a href={`${at}?version=${version}`}>Version {version}</a>
                    ),
                    shownTime(written, now, timeZone),
                    by,
                  ],
                }))}
              />
            )}
          </Panel>
          {mayEdit && (
            <>
              <p class="row">
                <PlainAct href={`${at}/edit`} label="Write what is known now" />
                <PlainAct href={`/notices/new?material=${material.id}`} label="Notice" />
              </p>
              <More summary={material.isRetired ? 'Bring it back' : 'Retire it'}>
                <PlainAct
                  post={`${at}/retire`}
                  idempotencyKey={newKey}
                  fields={{ retired: material.isRetired ? 'no' : 'yes' }}
                  label={material.isRetired ? 'It is bought again' : 'It is not bought any more'}
                />
              </More>
            </>
          )}
        </div>
      </div>
      <p class="row">
        <a href="/materials">All materials</a>
        <a href="/safety">Back to safety</a>
      </p>
    </>
  );
}

function Hazards({ facts }: { facts: MaterialFacts }) {
  if (facts.classification === 'unknown')
    return (
      <>
        <p>
          <State state="needs-reading" words="Unknown: no sheet was read yet" />
        </p>
        <p>Treat it as harmful until its supplier's sheet was read.</p>
      </>
    );
  if (facts.classification === 'none') return <p>Its sheet says: not classified.</p>;
  const { signalWord, pictograms } = label(facts.hazards);
  return (
    <>
      {signalWord && (
        <p class="signal-word">
          <b>{signalWord}</b>
        </p>
      )}
      <Pictograms codes={pictograms} size={64} />
      <ul class="hazards">
        {facts.hazards.map((entry) => (
          <li key={`${entry.hazardClass} ${entry.hCode}`}>
            <b>{entry.hazardClass}</b> {entry.hCode}: {H_TEXTS[entry.hCode]}
            <Closer entry={entry} />
          </li>
        ))}
      </ul>
      <Acute ate={facts.ate} />
      {facts.pStatements.length > 0 && (
        <More summary="What to do about it (P-statements)">
          <ul>
            {facts.pStatements.map((code) => (
              <li key={code}>
                {code}
                {P_TEXTS[code] && `: ${P_TEXTS[code]}`}
              </li>
            ))}
          </ul>
        </More>
      )}
    </>
  );
}

/** What the list gives for this very substance. */
function Closer({ entry }: { entry: HazardEntry }) {
  const said = [
    entry.note,
    entry.limitPercent !== undefined && `a mixture takes it from ${entry.limitPercent} %`,
    ...(entry.ranges ?? []).map(
      ({ hazardClass, hCode, fromPercent, belowPercent }) =>
        `${hazardClass} ${hCode} from ${fromPercent} %${belowPercent === undefined ? '' : ` to below ${belowPercent} %`}`,
    ),
    entry.mFactor !== undefined && `M ${entry.mFactor}`,
  ].filter(Boolean);
  return said.length === 0 ? null : <small class="soft"> ({said.join('; ')})</small>;
}

function Acute({ ate }: Pick<MaterialFacts, 'ate'>) {
  const { oral, dermal, inhalation } = ate;
  const said = [
    oral !== undefined && `swallowed ${oral} mg/kg`,
    dermal !== undefined && `on the skin ${dermal} mg/kg`,
    inhalation &&
      `inhaled ${inhalation.value} ${inhalation.form === 'gas' ? 'ppm as a gas' : `mg/L as ${INHALED[inhalation.form]}`}`,
  ].filter(Boolean);
  return said.length === 0 ? null : <p>Acute toxicity estimates: {said.join(', ')}.</p>;
}

const INHALED = { vapour: 'a vapour', 'dust-mist': 'dust or mist' };

const AVERAGED = { '8 h': 'over 8 hours', '15 min': 'over 15 minutes', ceiling: 'never above' };

const Limits = ({ limits }: Pick<MaterialFacts, 'limits'>) => (
  <Table
    columns={[
      { label: 'Limit of', main: true, wraps: true },
      { label: 'At most', number: true, keepLabel: true },
      { label: 'Averaged' },
      { label: 'Source', wraps: true },
    ]}
    rows={limits.map(({ of, value, unit, averaging, source }, i) => ({
      key: i,
      cells: [of, `${value} ${unit}`, AVERAGED[averaging], source],
    }))}
  />
);

const Substances = ({ substances }: Pick<MaterialFacts, 'substances'>) => (
  <Table
    columns={[
      { label: 'Substance', main: true, wraps: true },
      { label: 'CAS number', keepLabel: true },
      { label: 'Share', number: true, keepLabel: true },
    ]}
    rows={substances.map(({ name, cas, percent }, i) => ({
      key: i,
      cells: [name, cas || 'none', percent === null ? 'not said' : `${percent} %`],
    }))}
  />
);

/** Versions do not hold the density: with an earlier one it is not shown. */
function handling(facts: MaterialFacts, density: number | null): [string, string][] {
  const rows: [string, string][] = [
    ['Wear', facts.ppe],
    ['Kept', facts.storage],
    ['Not with', facts.incompatible],
    ['Supplier', facts.supplier],
    ['Density of its particles', density === null ? '' : `${density} g/cm³`],
  ];
  return rows.filter(([, value]) => value !== '');
}
