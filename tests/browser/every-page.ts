import { beforeAll, describe, expect, test } from 'vitest';
import { CONTAINER_ACTS } from '../../server/safety/container.ts';
import { ENTRY_KINDS } from '../../server/safety/log.ts';
import { anApp, aStudio, type Studio } from '../helpers/studio.ts';
import { audit } from './audit.ts';
import { type Door, inBrowser, PHONE, serve, type Visitor } from './browser.ts';
import { BATCHES } from './full-batches.ts';
import type { BenchThings } from './full-bench.ts';
import type { FeeThings } from './full-fees.ts';
import { KILNS, type KilnThings } from './full-kilns.ts';
import { CONTAINERS, type SafetyThings } from './full-safety.ts';
import { fillStudio, STATES, type Things } from './full-studio.ts';
import type { WareThings } from './full-ware.ts';

interface Look {
  route: string;
  who: 'manager' | 'member' | 'tablet' | 'nobody';
  at: (things: Things) => string[];
}

const look = (route: string, at: Look['at'] = () => [route], who: Look['who'] = 'manager'): Look => ({
  route,
  at,
  who,
});
const bucket = (path: string, codes: string[], who?: Look['who']): Look =>
  look(`/buckets/:code${path}`, () => codes.map((code) => `/buckets/${code}${path}`), who);

type Piece = keyof WareThings['pieces'] | keyof KilnThings['pieces'] | keyof BenchThings['pieces'];
const piece = (path: string, pieces: readonly Piece[], who?: Look['who']): Look =>
  look(
    `/ware/:number${path.replace(/\?.*/, '')}`,
    ({ ware, bench, kilns }) => {
      const numbers = { ...ware.pieces, ...kilns.pieces, ...bench.pieces };
      return pieces.map((one) => `/ware/${numbers[one]}${path}`);
    },
    who,
  );
const kiln = (path: string, codes: string[], who?: Look['who']): Look =>
  look(`/kilns/:code${path}`, () => codes.map((code) => `/kilns/${code}${path}`), who);
const load = (path: string, loads: (keyof KilnThings['loads'])[], who?: Look['who']): Look =>
  look(
    `/kilns/loads/:number${path}`,
    ({ kilns }) => loads.map((one) => `/kilns/loads/${kilns.loads[one]}${path}`),
    who,
  );

/** Pages of a thing that has a number of its own: materials, notices, entries of the log, tests. */
const numberedIn =
  <K extends 'materials' | 'notices' | 'entries' | 'tests'>(kind: K, route: string) =>
  (path: string, ones: (keyof SafetyThings[K])[], who?: Look['who']): Look =>
    look(
      `${route}${path}`,
      ({ safety }) => ones.map((one) => `${route.replace(/:\w+$/, '')}${String(safety[kind][one])}${path}`),
      who,
    );
const material = numberedIn('materials', '/materials/:id');
const notice = numberedIn('notices', '/notices/:number');
const entry = numberedIn('entries', '/safety/log/:number');
const leach = numberedIn('tests', '/safety/food/:number');
type FeeKind = 'accounts' | 'entries' | 'requests' | 'lists';
/** Pages of fees about what has a number. */
const feesIn =
  <K extends FeeKind>(kind: K, route: string) =>
  (path: string, ones: (keyof FeeThings[K])[], who?: Look['who']): Look =>
    look(
      `${route}/:number${path}`,
      ({ fees }) => ones.map((one) => `${route}/${String(fees[kind][one])}${path}`),
      who,
    );
const account = feesIn('accounts', '/fees/accounts');
const feeEntry = feesIn('entries', '/fees/entries');
const request = feesIn('requests', '/fees/requests');
const list = feesIn('lists', '/fees/prices');
const month = (path: string, months: (keyof FeeThings['months'])[]): Look =>
  look(`/fees/months/:period${path}`, ({ fees }) =>
    months.map((one) => `/fees/months/${fees.months[one]}${path}`),
  );
const statements = (accounts: (keyof FeeThings['accounts'])[], who?: Look['who']): Look =>
  look(
    '/fees/statements/:account/:period',
    ({ fees: { accounts: numbers, months } }) =>
      accounts.flatMap((one) =>
        [months.closed, months.last].map((period) => `/fees/statements/${numbers[one]}/${period}`),
      ),
    who,
  );
const container = (path: string, codes: string[], who?: Look['who']): Look =>
  look(`/containers/:code${path}`, () => codes.map((code) => `/containers/${code}${path}`), who);

const AT_BENCH = [
  'planned',
  'waxed',
  'lined',
  'weighed',
  'dried',
  'overlapped',
  'through',
  'scratched',
] as const satisfies Piece[];

const LOOKS: Look[] = [
  look('/sign-in', undefined, 'nobody'),
  look('/welcome/:secret', ({ welcome }) => [`/welcome/${welcome}`, '/welcome/not-one-of-ours'], 'nobody'),
  look('/reset/:secret', ({ reset }) => [`/reset/${reset}`, '/reset/not-one-of-ours'], 'nobody'),
  look('/me'),
  look('/me/second-factor'),
  look('/people'),
  look('/people/invite'),
  look('/studio'),
  look('/hooks'),
  look('/mail'),
  look('/me/told'),
  look('/guide/devices'),
  look('/today'),
  look('/wall', () => ['/wall', '/wall?sort=place', '/wall?state=ready&cone=6']),
  look('/wall', undefined, 'member'),
  look('/waiting', undefined, 'member'),
  look('/calculator', () => [
    '/calculator?litres=18&sg=1.4&aim=1.46&density=2.6&blend=1.7',
    '/calculator?value=92&scale=twaddell',
    '/calculator?litres=much',
  ]),
  look('/recipes'),
  look('/recipes/new'),
  look('/recipes/:id', ({ recipe }) => [`/recipes/${recipe}`, `/recipes/${recipe}?version=1`]),
  look('/recipes/:id/revise', ({ recipe }) => [`/recipes/${recipe}/revise`]),
  look('/round'),
  look('/round/check', () => [
    '/round/check',
    '/round/check?of=UNREAD.READY.LONG&at=1',
    '/round/check?of=LONG',
  ]),
  look('/round/done', () => ['/round/done?of=UNREAD.READY.LONG&since=0']),
  look('/round/sheet'),
  look('/round/entry', () => ['/round/entry', '/round/entry?all=yes']),
  look('/history', () => ['/history?bucket=LONG', '/history?from=2026-03-07&to=2026-03-06']),
  look('/history', () => ['/history?kind=settling'], 'member'),
  look('/gear'),
  look('/gear/:kind', () =>
    ['cups', 'scales', 'hydrometers', 'flow-cups', 'floats'].map((kind) => `/gear/${kind}`),
  ),
  look('/gear/floats/:code', () => ['/gear/floats/F1', '/gear/floats/BARE']),
  look('/gear/floats/:code/sheet', () => ['/gear/floats/F1/sheet', '/gear/floats/BARE/sheet'], 'member'),
  look('/buckets/new'),
  look('/buckets/retired'),
  bucket('', STATES),
  bucket('', STATES, 'member'),
  bucket('/check', ['READY', 'BARE']),
  look('/buckets/:code/check', () =>
    ['weighed', 'hydrometer', 'hydrometer&with=another', 'float'].map(
      (how) => `/buckets/READY/check?how=${how}`,
    ),
  ),
  bucket('/add', ['THIN']),
  bucket('/add', ['THICK'], 'member'),
  bucket('/dip', ['THICK']),
  bucket('/level', ['LONG']),
  bucket('/flow', ['READY', 'STIFF']),
  bucket('/settling', ['LONG', 'STIFF', 'READY']),
  bucket('/settling', ['STIFF'], 'member'),
  bucket('/additive', ['STIFF']),
  look('/buckets/:code/add', () => ['/buckets/LONG/add?what=rinse', '/buckets/RECLAIM/add?what=rinse']),
  bucket('/problem', ['READY']),
  bucket('/tag', ['STOP', 'READY']),
  look('/batches'),
  look('/batches/new', () => ['/batches/new', '/batches/new?bucket=MIXED']),
  look('/batches/:number', () => BATCHES.map((number) => `/batches/${number}`)),
  bucket('/tiles', ['READY', 'MIXED', 'BARE']),
  bucket('/tiles', ['READY'], 'member'),
  bucket('/tiles/new', ['READY', 'MIXED']),
  bucket('/ledger', ['LONG', 'BARE', 'MIXED']),
  look('/buckets/:code/events/:number/void', () => ['/buckets/THIN/events/1/void']),
  bucket('/service', ['STOP', 'MIXED']),
  bucket('/service', ['READY', 'STOP'], 'member'),
  bucket('/draw-off', ['THIN']),
  bucket('/sieve', ['READY']),
  bucket('/setup', ['READY']),
  bucket('/chart', ['LONG', 'READY']),
  bucket('/edit', ['LONG']),
  bucket('/label', ['LONG']),
  look('/labels', () => ['/labels', '/labels?code=READY&code=LONG&size=lid-sheet']),
  look('/devices'),
  look('/pair', undefined, 'nobody'),
  look('/pair', undefined, 'tablet'),
  look('/unpaired', undefined, 'nobody'),
  look('/tablet', ({ tablet }) => ['/tablet?paired', `/tablet?did=READY.${tablet.number}`], 'tablet'),
  look('/card/:secret', ({ tablet }) => [`/card/${tablet.card}`, '/card/not-one-of-ours'], 'tablet'),
  look(
    '/tablet/buckets/:code',
    () => ['READY', 'LONG', 'HUNG'].map((code) => `/tablet/buckets/${code}`),
    'tablet',
  ),
  ...['dip', 'check', 'water', 'problem', 'note', 'use'].map((act) =>
    look(
      `/tablet/buckets/:code/${act}`,
      ({ tablet: { as } }) => ['', `?as=${as}`].map((more) => `/tablet/buckets/THICK/${act}${more}`),
      'tablet',
    ),
  ),
  look(
    '/tablet/buckets/:code/take-back/:number',
    ({ tablet }) => [`/tablet/buckets/READY/take-back/${tablet.number}`],
    'tablet',
  ),

  look('/messages', undefined, 'member'),
  look('/ware', undefined, 'member'),
  look('/ware', ({ ware }) => [`/ware?did=pick-up&pieces=${ware.pieces.taken}`]),
  look('/ware/new', () => ['/ware/new', '/ware/new?form=cup', '/ware/new?form=other'], 'member'),
  piece('', ['asked', 'waiting', 'strange', 'returned', 'in-load', 'fired'], 'member'),
  piece('', ['drying', 'closed', 'flagged', 'lost', 'nameless', 'refire', 'left-behind']),
  piece('/edit', ['drying', 'made'], 'member'),
  piece('/glazes', ['bisqued', 'strange'], 'member'),
  piece('/hand-in', ['glazed'], 'member'),
  piece('/another-firing', ['fired'], 'member'),
  piece('/return', ['asked']),
  piece('/yes', ['strange']),
  piece('/flag', ['drying']),
  piece('/refire', ['fired']),
  piece('/left-behind', ['fired']),
  piece('/lost', ['drying']),
  piece('/assign', ['nameless']),
  piece('/measure', ['drying']),
  look('/ware/found', undefined, 'member'),
  look('/ware/found/new'),
  look('/ware/desk'),
  look('/ware/desk/find', () => ['/ware/desk/find?number=999999']),
  ...['dry', 'yes', 'fetch', 'no-name'].map((list) => look(`/ware/desk/${list}`)),
  look('/clays'),
  look('/clays', undefined, 'member'),
  look('/clays/new'),
  look('/clays/:id', ({ ware }) => [`/clays/${ware.clay}`]),
  look('/ware/glazes'),
  look('/ware/glazes/rule'),
  look('/ware/glazes/:code', () => ['/ware/glazes/LONG']),
  look('/ware/groups', undefined, 'member'),
  look('/ware/groups/household', undefined, 'member'),
  look('/ware/groups/class'),
  look('/ware/groups/:id', ({ ware }) => [`/ware/groups/${ware.household}`]),
  look('/ware/groups/:id', ({ ware }) => [`/ware/groups/${ware.household}`], 'member'),
  look('/ware/groups/:id/edit', ({ ware }) => [`/ware/groups/${ware.household}/edit`]),
  look('/ware/marks', undefined, 'member'),
  look('/ware/marks/all'),
  look('/ware/sheets', undefined, 'member'),
  look('/ware/sheets/grid', undefined, 'member'),
  look('/ware/sheets/height', undefined, 'member'),
  look('/ware/tags', ({ ware: { pieces } }) => [
    '/ware/tags',
    `/ware/tags?pieces=${pieces.made}-${pieces.made + 5},${pieces.drying}`,
  ]),
  look('/ware/settings'),
  look('/ware/runs'),
  look('/ware/runs', undefined, 'member'),
  look('/bench', () => ['/bench', '/bench?whose=everybody']),
  look('/bench', undefined, 'member'),
  look('/bench/poster', ({ bench: { pieces } }) => [
    '/bench/poster',
    `/bench/poster?piece=${pieces.planned}`,
  ]),
  look('/bench/coat', ({ bench: { clay, tile } }) => [
    '/bench/coat',
    ...['READY', 'LONG', 'THICK', 'THIN', 'UNREAD', 'FULL'].map(
      (of) => `/bench/coat?clay=${clay}&bucket=${of}`,
    ),
    `/bench/coat?clay=${clay}&bucket=READY&added=${tile}`,
  ]),
  look(
    '/bench/coat',
    ({ bench: { clay } }) => ['/bench/coat', `/bench/coat?clay=${clay}&bucket=READY`],
    'member',
  ),
  look('/bench/tiles/new', ({ bench: { clay, tile } }) => [
    '/bench/tiles/new',
    `/bench/tiles/new?clay=${clay}&bucket=READY&added=${tile}&area=60`,
  ]),
  look('/bench/tiles/:id/strike', ({ bench: { tile } }) => [`/bench/tiles/${tile}/strike`]),
  look('/clays/:id/bisque', ({ bench: { clay } }) => [`/clays/${clay}/bisque`]),
  look('/clays/:id/bisque', ({ bench: { clay } }) => [`/clays/${clay}/bisque`], 'member'),
  look('/clays/:id/bisque/:test/strike', ({ bench: { clay, test } }) => [
    `/clays/${clay}/bisque/${test}/strike`,
  ]),
  piece('/glazing', ['bisqued', ...AT_BENCH, 'fired'], 'member'),
  piece('/glazing', ['lined', 'scratched', 'weighed']),
  piece('/glazing?coat=over', ['bisqued', 'lined', 'through', 'scratched'], 'member'),
  piece('/glazing?coat=outside&bucket=LONG', ['bisqued', 'waxed', 'lined', 'through'], 'member'),
  piece('', AT_BENCH, 'member'),

  kiln('', KILNS),
  kiln('', ['ROUND', 'GAS'], 'member'),
  look('/kilns'),
  look('/kilns', undefined, 'member'),
  look('/kilns/calendar', () => ['/kilns/calendar', '/kilns/calendar?view=month']),
  look('/kilns/calendar/feed'),
  look('/kilns/calendar/feed', undefined, 'member'),
  load('/plan', ['proposed', 'approved', 'cancelled']),
  look('/kilns/new'),
  kiln('/edit', ['ROUND']),
  look('/kilns/:code/care', () =>
    ['ohms', 'shelf-cracked', 'note'].map((one) => `/kilns/ROUND/care?kind=${one}`),
  ),
  look('/kilns/:code/care/:number/void', () => ['/kilns/ROUND/care/2/void']),
  look('/kilns/settings'),
  look('/kilns/schedules'),
  look('/kilns/schedules', undefined, 'member'),
  look('/kilns/schedules/new', () => ['/kilns/schedules/new', '/kilns/schedules/new?kind=glaze&cone=6']),
  look('/kilns/schedules/:number', () => ['/kilns/schedules/4']),
  look('/kilns/schedules/:number/edit', () => ['/kilns/schedules/4/edit']),

  look('/kilns/loads'),
  look('/kilns/loads', undefined, 'member'),
  load('', ['proposed', 'stacked', 'approved', 'filling', 'gas', 'cooling', 'unloaded', 'cancelled']),
  load('', ['proposed', 'firing', 'unloaded'], 'member'),
  load('/sheet', ['proposed', 'filling']),
  look('/kilns/loads/:number/pieces/:piece', ({ kilns: { loads, pieceIn, leftOut }, ware }) =>
    [pieceIn.proposed, leftOut, ware.pieces.strange].map(
      (one) => `/kilns/loads/${loads.proposed}/pieces/${one}`,
    ),
  ),
  load('/load', ['approved', 'filling']),
  load('/check', ['loaded', 'gasLoaded']),
  load('/check', ['gasLoaded'], 'member'),
  load('/start', ['loaded', 'gasLoaded']),
  load('/readings', ['firing', 'cooling']),
  load('/readings', ['firing'], 'member'),
  load('/gas', ['gas']),
  load('/shut-off', ['firing', 'gas']),
  load('/open', ['cooling']),
  load('/strike-out', ['firing']),
  load('/cones', ['cooling', 'unloaded']),
  load('/unload', ['cooling']),
  load('/outcomes', ['unloaded']),
  look('/kilns/loads/:number/outcomes/:piece', ({ kilns: { loads, pieceIn } }) => [
    `/kilns/loads/${loads.unloaded}/outcomes/${pieceIn.unloaded}`,
  ]),
  load('/log', ['firing', 'unloaded']),
  look('/kilns/loads/:number/log/import', ({ kilns: { loads, logFile } }) => [
    `/kilns/loads/${loads.cooling}/log/import?file=${logFile}`,
  ]),
  load('/curve', ['unloaded', 'firing']),
  look('/kilns/faults', () => ['/kilns/faults', '/kilns/faults?outcome=crawl&days=365']),

  look('/safety'),
  look('/safety', undefined, 'member'),
  look('/recipes/:id/hazards', ({ recipe }) => [
    `/recipes/${recipe}/hazards`,
    `/recipes/${recipe}/hazards?version=1`,
  ]),
  bucket('/hazards', ['LONG', 'MIXED', 'READY', 'RECLAIM']),
  bucket('/hazards', ['LONG'], 'member'),
  bucket('/lots', ['MIXED', 'READY']),
  look('/buckets/:code/dip', () => ['/buckets/LONG/dip'], 'member'),
  look('/materials', () => ['/materials', '/materials?q=feldspar&show=all']),
  look('/materials', undefined, 'member'),
  look('/materials/new'),
  material('', ['full', 'bare', 'common', 'retired']),
  look('/materials/:id', ({ safety }) => [`/materials/${safety.materials.full}?version=1`]),
  material('', ['full'], 'member'),
  material('/edit', ['full', 'bare']),
  material('/sheets', ['full', 'bare', 'common']),
  material('/sheets', ['full'], 'member'),
  look('/stock'),
  look('/stock', undefined, 'member'),
  material('/stock', ['full', 'bare']),
  material('/stock', ['full'], 'member'),
  look('/materials/:id/stock/:number/void', ({ safety: { materials, stockRow } }) => [
    `/materials/${materials.full}/stock/${stockRow}/void`,
  ]),
  look('/materials/:id/lots/:number', ({ safety: { materials, lots } }) =>
    lots.map((lot) => `/materials/${materials.full}/lots/${lot}`),
  ),
  look('/notices'),
  look('/notices', undefined, 'member'),
  look('/notices/new', ({ safety }) => [
    '/notices/new',
    '/notices/new?bucket=LONG',
    `/notices/new?material=${safety.materials.full}`,
    '/notices/new?kiln=ROUND',
    '/notices/new?room=Spray+corner',
    '/notices/new?everywhere=yes',
  ]),
  notice('', ['bucket', 'material', 'kiln', 'room', 'everywhere', 'later', 'ended', 'withdrawn']),
  notice('', ['bucket', 'everywhere', 'withdrawn'], 'member'),
  notice('/print', ['bucket', 'kiln'], 'member'),
  notice('/edit', ['bucket', 'kiln', 'withdrawn']),
  notice('/readers', ['bucket', 'everywhere']),
  look(
    '/tablet/buckets/:code/notices/:number',
    ({ safety, tablet: { as } }) =>
      ['', `?as=${as}`].map((more) => `/tablet/buckets/LONG/notices/${safety.notices.bucket}${more}`),
    'tablet',
  ),
  look('/tablet/buckets/:code/dip', ({ tablet: { as } }) => [`/tablet/buckets/LONG/dip?as=${as}`], 'tablet'),
  look('/safety/rules', undefined, 'member'),
  look('/safety/rules'),
  look('/safety/inductions'),
  look('/safety/inductions/own', undefined, 'member'),
  look('/safety/inductions/new'),
  look('/safety/inductions/:id/void', ({ safety }) => [`/safety/inductions/${safety.induction}/void`]),
  look('/safety/briefings'),
  look('/safety/briefings/new'),
  look('/safety/briefings/:number', ({ safety }) => [`/safety/briefings/${safety.briefing}`]),
  look('/safety/briefings/:number', ({ safety }) => [`/safety/briefings/${safety.briefing}`], 'member'),
  look('/safety/briefings/:number/strike-out', ({ safety }) => [
    `/safety/briefings/${safety.briefing}/strike-out`,
  ]),
  look('/safety/settings'),
  look('/safety/log', () => ['/safety/log', '/safety/log?open=yes', '/safety/log?kind=spill']),
  look('/safety/log', undefined, 'member'),
  look('/safety/register', () => ['/safety/register', '/safety/register?from=2020-01-01']),
  look('/safety/log/new', () => [
    '/safety/log/new',
    ...ENTRY_KINDS.map((kind) => `/safety/log/new?kind=${kind}`),
  ]),
  look('/safety/log/new', () => ['/safety/log/new', '/safety/log/new?kind=spill&bucket=LONG'], 'member'),
  entry('', ['closed', 'open', 'late', 'struck', 'photo', 'air', 'wipe', 'check', 'waste']),
  entry('', ['closed', 'open', 'photo'], 'member'),
  entry('/amend', ['open']),
  entry('/amend', ['open'], 'member'),
  entry('/follow-up', ['photo']),
  entry('/close', ['open']),
  entry('/photo', ['photo']),
  look('/safety/duties'),
  look('/safety/duties', undefined, 'member'),
  look('/containers', () => ['/containers', '/containers?retired=yes']),
  look('/containers', undefined, 'member'),
  look('/containers/new', () => ['/containers/new', '/containers/new?bucket=LONG']),
  container('', CONTAINERS),
  container('', ['RLONG', 'RMIX'], 'member'),
  look('/containers/:code/record', () =>
    ['RLONG', 'RMIX', 'DRUM'].flatMap((code) =>
      CONTAINER_ACTS.map((what) => `/containers/${code}/record?kind=${what}`),
    ),
  ),
  container('/record', ['RLONG'], 'member'),
  look('/containers/:code/events/:number/void', () => ['/containers/RLONG/events/1/void']),
  container('/edit', ['RLONG', 'RMIX']),
  container('/permission', ['RLONG', 'DRUM']),
  look('/safety/food'),
  look('/safety/food', undefined, 'member'),
  look('/safety/food/new'),
  leach('', ['passed', 'failed', 'voided']),
  leach('/void', ['passed']),
  look('/safety/exposure', () => [
    '/safety/exposure',
    '/safety/exposure?asked=yes&substance=&limit=50&hours1=4&air1=30&basis1=measured',
  ]),

  look('/fees'),
  look('/fees', undefined, 'member'),
  look('/fees/accounts', () => ['/fees/accounts', '/fees/accounts?words=Bo', '/fees/accounts?owing=yes']),
  account('', ['owing', 'credit', 'household', 'nothing']),
  account('', ['owing', 'household'], 'member'),
  account('/pay', ['owing', 'credit']),
  account('/give-back', ['credit']),
  account('/charge', ['owing']),
  account('/credit', ['owing', 'nothing']),
  feeEntry('', ['charge', 'struck', 'strike', 'payment', 'credit', 'dues', 'firing']),
  feeEntry('', ['charge', 'struck'], 'member'),
  look('/fees/requests'),
  request('', ['damage', 'credit', 'yes', 'no']),
  look('/fees/quote', () => [
    '/fees/quote',
    '/fees/quote?widthMm=125&depthMm=85&heightMm=100&kind=glaze&cone=6&atmosphere=oxidation&count=3',
    '/fees/quote?widthMm=much',
  ]),
  look('/fees/quote', undefined, 'member'),
  look('/fees/loads/:number', ({ kilns: { loads } }) => [`/fees/loads/${loads.unloaded}`]),
  look('/fees/loads/:number', ({ kilns: { loads } }) => [`/fees/loads/${loads.unloaded}`], 'member'),
  look('/fees/prices'),
  look('/fees/prices', undefined, 'member'),
  look('/fees/prices/all'),
  look('/fees/prices/all', undefined, 'member'),
  look('/fees/prices/new', () => ['/fees/prices/new', '/fees/prices/new?from=1']),
  list('', ['inForce', 'later', 'odd', 'plain']),
  ...['', '/lines', '/factors', '/items'].map((part) => list(`/edit${part}`, ['odd', 'plain'])),
  look('/fees/prices/:number/preview', ({ fees: { lists, months } }) => [
    `/fees/prices/${lists.odd}/preview`,
    `/fees/prices/${lists.later}/preview?month=${months.closed}`,
  ]),
  list('/in-force', ['odd', 'plain']),
  look('/fees/settings'),
  look('/fees/dues'),
  look('/fees/months'),
  month('', ['closed', 'last', 'current']),
  month('/statements', ['closed', 'last']),
  look('/fees/reminders'),
  look('/fees/statements/:account', ({ fees: { accounts } }) => [
    `/fees/statements/${accounts.owing}`,
    `/fees/statements/${accounts.nothing}`,
  ]),
  look(
    '/fees/statements/:account',
    ({ fees: { accounts } }) => [`/fees/statements/${accounts.owing}`],
    'member',
  ),
  statements(['owing', 'household']),
  statements(['owing'], 'member'),
  look('/fees/export', () => ['/fees/export', '/fees/export?from=2020-01-01&to=2020-01-31']),
  look('/fees/overview'),
];

/** What has no page of its own: it leads to another, or is not for people. */
const LEADS_ON = [
  '/',
  // Without a half-done sign-in; with one it is looked at in second-factor.test.ts.
  '/sign-in/code',
  '/me/second-factor/:form',
  ...['stirs', 'dippings', 'top-ups', 'draw-offs', 'levels', 'notes', 'tags'].map(
    (path) => `/buckets/:code/${path}`,
  ),
  ...['accept', 'withdraw'].map((act) => `/buckets/:code/tiles/:number/${act}`),
  ...['weigh', 'take-back', 'countersign', 'use', 'abandon'].map((step) => `/batches/:number/${step}`),
  ...['drying', 'ask-dry', 'hole', 'pick-up', 'here-again', 'dry', 'unflag', 'claim'].map(
    (act) => `/ware/:number/${act}`,
  ),
  ...['plan', 'waxed', 'coat', 'weigh', 'strike-weighing', 'inside-dry', 'scratch'].map(
    (act) => `/ware/:number/${act}`,
  ),
  '/ware/runs/remove',
  '/ware/messages',
  '/ware/new/price',
  '/ware/glazes/rule/remove',
  '/ware/marks/:id/off',
  ...['retire', 'revive'].map((act) => `/clays/:id/${act}`),
  ...['people', 'remove', 'end'].map((act) => `/ware/groups/:id/${act}`),
  '/kilns/:code/retire',
  '/kilns/schedules/usual',
  '/kilns/schedules/:number/retire',
  ...['approve', 'cancel', 'repack', 'schedule', 'move', 'unpin', 'load/reopen', 'load/finish'].map(
    (act) => `/kilns/loads/:number/${act}`,
  ),
  ...['move', 'put-in', 'take-out', 'leave-out', 'pin', 'unpin'].map(
    (act) => `/kilns/loads/:number/pieces/:piece/${act}`,
  ),
  '/buckets/:code/rinse',
  '/containers/:code/retire',
  '/materials/common',
  '/materials/:id/retire',
  ...['read', 'withdraw'].map((act) => `/notices/:number/${act}`),
  '/safety/duties/usual',
  ...['done', 'end'].map((act) => `/safety/duties/:number/${act}`),
  '/fees/accounts/:number/class',
  '/fees/entries/:number/strike-out',
  '/fees/loads/:number/charge',
  '/fees/prices/:number/drop',
  ...['close', 'reopen'].map((act) => `/fees/months/:period/${act}`),
  '/fees/dues/charge',
  '/fees/dues/:id/end',
];
/** What such an address asks for is refused. */
const ODD = /not-one-of-ours|to=2026-03-06|999999|widthMm=much/;
const NO_PAGE =
  /^\/(api|assets|live|tablet\/live|me\/unread|offline\.js|files|healthz|readyz|history\.csv|safety\/log\.csv|fees\/export\/\w+\.csv|calendar)\b/;

/** Pages as they come back when nothing was filled in, each with the button that sends it. */
const REFUSED: [path: string, submit: string | RegExp, who: Look['who']][] = [
  ['/sign-in', 'Sign in', 'nobody'],
  ['/me/second-factor', /^Show me the key/, 'manager'],
  ['/buckets/new', /^Make this bucket/, 'manager'],
  ['/recipes/new', 'Save recipe', 'manager'],
  ['/gear/cups', 'Add this cup', 'manager'],
  ['/gear/floats/BARE', 'Calibrate', 'manager'],
  ['/batches/new', 'Make the sheet', 'manager'],
  ['/buckets/MIXED/tiles/new', 'Add this tile', 'manager'],
  ['/buckets/READY/check?how=float', 'Record', 'member'],
  ['/people/invite', 'Make the invitation', 'manager'],
  ['/buckets/READY/check', 'Record', 'member'],
  ['/buckets/READY/setup', 'Record', 'manager'],
  ['/round/check?of=READY', 'Record and finish', 'manager'],
  ['/round/entry', 'Record them', 'manager'],
  ['/buckets/READY/flow', 'Record the flow', 'member'],
  ['/buckets/READY/settling', 'Record', 'member'],
  ['/buckets/STIFF/settling', 'Record the second', 'member'],
  ['/buckets/STIFF/additive', /^Record what went in/, 'manager'],
  ['/ware/new?form=cup', 'Register', 'manager'],
  ['/ware/found/new', 'Put it on the shelf', 'manager'],
  ['/ware/{bisqued}/glazes', 'It is glazed already', 'member'],
  ['/ware/{glazed}/hand-in', 'Hand it in', 'member'],
  ['/ware/{drying}/flag', 'Keep it back', 'manager'],
  ['/ware/marks', 'Add this mark', 'member'],
  ['/clays/new', 'Add this clay', 'manager'],
  ['/clays/{clay}/bisque', 'Keep this test', 'manager'],
  ['/bench/tiles/new', 'Keep it, next tile', 'manager'],
  ['/bench/tiles/{tile}/strike', /^Strike/, 'manager'],
  ['/ware/runs', 'They run together', 'manager'],
  ['/ware/{weighed}/glazing', 'That is its weight', 'member'],
  ['/ware/groups/class', 'Make this class', 'manager'],
  ['/kilns/new', 'Make this kiln', 'manager'],
  ['/kilns/ROUND/care?kind=ohms', 'Note it', 'manager'],
  ['/kilns/loads/{proposed}/plan', 'Put it there', 'manager'],
  ['/kilns/loads/{filling}/load', /^Level \d.* is in/, 'manager'],
  ['/kilns/loads/{loaded}/start', /^Start load/, 'manager'],
  ['/kilns/loads/{gas}/gas', /^Write this line/, 'manager'],
  ['/kilns/loads/{cooling}/open', 'Write it down', 'manager'],
  ['/kilns/loads/{cooling}/unload', /^It is empty/, 'manager'],
  ['/kilns/loads/{cooling}/log', /^Look at it/, 'manager'],
  ['/materials/new', 'Save material', 'manager'],
  ['/materials/{full}/sheets', 'Keep this sheet', 'manager'],
  ['/materials/{full}/stock/1/void', 'Strike it out', 'manager'],
  ['/notices/new?room=Attic', /^Post it/, 'manager'],
  ['/notices/{bucket}', /^That is so/, 'member'],
  ['/safety/inductions/new', 'Note it', 'manager'],
  ['/safety/briefings/new', /^I have briefed them/, 'manager'],
  ['/safety/log/new?kind=spill', /^Put it into the log/, 'member'],
  ['/safety/log/new?kind=air', /^Put it into the log/, 'manager'],
  ['/safety/log/{photo}/follow-up', 'Hand it over', 'manager'],
  ['/safety/log/{open}/close', 'Close it', 'manager'],
  ['/containers/new', 'Put it up', 'manager'],
  ['/containers/RLONG/record?kind=dispose', /^Record the disposal/, 'manager'],
  ['/containers/RLONG/permission', /permission/, 'manager'],
  ['/safety/food/new', 'Keep it', 'manager'],
  ['/fees/accounts/{owing}/pay', /^Record this payment/, 'manager'],
  ['/fees/accounts/{owing}/charge', /^Charge this/, 'manager'],
  ['/fees/accounts/{owing}/credit', /^Credit this/, 'manager'],
  ['/fees/requests/{damage}', 'Answer', 'manager'],
  ['/fees/prices/new', 'Make a draft', 'manager'],
  ['/fees/prices/{odd}/in-force', 'Put it in force', 'manager'],
];

/** An address with a number in place of what is odd about its piece, load, material, notice, entry or account. */
const numbered = (
  path: string,
  { ware, bench, kilns, safety: { materials, notices, entries }, fees }: Things,
): string => {
  const numbers: Record<string, number> = {
    ...{ ...fees.lists, ...fees.accounts, ...fees.requests },
    ...{ ...materials, ...notices, ...entries },
    ...{ ...ware.pieces, ...kilns.pieces, ...kilns.loads },
    ...{ clay: bench.clay, tile: bench.tile, weighed: bench.pieces.weighed },
  };
  return path.replace(/\{([\w-]+)\}/, (_, name) => String(numbers[name]));
};

/** Two halves of about as many pages, for two workers: what members make and fire, and all the rest. */
const FIRED = /^\/(ware|bench|clays|kilns|safety|containers|fees)\b/;

type Half = 'the wall' | 'the kilns';

/** Looks at every page of one half of the product, each as it can be met. */
export function everyPage(half: Half): void {
  const isHere = (path: string): boolean => FIRED.test(path) === (half === 'the kilns');
  inBrowser(`every page around ${half}`, (door) => looks(door, isHere));
}

function looks(door: Door, isHere: (path: string) => boolean): void {
  let studio: Studio;
  let site: string;
  let things: Things;
  beforeAll(async () => {
    studio = await aStudio();
    site = await serve(studio.app);
    things = await fillStudio(studio);
  });
  /** Windows that stay open from look to look: a new one takes longer than the look. */
  const open = new Map<Look['who'], Promise<Visitor>>();
  const enter = async (who: Look['who'], refusals: number[]): Promise<Visitor> => {
    const whose = { ...studio.people, tablet: things.tablet, nobody: undefined };
    const found = open.get(who) ?? door(site, PHONE, whose[who], { stays: true });
    open.set(who, found);
    const visitor = await found;
    visitor.faults.length = 0;
    visitor.expectRefusals(...refusals);
    return visitor;
  };

  test.for(LOOKS.filter(({ route }) => isHere(route)))(
    '$route can be used by everybody, as $who',
    async ({ at, who }) => {
      const paths = at(things);
      const isOdd = paths.some((path) => ODD.test(path));
      const visitor = await enter(who, isOdd ? [404, 422] : []);
      const complaints: string[] = [];
      for (const path of paths) {
        await visitor.open(path);
        // To the scripts such a field stands for the form that it is in.
        expect(await visitor.page.locator('form [name=form]').count(), 'fields called "form"').toBe(0);
        complaints.push(...(await audit(visitor)).map((complaint) => `${path} ${complaint}`));
        complaints.push(...visitor.faults.splice(0));
      }
      expect(complaints).toEqual([]);
    },
  );

  test.for(REFUSED.filter(([path]) => isHere(path)))(
    '%s as it comes back refused',
    async ([path, submit, who]) => {
      const visitor = await enter(who, [409, 422]);
      await visitor.open(numbered(path, things));
      await visitor.press(submit, visitor.page.locator('main'));
      await visitor.heading(/needs? another look/);
      expect([...(await audit(visitor)), ...visitor.faults]).toEqual([]);
    },
  );

  // What is of no half in particular is looked at once.
  if (!isHere('/')) return;

  test('is looked at here', async () => {
    const pages = studio.routes.filter(({ method, url }) => method === 'GET' && !NO_PAGE.test(url));
    const looked = new Set(['/setup', ...LEADS_ON, ...LOOKS.map(({ route }) => route)]);
    expect([...new Set(pages.map(({ url }) => url))].sort()).toEqual([...looked].sort());
    for (const url of LEADS_ON) {
      const answer = await studio.visit(
        studio.people.manager,
        url
          .replace(':code', 'READY')
          .replace(':period', '2026-01')
          .replaceAll(/:(number|id|piece)/g, '1'),
      );
      expect(answer.statusCode, url).toBe(303);
    }
  });

  test('the bucket after an act, and errors', async () => {
    const visitor = await enter('member', [403, 404]);
    await visitor.open('/buckets/READY');
    await visitor.press(/^Stirred, dipping/);
    await visitor.sees('Recorded:');
    expect(await audit(visitor)).toEqual([]);
    for (const path of ['/buckets/NOBODY', '/gear', '/ware/999999']) {
      await visitor.open(path);
      expect(await audit(visitor)).toEqual([]);
    }
    expect(visitor.faults).toEqual([]);
  });

  test('/setup', async () => {
    const { app } = await anApp();
    const first = await door(await serve(app), PHONE);
    await first.open('/setup');
    expect(await audit(first)).toEqual([]);
  });

  describe('a studio that has nothing yet', () => {
    let visitor: Visitor;
    let treasurer: Visitor;
    beforeAll(async () => {
      const empty = await aStudio();
      const address = await serve(empty.app);
      visitor = await door(address, PHONE, empty.people.technician, { stays: true });
      treasurer = await door(address, PHONE, empty.people.manager, { stays: true });
    });

    test.for([
      '/today',
      '/wall',
      '/recipes',
      '/gear',
      '/gear/floats',
      '/round',
      '/history',
      '/buckets/new',
      '/buckets/retired',
      '/ware',
      '/ware/desk',
      '/ware/runs',
      '/bench',
      '/bench/coat',
      '/bench/tiles/new',
      '/kilns',
      '/kilns/loads',
      '/kilns/calendar',
      '/kilns/faults',
      '/messages',
      '/safety',
      '/materials',
      '/stock',
      '/notices',
      '/containers',
      '/safety/log',
      '/safety/duties',
      '/safety/food',
      '/safety/inductions',
      '/fees',
      '/fees/prices',
      '/fees/quote',
      '/fees/accounts',
      '/fees/requests',
    ])('%s', async (path) => {
      await visitor.open(path);
      expect([...(await audit(visitor)), ...visitor.faults.splice(0)]).toEqual([]);
    });

    test.for([
      '/fees/prices',
      '/fees/prices/all',
      '/fees/dues',
      '/fees/months',
      '/fees/reminders',
      '/fees/overview',
      '/fees/export',
    ])('%s, for the treasurer', async (path) => {
      await treasurer.open(path);
      expect([...(await audit(treasurer)), ...treasurer.faults.splice(0)]).toEqual([]);
    });
  });
}
