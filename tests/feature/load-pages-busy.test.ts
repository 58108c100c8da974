import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { HOUR } from '../../server/core/clock.ts';
import { listLoads } from '../../server/kilns/service/index.ts';
import { aKiln } from '../helpers/kilns.ts';
import { aClay, aProposal, nothingIsWrong, ownGroup, pageOf, readAs, readyPieces } from '../helpers/loads.ts';
import { aStudio, PARTIAL, type Studio } from '../helpers/studio.ts';

let s: Studio;
let kilns: string[];
beforeAll(async () => {
  s = await aStudio();
  const firers = [s.people.technician, s.people.manager];
  kilns = [
    (await aKiln(s, { firers })).code,
    (await aKiln(s, { like: 'front', power: 'gas', emergency: 'Gas tap by the door', firers })).code,
  ];
});

const PAGES = `/sheet /load /check /start /readings /gas /shut-off /open /cones /unload /outcomes /log /curve /plan`;
const LOOKS = ['', ...PAGES.split(' ')];
const AROUND = ['/kilns', '/kilns/loads', '/kilns/calendar', '/kilns/faults', '/today', '/ware/desk'];

type Acts = [path: string, fields: Record<string, string>];
type Page = Awaited<ReturnType<typeof pageOf>>;

/** What may be done with a load as it was seen a moment ago, most of it what its state asks for. */
function actsOn({ load, levels, pieces, events }: Page, a: number): Acts[] {
  const version = String(load.version);
  const piece = String(pieces[a % Math.max(1, pieces.length)]?.number ?? 1);
  const open = levels.find(({ tick }) => tick === null) ?? levels[0];
  const shelf = { part: open?.part ?? 'full', level: String(open?.level ?? 1) };
  const strike: Acts = [
    '/strike-out',
    { event: String(events[a % events.length]?.number ?? 1), reason: 'No' },
  ];
  const inIt: Acts[] = [
    ['/take-out', { version }],
    ['/leave-out', { version }],
    ['/put-in', { version }],
    ['/pin', { version, level: '1' }],
    ['/move', { version, ...shelf, xMm: String(a % 300), yMm: '0' }],
  ].map(([path, fields]) => [`/pieces/${piece}${path}`, fields] as Acts);
  switch (load.state) {
    case 'proposed':
      return [['/approve', { version }], ['/approve', { version }], ['/repack', { version }], ...inIt];
    case 'approved':
      return [
        ['/load', { ...shelf, why: 'Dark' }],
        ['/load', { ...shelf, why: 'Dark', notIn: piece }],
      ].concat([
        ['/load/finish', { note: 'So be it' }],
        ['/load/reopen', shelf],
        ['/cancel', { reason: 'So it goes' }],
        ...inIt,
      ] as never) as Acts[];
    case 'loaded':
      return [
        ['/check', { posts: 'yes', onCall: 'Wren' }],
        ['/start', { note: 'In a hurry', confirm: 'yes' }],
        ['/cancel', { reason: 'So it goes' }],
      ];
    case 'firing':
      return [
        ['/readings', { celsius: String(a) }],
        ['/gas', { topC: String(a), bottomC: '900', reduction: 'begins' }],
        ['/shut-off', { celsius: '1200' }],
        strike,
      ];
    case 'cooling':
      return [
        ['/readings', { celsius: String(a % 200) }],
        ['/open', { celsius: '40', how: 'opened', confirm: 'yes' }],
        ['/unload', { celsius: '30', confirm: 'yes', [`outcome-${piece}`]: 'crack' }],
        strike,
      ];
    default:
      return [[`/outcomes/${piece}`, { outcome: 'crawl', note: 'Hm' }], strike];
  }
}

describe('pages of loads while others are at work on them', () => {
  it('none fails, whatever happens between its questions', async () => {
    const clay = await aClay(s);
    const { technician, manager, member } = s.people;
    const seen = new Map<number, number>();
    const states = new Set<string>();
    const step = fc.tuple(fc.nat(1300), fc.nat(1300), fc.boolean());
    await fc.assert(
      fc.asyncProperty(fc.array(step, { minLength: 12, maxLength: 30 }), async (steps) => {
        const firing = ownGroup();
        await readyPieces(s, member, { for: 'glaze', clay, cone: firing.cone, howMany: 6 });
        const number = await aProposal(s, { kiln: kilns[(steps[0]?.[0] ?? 0) % 2] as string, firing });
        for (const [a, b, partial] of steps) {
          s.clock.forward(HOUR / 4);
          const page = await pageOf(s, number);
          states.add(page.load.state);
          const acts = actsOn(page, a).filter(([path]) => path !== '/repack');
          const chosen = [acts[a % acts.length], acts[b % acts.length]].flatMap((one) => (one ? [one] : []));
          const base = `/kilns/loads/${number}`;
          const piece = page.pieces[b % Math.max(1, page.pieces.length)]?.number ?? 1;
          const looks = [
            ...[a, b, a + b].map((one) => `${base}${LOOKS[one % LOOKS.length]}`),
            `${base}/pieces/${piece}`,
            AROUND[b % AROUND.length] as string,
          ];
          const answers = await Promise.all([
            ...chosen.map(([path, fields], at) =>
              s.submit(at ? manager : technician, base + path, fields, partial ? PARTIAL : {}),
            ),
            ...looks.map((url, at) => s.visit(at === 1 ? member : technician, url)),
          ]);
          const asked = [...chosen.map(([path]) => `POST ${path}`), ...looks];
          for (const [at, answer] of answers.entries()) {
            expect(answer.statusCode, `${asked[at]} ${answer.body}`).toBeLessThan(500);
            seen.set(answer.statusCode, (seen.get(answer.statusCode) ?? 0) + 1);
          }
        }
        await nothingIsWrong(s);
        for (const { number } of await listLoads(readAs(s, technician), {
          states: ['proposed', 'approved', 'loaded'],
        }))
          await s.submit(technician, `/kilns/loads/${number}/cancel`, { reason: 'End of the day' });
      }),
      { numRuns: 3, endOnFailure: true },
    );
    // Most of it is let in, and loads get as far as the kiln.
    expect(seen.get(200) ?? 0).toBeGreaterThan(seen.get(404) ?? 0);
    expect([...states]).toContain('approved');
  }, 120_000);
});
