import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { HOUR } from '../../server/core/clock.ts';
import { aLoadedKiln } from '../helpers/firing.ts';
import { aKiln } from '../helpers/kilns.ts';
import { aClay, aProposal, nothingIsWrong, ownGroup, pageOf, readyPieces } from '../helpers/loads.ts';
import { aStudio, PARTIAL, type Studio } from '../helpers/studio.ts';

let s: Studio;
beforeAll(async () => {
  s = await aStudio();
});

/** Nobody waits for the kiln of another round: each has its own, one in two with burners. */
const kilnLike = (a: number): Parameters<typeof aKiln>[1] => ({
  firers: [s.people.technician, s.people.manager],
  ...(a % 2 === 0 && { power: 'gas', kilowatts: undefined, emergency: 'Shut the cock first.' }),
});

/** A load to begin with: proposed, or standing in its kiln. */
async function aLoad([a, b]: readonly [number, number, boolean], clay: string): Promise<number> {
  const { cone, ...firing } = ownGroup();
  if (b % 3 > 0) return (await aLoadedKiln(s, { clay, cone, like: kilnLike(a) })).number;
  const kiln = (await aKiln(s, kilnLike(a))).code;
  await readyPieces(s, s.people.member, { for: 'glaze', clay, cone, howMany: 6 });
  return aProposal(s, { kiln, firing: { ...firing, cone } });
}

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
        ['/start', {}],
        ['/start', {}],
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
        const [first] = steps as [(typeof steps)[number]];
        const number = await aLoad(first, clay);
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
            ...chosen.map(([path, fields], at) => {
              const who = at ? manager : technician;
              // Its form asks for a yes to exactly what speaks against it.
              return path === '/start'
                ? s.api(who, 'POST', `/loads/${number}/start`, { note: 'In a hurry', confirm: true })
                : s.submit(who, base + path, fields, partial ? PARTIAL : {});
            }),
            ...looks.map((url, at) => s.visit(at === 1 ? member : technician, url)),
          ]);
          const asked = [...chosen.map(([path]) => `POST ${path}`), ...looks];
          for (const [at, answer] of answers.entries()) {
            expect(answer.statusCode, `${asked[at]} ${answer.body}`).toBeLessThan(500);
            seen.set(answer.statusCode, (seen.get(answer.statusCode) ?? 0) + 1);
          }
        }
        await nothingIsWrong(s);
      }),
      { numRuns: 3, endOnFailure: true },
    );
    // Most of it is let in, and loads get as far as the kiln.
    expect(seen.get(200) ?? 0).toBeGreaterThan(seen.get(404) ?? 0);
    expect(states.size).toBeGreaterThan(2);
  }, 120_000);
});
