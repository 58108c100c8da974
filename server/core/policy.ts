import { Forbidden } from './errors.ts';

export type Role = 'member' | 'technician' | 'manager';

const everyone: readonly Role[] = ['member', 'technician', 'manager'];
const technicians: readonly Role[] = ['technician', 'manager'];
const managers: readonly Role[] = ['manager'];
/** No role: a paired tablet holds these, whoever stands at it. */
const tablets: readonly Role[] = [];

/** Who may do what. Every route names one of these, or `public`; every use case checks its own. */
export const PERMISSIONS = {
  'own.page': everyone,
  /** One's second factor and one's own signing out: open to whoever must set that factor up first, too. */
  'own.sign-in': everyone,
  'own.tokens': everyone,

  'buckets.see': everyone,
  'buckets.record': everyone,
  /** Of what is recorded, readings: what an instrument can do by itself. */
  'buckets.measure': everyone,
  'buckets.add-water': everyone,
  'buckets.add-other': technicians,
  'buckets.take-out': technicians,
  'buckets.sieve': technicians,
  'buckets.set-up': technicians,
  'buckets.backdate-far': technicians,
  'buckets.void-own': everyone,
  'buckets.void-any': technicians,
  'buckets.stop-use': everyone,
  'buckets.return-to-service': technicians,
  'buckets.edit': technicians,
  'buckets.round': technicians,
  'buckets.export': technicians,

  'tiles.edit': technicians,
  'batches.edit': technicians,
  'files.see': everyone,

  'recipes.see': everyone,
  'recipes.edit': technicians,
  'gear.edit': technicians,
  'materials.see': everyone,
  'materials.edit': technicians,
  'stock.edit': technicians,

  'ware.own': everyone,
  'ware.see-all': technicians,
  /** Dry by hand, a technician's yes, returned, lost, whose it is. */
  'ware.decide': technicians,
  'ware.edit': technicians,

  'kilns.see': everyone,
  'kilns.edit': technicians,
  'kilns.care': technicians,
  'loads.see': everyone,
  'loads.plan': technicians,
  'loads.load': technicians,
  /** Start, readings, shut-off, opening; each kiln also names who may fire it. */
  'loads.fire': everyone,
  'firings.record': technicians,
  /** Of what is recorded of a firing, its log: what a controller can do by itself. */
  'firings.log': technicians,
  'faults.see': technicians,

  'safety.see': everyone,
  'safety.settings': managers,
  'notices.read': everyone,
  'notices.post': technicians,
  'inductions.give': technicians,
  'briefings.hold': everyone,
  'log.write': everyone,
  /** Personal health details, amendments, follow-ups, the register. */
  'log.keep': technicians,
  'duties.edit': technicians,
  'containers.see': everyone,
  'containers.edit': technicians,
  'containers.dispose': technicians,
  'containers.permit-drain': managers,
  'food.see': everyone,
  'food.record': technicians,

  /** One's own account, quotes and the price list. */
  'fees.own': everyone,
  'fees.see-all': technicians,
  /** Sales and payments at the counter; credits up to the studio's limit. */
  'fees.charge': technicians,
  'fees.pay': technicians,
  'fees.credit': technicians,
  /** Ruined shelves, credits beyond the limit, what others wrote. */
  'fees.decide': managers,
  'fees.close': managers,
  'fees.export': managers,
  'fees.settings': managers,
  'tariffs.edit': managers,

  'today.see': technicians,

  'people.see': technicians,
  'people.invite-member': technicians,
  'people.invite-staff': managers,
  'people.reset-member': technicians,
  'people.reset-staff': managers,
  'people.set-role': managers,
  'people.deactivate': managers,
  'people.end-factor': managers,
  'studio.edit': managers,

  /** Where other systems of the studio are told of changes. */
  'hooks.edit': managers,
  /** Whether mail goes out, and another try; the words of one's own only. */
  'mail.see': technicians,
  'mail.read': managers,

  'devices.edit': technicians,
  'tablet.see': tablets,
  /** The four verbs: stirred and dipping, check SG, add water, problem. */
  'tablet.act': tablets,
  /** What needs the four digits of the person it is done as. */
  'tablet.pin': tablets,
} as const satisfies Record<string, readonly Role[]>;

export type Permission = keyof typeof PERMISSIONS;

/**
 * What a token may be limited to: requests that only read, or that write, on routes of these permissions, as far as its
 * person holds them.
 */
export const SCOPES = {
  'buckets:read': { reads: ['buckets.see'] },
  /** For a scale or a hydrometer: readings and nothing else. */
  'buckets:record': { writes: ['buckets.measure'] },
  'ware:read': { reads: ['ware.own'] },
  'kilns:read': { reads: ['kilns.see', 'loads.see', 'loads.plan', 'faults.see'] },
  /** For a kiln's controller: the log of a firing and nothing else. */
  'kilns:log': { writes: ['firings.log'] },
  'materials:read': { reads: ['materials.see'] },
  'notices:read': { reads: ['notices.read'] },
  'safety:read': { reads: ['safety.see', 'containers.see', 'food.see'] },
  'fees:read': { reads: ['fees.own', 'fees.see-all', 'fees.export'] },
} as const satisfies Record<string, { reads?: readonly Permission[]; writes?: readonly Permission[] }>;

export type Scope = keyof typeof SCOPES;
export const SCOPE_NAMES = Object.keys(SCOPES) as [Scope, ...Scope[]];

/**
 * Whether a token's scopes let it use a route of this permission; null: it has no limits. A scope that this release
 * does not know opens nothing.
 */
export const isInScope = (
  scopes: readonly string[] | null,
  permission: Permission,
  how: { reads: boolean },
): boolean => scopes === null || scopesFor(permission, how).some((scope) => scopes.includes(scope));

/** The scopes of which any would do. */
export const scopesFor = (permission: Permission, { reads }: { reads: boolean }): Scope[] =>
  SCOPE_NAMES.filter((name) => {
    const scope: { reads?: readonly Permission[]; writes?: readonly Permission[] } = SCOPES[name];
    return (reads ? scope.reads : scope.writes)?.includes(permission) ?? false;
  });

export function may(role: Role, permission: Permission): boolean {
  return (PERMISSIONS[permission] as readonly Role[]).includes(role);
}

/** Whether a permission is held by a paired tablet instead of by somebody's role. */
export const isForTablets = (permission: Permission): boolean => PERMISSIONS[permission] === tablets;

export function mustBeAllowed(actor: { role: Role }, permission: Permission): void {
  if (!may(actor.role, permission)) {
    const who = (PERMISSIONS[permission] as readonly Role[]).includes('technician')
      ? 'technician'
      : 'manager';
    throw new Forbidden(`This needs a ${who}.`);
  }
}
