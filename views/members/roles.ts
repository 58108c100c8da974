import type { Option } from '../ui/field.tsx';

export const ROLE_OPTIONS: Option[] = [
  { value: 'member', label: 'Member', hint: 'checks, stirs, thins with water and dips' },
  { value: 'technician', label: 'Technician', hint: 'looks after buckets and recipes, invites members' },
  { value: 'manager', label: 'Manager', hint: 'also decides who is a technician or manager' },
];
