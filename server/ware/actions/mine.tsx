import type { FlashProps } from '../../../views/ui/panel.tsx';
import { MyWarePage } from '../../../views/ware/mine.tsx';
import { ownMessages, readAllMessages } from '../../core/messages.ts';
import { type Answer, go, page, type Visit } from '../../core/routes.ts';
import { arrangeOwn } from '../mine.ts';
import { numbersIn } from '../numbers.ts';
import { piecesWords } from '../presets.ts';
import { listOwn, listRacks, loadWords, MOVE_PATHS, type PieceNow, wareSettings } from '../service/index.ts';
import { upper } from '../words.ts';
import { DONE } from './done.ts';
import { readerOf } from './reader.ts';

const ON_A_PAGE = 200;

/** A member's own pieces and those of their groups, with what they were told since they last looked. */
export async function showMine(visit: Visit): Promise<Answer> {
  const { before } = visit.query;
  const pieces = await listOwn(visit.read, {
    limit: ON_A_PAGE + 1,
    ...(typeof before === 'string' && /^[1-9]\d{0,8}$/.test(before) && { before: Number(before) }),
  });
  const shown = pieces.slice(0, ON_A_PAGE);
  const [loads, news, settings, tooWet] = await Promise.all([
    loadWords(
      visit.read,
      shown.flatMap(({ load }) => load ?? []),
    ),
    ownMessages(visit.read),
    wareSettings(visit.read),
    tooWetOf(visit, shown),
  ]);
  const reader = readerOf(visit);
  return page(
    'My ware',
    'ware',
    <MyWarePage
      sections={arrangeOwn(shown, settings, visit.read.now)}
      settings={settings}
      loads={loads}
      tooWet={tooWet}
      unread={news.filter(({ readAt }) => readAt === null)}
      flash={flashOf(visit, reader.key)}
      older={pieces.length > ON_A_PAGE ? (shown.at(-1)?.number ?? null) : null}
      reader={reader}
    />,
  );
}

/** Numbers of what waits for its last coat to dry. */
async function tooWetOf(visit: Visit, shown: readonly PieceNow[]): Promise<Set<number>> {
  const mayBe = shown.some(({ nextCoat, glazes }) => nextCoat !== null && glazes.length > 0);
  const racks = mayBe ? await listRacks(visit.read, { everybody: false }) : [];
  const wet = racks.filter(({ wetness }) => wetness.asksWait);
  return new Set(wet.flatMap(({ pieces }) => pieces.map(({ number }) => number)));
}

/** What was just done, as the address says it; what was picked up by mistake is put back from here. */
export function flashOf(visit: Visit, key: string): FlashProps | null {
  const { did, pieces } = visit.query;
  const numbers = typeof pieces === 'string' ? numbersIn(pieces) : null;
  if (!numbers?.length || typeof did !== 'string') return null;
  const words = upper(piecesWords(numbers));
  if (did === 'registered')
    return {
      words: `${words} registered. Cut each number, or your mark, into the foot before it dries.`,
      more: { href: `/ware/tags?pieces=${spanOf(numbers)}`, label: 'Print tags' },
    };
  if (did === 'edit') return { words: `${words}: put right.` };
  const path = MOVE_PATHS.find((one) => one === did);
  if (path === undefined) return null;
  const [first, ...others] = numbers as [number, ...number[]];
  return {
    words: `${words}: ${DONE[path]}.`,
    ...(path === 'pick-up' && {
      undo: {
        action: `/ware/${first}/here-again`,
        label: 'No, it is still here',
        idempotencyKey: `${key}-undo`,
        fields: { also: others.join(',') },
      },
    }),
  };
}

/** '12-17' of numbers without a gap, as registering gives them; otherwise each. */
function spanOf(numbers: number[]): string {
  const [first = 0] = numbers;
  const isSpan = numbers.length > 1 && numbers.every((number, at) => number === first + at);
  return isSpan ? `${first}-${numbers.at(-1)}` : numbers.join(',');
}

/** Everything they were told counts as read. */
export async function readNews(visit: Visit): Promise<Answer> {
  await visit.act((act) => readAllMessages(act));
  return go('/ware');
}

/** The address that news is read at, opened by itself, leads to the ware. */
export const backToMine = async (): Promise<Answer> => go('/ware');
