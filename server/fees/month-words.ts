const format = new Intl.DateTimeFormat('en-GB', { month: 'long', year: 'numeric', timeZone: 'UTC' });

/** '2026-03' → 'March 2026' */
export const monthWords = (period: string): string => format.format(Date.parse(`${period}-15T00:00:00Z`));
