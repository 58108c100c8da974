import { beforeAll, describe, expect, it } from 'vitest';
import { recordAct } from '../../server/buckets/service/index.ts';
import { aStudio, PARTIAL, type Studio } from '../helpers/studio.ts';

const states = (html: string) => [...html.matchAll(/class="lid is-([\w-]+)"/g)].map((m) => m[1]);
const namesIn = (html: string) => [...html.matchAll(/class="lid-link"[^>]*>([^<]+)</g)].map((m) => m[1]);

it('leads to the first bucket whoever may make it', async () => {
  const studio = await aStudio();
  const member = await studio.visit(studio.people.member, '/wall');
  expect(member.body).toContain('No bucket yet');
  expect(member.body).not.toContain('/buckets/new');
  expect((await studio.visit(studio.people.technician, '/wall')).body).toContain('href="/buckets/new"');
});

describe('the glaze wall', () => {
  let studio: Studio;

  beforeAll(async () => {
    studio = await aStudio();
    await studio.aBucket({ code: 'RD', name: 'Chalk', sg: 1.46, stirredMinutesAgo: 1 });
    await studio.aBucket({ code: 'ST', name: 'Kelp', sg: 1.46, stirredMinutesAgo: 60 });
    await studio.aBucket({ code: 'TK', name: 'Harbour', sg: 1.52, stirredMinutesAgo: 1 });
    await studio.aBucket({ code: 'NR', name: '<b>Moss</b> & "more"' });
    await studio.aBucket({ code: 'DN', name: 'Fern', sg: 1.46 });
    await studio.as(studio.people.member, (act) =>
      recordAct(act, 'DN', 'problems', { problem: 'contaminated' }),
    );
  });

  it('is where members begin; who mends things begins with what needs mending', async () => {
    const first = async (who: 'member' | 'technician' | 'manager') =>
      (await studio.visit(studio.people[who], '/')).headers.location;
    expect(await first('member')).toBe('/wall');
    expect(await first('technician')).toBe('/today');
    expect(await first('manager')).toBe('/today');
  });

  it('counts, and shows the worst first with what to do', async () => {
    const { body } = await studio.visit(studio.people.member, '/wall');
    expect(body).toContain('1 ready, 1 to stir, 3 need somebody');
    expect(states(body)).toEqual(['do-not-use', 'too-thick', 'needs-reading', 'stir-first', 'ready']);
    expect(body).toContain('add 1.75 L of water, check again');
  });

  it('keeps one state, and says so when none is like that', async () => {
    const ready = await studio.visit(studio.people.member, '/wall?state=ready');
    expect(namesIn(ready.body)).toEqual(['Chalk']);
    const { body } = await studio.visit(studio.people.member, '/wall?sort=place&state=too-thick');
    expect(namesIn(body)).toEqual(['Harbour']);
    expect(body).toContain('No place given');
  });

  it('ignores what it does not know in the address', async () => {
    const odd = await studio.visit(studio.people.member, '/wall?sort=x&state=__proto__&cone=99&cone=1');
    expect(odd.statusCode).toBe(200);
    expect(states(odd.body)).toHaveLength(5);
  });

  it('shows markup in a name as it was typed', async () => {
    const { body } = await studio.visit(studio.people.member, '/wall');
    expect(body).toContain('&lt;b>Moss&lt;/b> &amp; &quot;more&quot;');
    expect(body).not.toContain('<b>Moss');
  });

  it('asks for only itself again, as it is filtered', async () => {
    const { body } = await studio.visit(studio.people.member, '/wall?state=ready');
    expect(body).toMatch(
      /id="wall"[^>]* hx-get="\/wall\?state=ready" hx-trigger="changed-wall from:#live, every 60s"/,
    );
    const part = await studio.visit(studio.people.member, '/wall?state=ready', PARTIAL);
    expect(part.body).toContain('id="wall"');
    expect(part.body).not.toContain('<h1');
    expect(part.headers.vary).toContain('HX-Request-Type');
    expect(namesIn(part.body)).toEqual(['Chalk']);
  });

  it('is for people who are signed in', async () => {
    expect((await studio.visit(null, '/wall')).headers.location).toBe('/sign-in?next=%2Fwall');
  });
});
