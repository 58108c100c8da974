import { shownDay } from '../../server/core/wall-time.ts';
import type { MaterialFacts } from '../../server/materials/facts.ts';
import { label } from '../../server/materials/hazards.ts';
import type { RegisteredMaterial, Sheet } from '../../server/materials/service/index.ts';
import { Pictograms } from '../safety/pictogram.tsx';
import { State } from '../ui/icons.tsx';

/** What a material is classified as, at a glance. Never a tick: no class shown does not mean harmless. */
export function Classification({ facts }: { facts: MaterialFacts }) {
  if (facts.classification === 'unknown') return <State state="needs-reading" words="Unknown" />;
  if (facts.classification === 'none') return <>Not classified by its sheet</>;
  const { signalWord, pictograms, hStatements } = label(facts.hazards);
  return (
    <div class="classed">
      <Pictograms codes={pictograms} size={36} />
      <span>
        {signalWord && <b>{signalWord} </b>}
        <span class="soft">{hStatements.join(', ')}</span>
      </span>
    </div>
  );
}

/** Where it stands with its safety data sheets. */
export function SheetState({ sheet }: Pick<RegisteredMaterial, 'sheet'>) {
  switch (sheet.state) {
    case 'none':
      return <State state="needs-reading" words="No sheet" />;
    case 'newer-exists':
      return <State state="too-thick" words="A newer one exists" />;
    case 'look-again':
      return <State state="stir-first" words={`Look again since ${shownDay(sheet.reviewOn)}`} />;
    case 'current':
      return (
        <State state="ready" words={sheet.reviewOn ? `Holds until ${shownDay(sheet.reviewOn)}` : 'Holds'} />
      );
  }
}

/** Whose sheet it is and of what date, leading to the file, which the browser saves. */
export function SheetLink({ sheet }: { sheet: Sheet }) {
  const { supplier, issuedOn, language, file } = sheet;
  const words = [supplier, issuedOn !== null && shownDay(issuedOn), language].filter(Boolean).join(', ');
  if (file === null) return <span>{words}</span>;
  return (
    <a href={`/files/${file}`} hx-boost="false" download>
      {words} (PDF)
    </a>
  );
}
