import type { VerbStanding } from '../../server/safety/service/inductions.ts';
import { Panel } from '../ui/panel.tsx';
import { Standings } from './inductions.tsx';
import { Caution } from './parts.tsx';

/** What holds in any studio, whatever is in the buckets; common practice, no source. */
const RULES: { title: string; lines: string[] }[] = [
  {
    title: 'Dust',
    lines: [
      'Clean wet: sponge, mop, hose. Never sweep, never brush a table, never blow.',
      'Wipe a spill while it is wet. Once dry it is dust.',
      'Dry powders, sanding and spraying: a respirator that was fitted to you, and the extraction on.',
      'Wash your apron often, and leave it here.',
    ],
  },
  {
    title: 'Hands and mouth',
    lines: [
      'No eating, drinking or smoking where clay and glaze are.',
      'Wash your hands when you stop, before you eat and before you go home.',
      'Cover cuts. Use gloves where a notice says so.',
    ],
  },
  {
    title: 'Lifting',
    lines: [
      'A full bucket of 25 L weighs some 37 kg: two people, or a trolley.',
      'Kiln shelves: one at a time, close to the body.',
    ],
  },
  {
    title: 'Machines',
    lines: [
      'A drill mixer only on a socket with a residual-current device, with dry hands and both feet on a dry floor.',
      'Hair tied up; no scarves, cords or loose sleeves at wheels, mixers and mills.',
    ],
  },
  {
    title: 'Eyes',
    lines: [
      'Know where the eyewash is. Something in the eye: rinse for 15 minutes, and have somebody fetch help.',
      'Dark eyewear made for heat when you look through a spy hole.',
      'Safety glasses when you grind or chip.',
    ],
  },
  {
    title: 'Kilns',
    lines: [
      'What was fired may be sharp: glaze drips cut like glass. Gloves, and grind them off.',
      'Keep what burns away from a kiln, and yourself as well while it is hot.',
    ],
  },
  {
    title: 'Water and waste',
    lines: [
      'Rinse tools in the rinse bucket of their glaze, never straight in the sink.',
      'The sink trap is emptied wet, and what is in it goes to the waste, not down a drain.',
    ],
  },
  {
    title: 'When something happens',
    lines: ['Help first. Then tell a technician and write it down, however small: nobody is blamed for it.'],
  },
];

/** The rules of every day, and whether whoever reads them was shown them. */
export function RulesPage({ own }: { own: VerbStanding | null }) {
  return (
    <>
      <h1>The common rules</h1>
      <p class="narrow">
        Common practice in any studio. You are shown them once a year; a bucket’s notice says only what goes
        beyond them.
      </p>
      {own && <Standings verbs={[own]} />}
      <div class="rules">
        {RULES.map(({ title, lines }) => (
          <Panel key={title} title={title}>
            <ul>
              {lines.map((line) => (
                <li key={line}>{line}</li>
              ))}
            </ul>
          </Panel>
        ))}
      </div>
      <p>
        <a href="/safety">Back to safety</a>
      </p>
      <Caution />
    </>
  );
}
