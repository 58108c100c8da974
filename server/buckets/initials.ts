/** Letter under which a name stands: its first, without accents; '#' where it begins with none. */
function initialOf(name: string): string {
  return (
    name
      .trim()
      .normalize('NFD')
      .match(/^\p{L}/u)?.[0]
      .toUpperCase() ?? '#'
  );
}

/** The letters that these names begin with, in order. */
export function initialsOf(names: { name: string }[]): string[] {
  return [...new Set(names.map(({ name }) => initialOf(name)))].sort(new Intl.Collator('en').compare);
}

export const byInitial = <N extends { name: string }>(names: N[], initial: string): N[] =>
  names.filter(({ name }) => initialOf(name) === initial);
