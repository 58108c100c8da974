import { beforeAll, describe, expect, it } from 'vitest';
import { aStudio, PARTIAL, type Studio } from '../helpers/studio.ts';

let studio: Studio;
beforeAll(async () => {
  studio = await aStudio();
});
const ask = (query: string, headers = {}) =>
  studio.visit(studio.people.member, `/calculator${query}`, headers);
const words = (html: string) => html.replace(/<[^>]+>/g, ' ').replace(/\s+/g, ' ');

describe('the calculator', () => {
  it('asks before it answers', async () => {
    const { statusCode, body } = await ask('');
    expect(statusCode).toBe(200);
    expect(body).not.toContain('class="errors"');
    expect(body).toContain('imperial pint');
  });

  it('gives every way, and keeps what was typed', async () => {
    // 18 L · (1.52 − 1.46)/(1.46 − 0.99821) = 2.34 L.
    const { body } = await ask('?litres=18&sg=1,52&aim=1.46&density=2.6');
    expect(words(body)).toContain(
      'Add 1.75 L of water, stir, check again: three and a half half-litre jugs; about 2.3 L in all brings it to 1.46.',
    );
    expect(body).toContain('value="1,52"');
    const thin = words((await ask('?litres=18&sg=1.42&aim=1.46&density=2.6&blend=1.7')).body);
    for (const way of ['Blend in', 'Let it settle', 'Mix in']) expect(thin).toContain(way);
    expect(words((await ask('?litres=18&sg=1.52&aim=1.46&density=2.6&capacity=19')).body)).toMatch(
      /Take [\d.]+ L of slurry out first/,
    );
    expect(words((await ask('?litres=18&sg=1.46&aim=1.46&density=2.6')).body)).toContain('nothing to do');
  });

  it('converts, and says which pint', async () => {
    // °Baumé of modulus 145: 145 − 145/1.5 = 48.3.
    const text = words((await ask('?value=1.5&scale=sg')).body);
    expect(text).toContain('Degrees Baumé, modulus 145 48.3 °Bé');
    expect(text).toContain('Ounces per imperial pint (568 mL) 30.07 oz');
    expect(text).toContain('Ounces per US pint (473 mL) 25.04 oz');
  });

  it.each([
    ['?litres=18&sg=9&aim=1.46&density=2.6', 'Between 1 and 4.'],
    ['?litres=18&sg=1.5&aim=2.7&density=2.6', 'below that of the dry solids'],
    ['?value=150&scale=baume', '°Bé must be below 145'],
    ['?value=5&scale=us-pint', 'No slurry weighs that'],
    ['?value=1&scale=firkin', 'One of'],
    ['?litres=<script>&sg=&aim=&density=', 'Type a number.'],
  ])('says what is wrong with %s', async (query, message) => {
    const { statusCode, body } = await ask(query);
    expect(statusCode).toBe(200);
    expect(body).toContain(message);
    expect(body).not.toContain('<script>&');
  });

  it('answers only what changed while somebody types', async () => {
    const ways = (await ask('?litres=18&sg=1.52&aim=1.46&density=2.6', PARTIAL)).body;
    expect(ways).toContain('Add 1.75 L');
    expect(ways).not.toContain('<form');
    const half = (await ask('?litres=18&sg=&aim=&density=2.6', PARTIAL)).body;
    expect(half).toContain('Fill in the rest.');
    const scales = (await ask('?value=92&scale=twaddell', PARTIAL)).body;
    expect(scales).toContain('1.460');
    expect(scales).not.toContain('<form');
  });
});
