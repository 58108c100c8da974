import type { Role } from '../server/core/policy.ts';

/** Fictional, and known to everybody who reads this: for a demo only. */
export const DEMO_PEOPLE = [
  { name: 'Maro', email: 'manager@millrace.example', password: 'lantern-over-the-weir', role: 'manager' },
  {
    name: 'Wren',
    email: 'technician@millrace.example',
    password: 'sieve-twice-stir-once',
    role: 'technician',
  },
  { name: 'Ida', email: 'member@millrace.example', password: 'three-bowls-on-a-shelf', role: 'member' },
  { name: 'Tomas', email: 'tomas@millrace.example', password: 'apron-by-the-back-door', role: 'member' },
  { name: 'Petra', email: 'petra@millrace.example', password: 'slow-wheel-early-tea', role: 'member' },
  { name: 'Lowell', email: 'lowell@millrace.example', password: 'handles-need-patience', role: 'member' },
  { name: 'Noor', email: 'noor@millrace.example', password: 'rainwater-in-the-yard', role: 'member' },
  { name: 'Jory', email: 'jory@millrace.example', password: 'thumbprint-on-the-rim', role: 'member' },
] as const satisfies { name: string; email: string; password: string; role: Role }[];

export type DemoName = (typeof DEMO_PEOPLE)[number]['name'];
