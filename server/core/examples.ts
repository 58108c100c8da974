import { readFileSync } from 'node:fs';
import type { Endpoint } from './api.ts';
import type { Role } from './policy.ts';

/**
 * A request that works on the demo as it begins, and what it was answered: shown in the OpenAPI document, and sent
 * again by a test. Each feature keeps its own in `api-examples.json` beside its API. A list in an answer is cut to two.
 */
export interface Example {
  /** Whose token it is sent with; a manager's if left out. */
  as?: Role;
  /** What is sent before it, so that it can be: POSTs. */
  after?: { path: string; body: object }[];
  params?: Record<string, string | number>;
  query?: Record<string, string | number>;
  body?: object;
  answer: unknown;
}

export const exampleName = ({ method, path }: Pick<Endpoint, 'method' | 'path'>): string =>
  `${method} ${path}`;

/** The endpoints with their examples; throws where one has none, or an example is of none. */
export function withExamples(endpoints: Endpoint[], file: URL): Endpoint[] {
  const examples: Record<string, Example> = JSON.parse(readFileSync(file, 'utf8'));
  const names = endpoints.map(exampleName);
  for (const name of Object.keys(examples))
    if (!names.includes(name)) throw new Error(`There is an example of ${name}, which is no route.`);
  return endpoints.map((endpoint) => {
    const example = examples[exampleName(endpoint)];
    if (!example)
      throw new Error(`${exampleName(endpoint)} has no example in ${file.pathname.split('/').at(-2)}.`);
    return { ...endpoint, example };
  });
}
