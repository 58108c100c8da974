import { z } from 'zod';
import { type Endpoint, pages, read, write } from '../core/api.ts';
import { choice, flag } from '../core/forms.ts';
import { iso, isoOrNull } from '../core/json.ts';
import { ATMOSPHERES, FIRING_KINDS } from '../ware/firing.ts';
import { actsOnLoad, num, loadParams as params, part, time } from './api-acts.ts';
import { LOAD_STATES } from './load-fold.ts';
import * as kilns from './service/index.ts';

const use = z.object({ area: num, volume: num });

const loadAnswer = z.object({
  number: z.int(),
  /** Sent back with every change: a load that was changed since is not changed again unseen. */
  version: z.int(),
  state: z.enum(LOAD_STATES),
  kiln: z.string(),
  kind: z.enum(FIRING_KINDS),
  cone: z.string(),
  atmosphere: z.enum(ATMOSPHERES),
  schedule: z.int().nullable(),
  pieces: z.int(),
  use,
  /** What the packer proved: no plan of what waited then is worth more than its value; gap is how far this one may be. */
  bound: z.object({ value: num, gap: num }),
  startsAt: time.nullable(),
  freeAt: time.nullable(),
  proposedAt: time,
  approvedAt: time.nullable(),
  loadedAt: time.nullable(),
  startedAt: time.nullable(),
  shutOffAt: time.nullable(),
  openedAt: time.nullable(),
  unloadedAt: time.nullable(),
  cancelledAt: time.nullable(),
});

const footprint = z.discriminatedUnion('shape', [
  z.object({ shape: z.literal('circle'), diameterMm: num }),
  z.object({ shape: z.literal('rectangle'), widthMm: num, depthMm: num }),
]);

const pageAnswer = z.object({
  load: loadAnswer,
  levels: z.array(
    z.object({
      part,
      level: z.int(),
      baseMm: num,
      posts: z.array(num).nullable(),
      loadedAt: time.nullable(),
      photo: z.string().nullable(),
    }),
  ),
  pieces: z.array(
    z.object({
      number: z.int(),
      form: z.string(),
      footprint,
      heightMm: num,
      part,
      level: z.int(),
      xMm: num,
      yMm: num,
      zMm: num,
      turned: z.boolean(),
      trayMm: num,
      isRunny: z.boolean(),
      isIn: z.boolean().nullable(),
      pinnedTo: z.int().nullable(),
      isMine: z.boolean(),
      /** Only told to technicians and whoever owns it. */
      owner: z.string().nullable(),
    }),
  ),
  checks: z.array(
    z.object({
      check: z.enum(['cones', 'trays', 'flags', 'fumes', 'kiln', 'plan']),
      ok: z.boolean(),
      words: z.string(),
      pieces: z.array(z.int()),
    }),
  ),
  stillFits: z.array(z.object({ part, level: z.int(), circleMm: num, heightMm: num })),
  /** Waiting for the same firing and not in this load; only told to technicians. */
  notYetIn: z.array(z.object({ number: z.int(), isReady: z.boolean() })),
});

function loadJson(load: kilns.LoadInList): z.input<typeof loadAnswer> {
  return {
    number: load.number,
    version: load.version,
    state: load.state,
    kiln: load.kiln.code,
    ...load.firing,
    schedule: load.schedule?.number ?? null,
    pieces: load.pieceCount,
    use: load.use,
    bound: { value: load.bound.value, gap: load.bound.gap },
    startsAt: isoOrNull(load.startsAt),
    freeAt: isoOrNull(load.freeAt),
    proposedAt: iso(load.proposedAt),
    approvedAt: isoOrNull(load.approvedAt),
    loadedAt: isoOrNull(load.loadedAt),
    startedAt: isoOrNull(load.startedAt),
    shutOffAt: isoOrNull(load.shutOffAt),
    openedAt: isoOrNull(load.openedAt),
    unloadedAt: isoOrNull(load.unloadedAt),
    cancelledAt: isoOrNull(load.cancelledAt),
  };
}

function pageJson(page: kilns.LoadPage): z.input<typeof pageAnswer> {
  return {
    load: loadJson(page.load),
    levels: page.levels.map(({ part, level, baseMm, posts, tick }) => ({
      part,
      level,
      baseMm,
      posts,
      loadedAt: isoOrNull(tick?.at ?? null),
      photo: tick?.photo ?? null,
    })),
    pieces: page.pieces.map(({ pin, mine, glazes: _, clay: __, wantedBy: ___, ...piece }) => ({
      ...piece,
      pinnedTo: pin,
      isMine: mine,
    })),
    checks: page.checks.map(({ numbers, ...check }) => ({ ...check, pieces: numbers })),
    stillFits: page.fits,
    notYetIn: page.notYetIn.map(({ number, isReady }) => ({ number, isReady })),
  };
}

const group = z.object({
  kind: z.enum(FIRING_KINDS),
  cone: z.string(),
  atmosphere: z.enum(ATMOSPHERES),
  ready: z.int(),
  notReady: z.int(),
  oldestSince: time.nullable(),
  wantedBy: z.string().nullable(),
  inProposals: z.int(),
  takenBy: z.array(z.object({ load: z.int(), pieces: z.int() })),
  kilns: z.array(
    z.object({
      kiln: z.string(),
      share: num,
      reasons: z.array(z.object({ because: z.enum(['share', 'waited', 'date']), words: z.string() })),
      cannot: z.array(z.string()),
      proposed: z.array(z.int()),
    }),
  ),
});

const queue = read({
  path: '/loads/waiting',
  permission: 'loads.plan',
  summary: 'What waits by firing group, how full it would make each kiln, and why to propose a load now',
  whole: 'one for each kind, cone and atmosphere',
  answer: z.object({ groups: z.array(group) }),
  async run(asked) {
    const groups = await kilns.proposals(asked);
    return {
      groups: groups.map(({ firing, oldest, kilns: prospects, ...rest }) => ({
        ...firing,
        ...rest,
        oldestSince: isoOrNull(oldest),
        kilns: prospects.map(({ kiln, share, reasons, cannot, proposed }) => ({
          kiln: kiln.code,
          share,
          reasons,
          cannot,
          proposed,
        })),
      })),
    };
  },
});

const propose = write({
  path: '/loads/propose',
  permission: 'loads.plan',
  summary: 'Pack what is ready of a firing group into loads of one or more kilns; proposals reserve nothing',
  body: kilns.proposeForm,
  answer: z.object({
    loads: z.array(loadAnswer),
    unplaced: z.array(z.object({ piece: z.int(), reason: z.string() })),
  }),
  prepare(asked, { body }) {
    const { kind, cone, atmosphere, ...wish } = body;
    return kilns.prepareProposal(asked, { ...wish, firing: { kind, cone, atmosphere } });
  },
  async run(act, { prepared }) {
    const { loads } = await kilns.saveProposals(act, prepared);
    const made = await Promise.all(loads.map((number) => kilns.findLoad(act, number)));
    return {
      loads: made.map(loadJson),
      unplaced: prepared.unplaced.map(({ number, reason }) => ({ piece: number, reason })),
    };
  },
});

const list = pages({
  path: '/loads',
  permission: 'loads.see',
  summary: 'Loads, newest first',
  query: { state: choice(LOAD_STATES).optional() },
  page: { most: 100, usual: 50 },
  answer: z.object({ loads: z.array(loadAnswer), next: z.int().nullable() }),
  async run(asked, { query }) {
    const { state, limit, before } = query;
    const found = await kilns.listLoads(asked, { states: state && [state], before, limit: limit + 1 });
    const loads = found.slice(0, limit).map(loadJson);
    return { loads, next: found.length > limit ? (loads.at(-1)?.number ?? null) : null };
  },
});

const one = read({
  path: '/loads/:number',
  permission: 'loads.see',
  summary: 'A load: its levels, what stands where, the checks before approval and what still fits',
  params,
  whole: 'what one kiln holds',
  answer: pageAnswer,
  run: async (asked, { params: { number } }) => pageJson(await kilns.showLoad(asked, number)),
});

const onLoad = actsOnLoad(loadAnswer, loadJson);

const repack = write({
  path: '/loads/:number/repack',
  permission: 'loads.plan',
  summary: 'Pack a load anew from what it holds and what waits; pins stay, what was left out stays out',
  params,
  body: kilns.repackForm,
  status: 200,
  answer: loadAnswer,
  prepare: (asked, { params: { number }, body }) => kilns.prepareRepack(asked, number, body),
  async run(act, { params: { number }, prepared }) {
    await kilns.saveRepack(act, number, prepared);
    return loadJson(await kilns.findLoad(act, number));
  },
});

/** A level at once, by exception; its tick taken back; or the word that every level stands. */
const loadBody = z.discriminatedUnion('did', [
  z.strictObject({ did: z.literal('level'), ...kilns.levelForm.shape }),
  z.strictObject({ did: z.literal('reopen'), ...kilns.reopenForm.shape }),
  z.strictObject({ did: z.literal('finish'), ...kilns.finishForm.shape }),
]);

const load = onLoad(
  'load',
  'loads.load',
  'Tick a level of an approved load, all but what is named; take a tick back; or say that every level stands, with a note where a check is open',
  loadBody,
  (act, number, body) => {
    if (body.did === 'finish') return kilns.finishLoading(act, number, body);
    return body.did === 'reopen' ? kilns.reopenLevel(act, number, body) : kilns.loadLevel(act, number, body);
  },
);

const keepOut = z.strictObject({ ...kilns.pieceForm.shape, keepOut: flag().optional() });
const pinBody = z.strictObject({ ...kilns.pinForm.shape, level: kilns.pinForm.shape.level.nullable() });

export const loadsEndpoints: Endpoint[] = [
  queue,
  propose,
  list,
  one,
  onLoad(
    'approve',
    'loads.plan',
    'Approve a plan: its pieces are reserved',
    kilns.approveForm,
    kilns.approve,
  ),
  load,
  onLoad(
    'cancel',
    'loads.plan',
    'Cancel a load: its pieces wait again, place kept',
    kilns.cancelForm,
    kilns.cancel,
  ),
  onLoad('move', 'loads.plan', 'Move a piece to another place', kilns.moveForm, kilns.movePiece),
  onLoad('put-in', 'loads.plan', 'Put a waiting piece in', kilns.putInForm, kilns.putIn),
  onLoad(
    'take-out',
    'loads.plan',
    'Take a piece out; with keepOut it stays out when the load is packed again',
    keepOut,
    (act, number, { keepOut: stays, ...body }) =>
      stays ? kilns.leaveOut(act, number, body) : kilns.takeOut(act, number, body),
  ),
  onLoad(
    'pin',
    'loads.plan',
    'Pin a piece to a level; null unpins it',
    pinBody,
    (act, number, { level, ...body }) =>
      level === null ? kilns.unpin(act, number, body) : kilns.pin(act, number, { ...body, level }),
  ),
  onLoad(
    'schedule',
    'loads.plan',
    'Choose the firing schedule of a load',
    kilns.scheduleForm,
    kilns.chooseSchedule,
  ),
  repack,
];
