import { Forbidden } from './errors.ts';

export type Role = 'member' | 'technician' | 'manager';

const everyone: readonly Role[] = ['member', 'technician', 'manager'];
const technicians: readonly Role[] = ['technician', 'manager'];
const managers: readonly Role[] = ['manager'];

/** Who may do what. Every route names one of these, or `public`; every use case checks its own. */
export const PERMISSIONS = {
  'own.page': everyone,
  'own.tokens': everyone,

  'buckets.see': everyone,
  'buckets.record': everyone,
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

  'recipes.see': everyone,
  'recipes.edit': technicians,
  'gear.edit': technicians,

  'today.see': technicians,

  'people.see': technicians,
  'people.invite-member': technicians,
  'people.invite-staff': managers,
  'people.reset-member': technicians,
  'people.reset-staff': managers,
  'people.set-role': managers,
  'people.deactivate': managers,
  'studio.edit': managers,
} as const satisfies Record<string, readonly Role[]>;

export type Permission = keyof typeof PERMISSIONS;

export function may(role: Role, permission: Permission): boolean {
  return (PERMISSIONS[permission] as readonly Role[]).includes(role);
}

export function mustBeAllowed(actor: { role: Role }, permission: Permission): void {
  if (!may(actor.role, permission)) {
    const who = (PERMISSIONS[permission] as readonly Role[]).includes('technician')
      ? 'technician'
      : 'manager';
    throw new Forbidden(`This needs a ${who}.`);
  }
}
