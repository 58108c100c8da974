/** The first letter as a sentence begins. */
export const upper = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1);

/** '1 day', '3 days' */
export const daysWords = (count: number): string => `${count} ${count === 1 ? 'day' : 'days'}`;
