const HERE = 'http://here.invalid';

/** Where to go after signing in: `wanted` when it is a path of ours, else the first page. */
export function ownPath(wanted: unknown): string {
  if (typeof wanted !== 'string' || !wanted.startsWith('/') || !URL.canParse(wanted, HERE)) return '/';
  const { origin, pathname, search } = new URL(wanted, HERE);
  // A browser reads `//elsewhere` as another host, and `/.//elsewhere` becomes that once it is resolved.
  if (origin !== HERE || pathname.startsWith('//')) return '/';
  return pathname + search;
}
