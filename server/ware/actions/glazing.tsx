import { type ComingCoat, GlazingPage } from '../../../views/ware/glazing.tsx';
import { type BucketNow, listBuckets } from '../../buckets/service/index.ts';
import { numberIn } from '../../core/param.ts';
import { type Answer, emptyForm, type FormState, page, type Visit } from '../../core/routes.ts';
import { benchStep } from '../bench-step.ts';
import { newlyMixed, suits } from '../gates.ts';
import { formWord } from '../presets.ts';
import { COAT_FACES, type CoatFace, nextCoat, type Route, type Wetness } from '../route.ts';
import {
  bisqueWarnings,
  coatAdvice,
  findRoute,
  listRunPairs,
  moveRefusal,
  type PieceNow,
  type RunPair,
  wallAtBench,
  wareSettings,
} from '../service/index.ts';
import { usualCoatMm, type WareSettings } from '../settings.ts';
import { flashOf } from './mine.tsx';
import { readerOf } from './reader.ts';
import { NO_PIECE } from './register.tsx';

/** One piece at the bench, with its batch. */
export async function showGlazing(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const number = numberIn(visit, 'number', NO_PIECE);
  const [{ piece, others, route, wetness }, buckets, settings] = await Promise.all([
    findRoute(visit.read, number),
    listBuckets(visit.read),
    wareSettings(visit.read),
  ]);
  const asked = askedFor(visit, form, route, buckets);
  const isRaw = piece.glazes.some(({ load }) => load === null);
  const step =
    moveRefusal('coat', piece) === null && (piece.stage !== 'waiting-glaze' || asked !== null)
      ? benchStep(route, wetness, { asked, isGlazed: isRaw, isWiped: piece.footAt !== null })
      : null;
  const [coming, warnings] = await Promise.all([
    step !== null && (step.do === 'coat' || step.do === 'wait')
      ? comingCoat(visit, { piece, route, wetness, settings, buckets, face: step.face, glaze: step.glaze })
      : null,
    bisqueWarnings(visit.read, [piece.id]),
  ]);
  const reader = readerOf(visit);
  return page(
    `Glaze piece ${piece.number}, ${formWord(piece.form)}`,
    'ware',
    <GlazingPage
      piece={piece}
      others={others}
      route={route}
      wetness={wetness}
      step={step}
      coming={coming}
      buckets={buckets}
      settings={settings}
      bisque={warnings.get(piece.id) ?? null}
      form={form}
      refused={form.errors.length > 0 ? lastPart(visit) : null}
      flash={flashOf(visit, reader.key)}
      reader={reader}
    />,
  );
}

/** Which act a form was sent to, by its address. */
const lastPart = (visit: Visit): string => visit.request.routeOptions.url?.split('/').at(-1) ?? '';

/** A coat that the address or a refused form names, where it is not the one that comes next anyhow. */
function askedFor(
  visit: Visit,
  { typed, errors }: FormState,
  route: Route,
  buckets: BucketNow[],
): { face: CoatFace; glaze: string | null } | null {
  const { coat, bucket } = errors.length > 0 ? { coat: typed.face, bucket: typed.bucket } : visit.query;
  const next = nextCoat(route);
  const face = COAT_FACES.find((one) => one === coat) ?? null;
  const code = buckets.find((one) => one.code === bucket)?.code ?? null;
  if (face === null && code === null) return null;
  const glaze = code ?? (next?.face === face ? next.glaze : null);
  if (next !== null && (face ?? next.face) === next.face && glaze === next.glaze) return null;
  return { face: face ?? next?.face ?? 'all', glaze };
}

interface Coming {
  piece: PieceNow;
  route: Route;
  wetness: Wetness;
  settings: WareSettings;
  buckets: BucketNow[];
  face: CoatFace;
  glaze: string | null;
}

/** The coat that goes on next, what to count for it, and what to know first. */
async function comingCoat(visit: Visit, of: Coming): Promise<ComingCoat> {
  const { piece, route, wetness, settings, buckets, face, glaze } = of;
  const bucket = buckets.find(({ code }) => code === glaze) ?? null;
  const isLast =
    nextCoat({ plan: route.plan, coats: [...route.coats, { face, glaze: glaze ?? '' }] }) === null;
  if (bucket === null) return { face, bucket, advice: null, warnings: [], isLast };
  const [advice, pairs] = await Promise.all([
    piece.clay === null
      ? null
      : coatAdvice(visit.read, {
          clayId: piece.clay.id,
          bucket: bucket.code,
          ...wallAtBench(piece, route, wetness, face, settings),
        }),
    listRunPairs(visit.read),
  ]);
  return {
    face,
    bucket,
    advice,
    warnings: warningsOf(of, bucket, advice?.wantedMm ?? null, pairs),
    isLast,
  };
}

function warningsOf(
  { piece, face, settings }: Coming,
  bucket: BucketNow,
  wantedMm: number | null,
  pairs: RunPair[],
): string[] {
  const { cones, verdict } = bucket;
  const coming = {
    bucket,
    face,
    coatMm: wantedMm ?? usualCoatMm(settings),
    scratchMm: null,
    // What lies under it says whether the two run.
    runsWith: [],
    load: null,
  };
  const mixed = newlyMixed(piece.glazes, [...piece.glazes, coming], settings);
  const raw = new Set(piece.glazes.flatMap((one) => (one.load === null ? (one.bucket?.code ?? []) : [])));
  const whys = pairs.filter(
    ({ a, b }) => (a.code === bucket.code && raw.has(b.code)) || (b.code === bucket.code && raw.has(a.code)),
  );
  return [
    ...(verdict.state === 'do-not-use'
      ? [`${bucket.name} is not to be used now: choose another one under “Another coat than this”.`]
      : []),
    ...(cones !== null && !suits(cones, piece.final)
      ? [
          `${bucket.name} is for cone ${cones.from}${cones.to === cones.from ? '' : ` to ${cones.to}`}; this piece goes to cone ${piece.final.cone}.`,
        ]
      : []),
    ...(mixed.length > 0
      ? [
          [
            `With this coat on: ${mixed.join('; ')}.`,
            ...whys.map(({ why }) => (/[.!?]$/.test(why) ? why : `${why}.`)),
            'A technician says yes to it first, or it stands on a tray in the kiln.',
          ].join(' '),
        ]
      : []),
  ];
}
