import { toWallTime } from '../../server/core/wall-time.ts';
import type { LoadReader } from '../../server/kilns/actions/load-reader.ts';
import { COOLING_CAUTION } from '../../server/kilns/cooling.ts';
import { CHECK_WORDS, checksFor } from '../../server/kilns/firing-record.ts';
import { segmentWords } from '../../server/kilns/schedule.ts';
import type { LoadPage } from '../../server/kilns/service/index.ts';
import { Facts } from '../ui/panel.tsx';
import { LevelPlan, levelTitle, PlanKey } from './level-plan.tsx';
import { furnitureOf } from './load-geometry.ts';
import { thenWords } from './load-loading.tsx';
import {
  estimateFacts,
  floorsOfLoad,
  LoadSentence,
  LoadTitle,
  levelsOf,
  loadAddress,
  looksOf,
  PieceList,
} from './load-parts.tsx';
import { upper } from './load-words.ts';
import { floorName, floorWords, furnitureWords } from './plan-parts.tsx';
import { SideView } from './side-view.tsx';

interface Props {
  page: LoadPage;
  scheduleWord: string;
  studio: string;
  reader: LoadReader;
}

/** All of a load on paper: what to fetch, where everything stands, how it is fired. */
export function LoadSheetPage({ page, scheduleWord, studio, reader }: Props) {
  const { load, pieces } = page;
  const floors = floorsOfLoad(load);
  const lookOf = looksOf(pieces);
  const { schedule } = load;
  return (
    <div class="load-sheet">
      <LoadTitle load={load} />
      <p>
        {studio}, {load.kiln.name}. Printed {toWallTime(reader.now, reader.timeZone).replace('T', ' ')}.
      </p>
      <LoadSentence page={page} reader={reader} />
      <p class="row screen-only">
        <button class="plain" type="button" data-print>
          Print
        </button>
        <a class="plain" href={loadAddress(load.number)}>
          Back to load {load.number}
        </a>
      </p>
      <div class="sheet-head">
        <div>
          <SideView problem={load.problem} floors={floors} lookOf={lookOf} />
          <PlanKey
            problem={load.problem}
            floors={floors}
            looks={floors.flatMap(({ ids }) => ids).map(lookOf)}
          />
        </div>
        <div>
          <h2>Fetch</h2>
          <ul class="boxes">
            {furnitureWords(furnitureOf(load.problem, floors)).map((words) => (
              <li key={words}>{words}</li>
            ))}
          </ul>
          <h2>Before firing</h2>
          <ul class="boxes">
            {checksFor(load.kiln.power).map((check) => (
              <li key={check}>{CHECK_WORDS[check]}</li>
            ))}
          </ul>
        </div>
      </div>
      {levelsOf(floors).map((level) => (
        <section class="sheet-level" key={level[0]?.level}>
          <h2>{levelTitle(level)}</h2>
          <div>
            <LevelPlan
              problem={load.problem}
              floors={level}
              id={`plan-${level[0]?.level}`}
              controls={load.kiln.controls}
              opens={load.kiln.opens}
              lookOf={lookOf}
            />
          </div>
          <div>
            {level.map((floor) => (
              <div key={floor.part}>
                <p>
                  <b>{floorWords(floor)}.</b> {thenWords(load.problem, floor)}
                </p>
                {level.length > 1 && floor.ids.length === 0 && <p>{floorName(floor)} is empty.</p>}
                <PieceList floors={[floor]} pieces={pieces} />
              </div>
            ))}
          </div>
        </section>
      ))}
      <section class="sheet-end">
        <h2>
          {upper(scheduleWord)}: {schedule ? schedule.name : 'none chosen'}
        </h2>
        {schedule && (
          <ol>
            {schedule.segments.map((segment, i) => (
              <li key={i}>{segmentWords(segment)}</li>
            ))}
          </ol>
        )}
        <Facts items={estimateFacts(page, reader)} />
        <p>
          <b>{COOLING_CAUTION}</b> Lid shut until the pyrometer says so. Isolate the kiln and lock it off
          before reaching in. Gloves and eye protection when unloading: glaze edges cut.
        </p>
        {load.kiln.power === 'gas' && (
          <p>
            <b>Burners lit: never unattended. Carbon monoxide has no smell.</b> {load.kiln.emergency}
          </p>
        )}
        <p class="row print-only">
          <span class="blank">
            <small>loaded by</small>
          </span>
          <span class="blank">
            <small>checked by</small>
          </span>
          <span class="blank">
            <small>on call</small>
          </span>
        </p>
      </section>
    </div>
  );
}
