import { z } from 'zod';
import type { Act } from '../core/actor.ts';
import { type Endpoint, write } from '../core/api.ts';
import { whole } from '../core/json.ts';
import type { Permission } from '../core/policy.ts';
import * as kilns from './service/index.ts';

// What the JSON routes about loads have in common.

export const num = z.number();
export const time = z.iso.datetime();
export const part = z.enum(['full', 'left', 'right']);
export const loadParams = z.object({ number: whole(1, kilns.MOST) });

/** Acts on one load, each answered with the load as it is then. */
export const actsOnLoad =
  <A extends z.ZodType>(answer: A, json: (load: kilns.LoadNow) => z.input<A>) =>
  <B extends z.ZodType>(
    verb: string,
    permission: Permission,
    summary: string,
    body: B,
    run: (act: Act, number: number, body: z.output<B>) => Promise<void>,
  ): Endpoint =>
    write({
      path: `/loads/:number/${verb}`,
      permission,
      summary,
      params: loadParams,
      body,
      status: 200,
      answer,
      async run(act, { params: { number }, body: sent }) {
        await run(act, number, sent);
        return json(await kilns.findLoad(act, number));
      },
    });
