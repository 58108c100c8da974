import type { Act } from '../../core/actor.ts';
import { Conflict, Invalid } from '../../core/errors.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioDay } from '../../core/session.ts';
import { contentsOf, type Disposal, type InIt, needsPermission, takenOut } from '../container.ts';
import { disposalWords } from '../container-words.ts';
import * as store from '../store/containers.ts';
import type { Command } from './container-forms.ts';
import { whatIsIn } from './container-hazards.ts';
import { append, knownRecipes, mustBeThere, opened, permissionOf } from './container-ledger.ts';
import { logEntry } from './log.ts';

/**
 * Leaves the studio for good. Down a drain only what is of known materials, none of them classified, or what a manager
 * recorded a local permission for.
 */
export async function dispose(act: Act, code: string, command: Command<'dispose'>): Promise<number> {
  mustBeAllowed(act.actor, 'containers.dispose');
  const open = await opened(act, code, command);
  const { container } = open.row;
  const { litres, how, clear } = command;
  if (open.facts.portions.length === 0)
    throw new Conflict('There is nothing in it by its ledger. Record the level first.', 'litres');
  if (litres === 0 && open.facts.litres > 0)
    throw new Invalid([{ path: 'litres', message: 'How many litres?' }]);
  mustBeThere(act, open, litres);
  const leaving = { litres, solidsKg: clear ? 0 : null };
  const [recipes, permissions, today] = await Promise.all([
    knownRecipes(act, open.facts.portions),
    store.permissionsOf(act.tx, [container.id]),
    studioDay(act),
  ]);
  const [inIt] = (await whatIsIn(act, [open.facts.portions], recipes)) as [InIt];
  const permission = permissionOf(permissions, container.id, today);
  const asksPermission = how === 'drain' && needsPermission(inIt);
  if (asksPermission && !permission?.inForce) throw new Conflict(drainWords(inIt), 'how');
  const about = {
    byWhom: command.byWhom,
    contents: contentsOf(takenOut(open.facts, leaving), recipes),
    classes: inIt.classes,
    permittedBy: asksPermission ? (permission?.authority ?? null) : null,
  };
  const logNumber = await logEntry(act, {
    kind: 'waste',
    happenedAt: open.happenedAt,
    place: container.place,
    what: disposalWords(container, { how, ...about }),
    quantity: litres,
    quantityUnit: 'L',
    way: WAYS[how],
    ...(command.manifest !== undefined && { reference: command.manifest }),
  });
  return append(act, open, {
    note: command.note,
    payload: {
      kind: 'disposal',
      ...leaving,
      ...about,
      how,
      manifest: command.manifest ?? null,
      logEntry: logNumber,
    },
  });
}

/** A disposal as the safety log names it. */
const WAYS = {
  drain: 'other',
  carrier: 'collected',
  fired: 'fired-solid',
  landfill: 'taken-to-site',
} as const satisfies Record<Disposal, unknown>;

function drainWords({ classes, classified, unknown }: InIt): string {
  const why = [
    classified.length > 0 && `it holds classified materials: ${classified.join(', ')}`,
    classified.length === 0 && classes.length > 0 && `what is in it is classified: ${classes.join(', ')}`,
    unknown.length > 0 && `nobody has said what is known of: ${unknown.join(', ')}`,
  ].filter(Boolean);
  return `Not down a drain: ${why.join('; ')}. It needs a local permission for this container, recorded by a manager.`;
}
