import fc from 'fast-check';
import type { VNode } from 'preact';
import { renderToString } from 'preact-render-to-string';
import { describe, expect, test } from 'vitest';
import { STATE_WORDS, type StateName } from '../../server/buckets/verdict.ts';
import { loadAssets } from '../../server/core/assets.ts';
import { DAY, HOUR } from '../../server/core/clock.ts';
import { type BucketCardProps, Plate, Wall } from '../../views/ui/card.tsx';
import {
  Beside,
  Check,
  Choice,
  Field,
  Form,
  NumberField,
  Select,
  Submit,
  TextArea,
} from '../../views/ui/field.tsx';
import { Gauge, type GaugeProps } from '../../views/ui/gauge.tsx';
import { State, StateIcon } from '../../views/ui/icons.tsx';
import { Layout, type LayoutProps, renderPage } from '../../views/ui/layout.tsx';
import { Empty, Facts, Filter, Flash, More, Notice, Panel } from '../../views/ui/panel.tsx';
import { Table } from '../../views/ui/table.tsx';
import { Trend, type TrendPoint, type TrendProps } from '../../views/ui/trend.tsx';
import { Act, Acts, PlainAct, VerdictPanel } from '../../views/ui/verdict.tsx';

const html = (node: VNode) => renderToString(node);
const all = (text: string, pattern: RegExp) => Array.from(text.matchAll(pattern), (match) => match[1] ?? '');
/** An attribute's value: '' for a bare one, undefined where there is none. */
function attribute(tag: string, name: string): string | undefined {
  const match = new RegExp(` ${name}(?:="([^"]*)")?(?=[ />])`).exec(tag);
  return match ? (match[1] ?? '') : undefined;
}
const tagOf = (text: string, name: string) =>
  new RegExp(`<\\w+[^>]* name="${name}"[^>]*>`).exec(text)?.[0] ?? '';
const states = Object.keys(STATE_WORDS) as StateName[];

const inBand: GaugeProps = {
  low: 1.44,
  aim: 1.46,
  high: 1.48,
  value: 1.46,
  uncertainty: 0.02,
  basis: 'measured',
};
const card: BucketCardProps = {
  href: '/buckets/HG',
  state: 'too-thick',
  words: 'Too thick',
  name: 'Harbour Grey',
  code: 'HG',
  colour: '#7d8a93',
};
const assets = loadAssets();
const frame: Omit<LayoutProps, 'children'> = {
  title: 'Glaze wall',
  section: 'wall',
  sections: [
    { id: 'today', href: '/today', label: 'Today' },
    { id: 'wall', href: '/wall', label: 'Glaze wall' },
  ],
  person: { name: 'Ida Falk', role: 'technician' },
  studio: { name: 'Millrace Clay Commons' },
  assetUrl: assets.url,
};

describe('what people typed comes out inert', () => {
  const evil = `"><img src=x onerror=alert(1)>'&`;
  const typed = { n: evil, t: evil, s: evil, c: evil, k: evil };
  const errors = [{ path: 'n', message: evil }];
  const parts: Record<string, VNode> = {
    Layout: (
      <Layout
        {...frame}
        title={evil}
        person={{ name: evil, role: 'member' }}
        studio={{ name: evil }}
        sections={[{ id: 'x', href: evil, label: evil }]}
        flash={{
          words: evil,
          undo: { action: evil, label: evil, idempotencyKey: evil, fields: { a: evil } },
        }}
        banner={evil}
        caution={evil}
      >
        {evil}
      </Layout>
    ),
    Wall: (
      <Wall
        cards={[
          {
            ...card,
            href: evil,
            words: evil,
            name: evil,
            code: evil,
            colour: evil,
            next: evil,
            facts: evil,
            place: evil,
          },
        ]}
      />
    ),
    Plate: (
      <Plate name={evil} code={evil} colour={evil}>
        {evil}
      </Plate>
    ),
    Verdict: (
      <VerdictPanel state="ready" words={evil} why={evil}>
        {evil}
      </VerdictPanel>
    ),
    Acts: (
      <Acts>
        <Act href={evil} label={evil} small={evil} />
        <PlainAct post={evil} idempotencyKey={evil} fields={{ a: evil }} label={evil} />
      </Acts>
    ),
    Form: (
      <Form action={evil} form={{ typed, errors }} idempotencyKey={evil} hidden={{ h: evil }}>
        <Beside>
          <NumberField name="n" label={evil} hint={evil} unit={evil} />
          <Field name="n" label={evil} />
        </Beside>
        <TextArea name="t" label={evil} />
        <Select name="s" label={evil} none={evil} options={[{ value: evil, label: evil }]} />
        <Choice name="c" label={evil} options={[{ value: evil, label: evil, hint: evil }]} />
        <Check name="k" label={evil} hint={evil} value={evil} />
        <Submit label={evil} small={evil} />
      </Form>
    ),
    Panels: (
      <Panel title={evil}>
        <Notice title={evil} tone="do-not-use">
          {evil}
        </Notice>
        <Empty title={evil}>{evil}</Empty>
        <More summary={evil}>{evil}</More>
        <Facts items={[[evil, evil]]} />
        <Filter label={evil} options={[{ href: evil, label: evil, current: true }]} />
        <State state="ready" words={evil} />
      </Panel>
    ),
    Table: (
      <Table caption={evil} columns={[{ label: evil, keepLabel: true }]} rows={[{ key: 1, cells: [evil] }]} />
    ),
    Trend: trend({ additions: [{ at: 5 * DAY, label: evil }] }),
    Gauge: <Gauge {...inBand} unit={evil} />,
  };

  test.each(Object.keys(parts))('%s', (name) => {
    const out = html(parts[name] as VNode);
    expect(out).toContain('&lt;img src=x');
    expect(out).not.toContain('<img');
    expect(out).not.toMatch(/="[^"]*"[^\s/>]/);
  });

  test('no part needs more than the content security policy gives', () => {
    for (const part of Object.values(parts)) {
      const out = html(part).replaceAll('onerror=alert(1)', '');
      expect(out).not.toMatch(/\sstyle=|\son\w+=|<style|hx-on|javascript:/);
      expect(out).not.toMatch(/<script(?![^>]* src=)/);
    }
  });
});

describe('Layout', () => {
  test('is a whole document whose files exist', () => {
    const out = renderPage(<Layout {...frame}>Hello</Layout>);
    expect(out).toMatch(/^<!doctype html><html lang="en">/);
    expect(out).toContain('<title>Glaze wall · Millrace Clay Commons</title>');
    for (const url of all(out, /(?:src|href)="(\/assets\/[^"]+)"/g)) expect(assets.find(url)).toBeDefined();
    expect(
      JSON.parse(/name="htmx-config" content="([^"]*)"/.exec(out)?.[1]?.replaceAll('&quot;', '"') ?? ''),
    ).toEqual({
      includeIndicatorCSS: false,
      morphIgnore: ['data-htmx-powered', 'open'],
    });
  });

  test('marks the section at hand and no other', () => {
    const out = html(<Layout {...frame}>Hello</Layout>);
    expect(all(out, /<a[^>]*aria-current="page"[^>]*>([^<]*)</g)).toEqual(['Glaze wall']);
    expect(html(<Layout {...{ ...frame, section: null }}>Hello</Layout>)).not.toContain('aria-current');
  });

  test('shows no bar to whoever has no sections, and the skip link leads to the content', () => {
    const out = html(<Layout {...{ ...frame, sections: [], person: null }}>Hello</Layout>);
    expect(out).not.toContain('<nav');
    expect(out).toContain('href="#main"');
    expect(out).toMatch(/<main id="main"/);
  });

  test('a flash can be taken back in one tap', () => {
    const undo = {
      action: '/buckets/HG/void',
      label: 'Take it back',
      idempotencyKey: 'k-12345678',
      fields: { number: 7 },
    };
    const out = html(<Flash words="Added 0.5 L of water." undo={undo} />);
    expect(attribute(tagOf(out, 'key'), 'value')).toBe('k-12345678');
    expect(attribute(tagOf(out, 'number'), 'value')).toBe('7');
  });
});

describe('icons', () => {
  test('each of the eight states has a shape of its own', () => {
    expect(new Set(states.map((state) => html(<StateIcon state={state} />))).size).toBe(8);
  });
  test('the words always stand beside the shape', () => {
    expect(html(<State state="too-thin" words="Too thin" />)).toMatch(
      /<svg[^>]*aria-hidden="true".*Too thin/,
    );
  });
});

describe('wall', () => {
  test('a card says its state before its name, and shows what it has', () => {
    const out = html(
      <Wall
        cards={[{ ...card, gauge: { ...inBand, value: 1.52 }, next: 'Add 1.75 L of water', place: 'rack A' }]}
      />,
    );
    const order = ['Too thick', '#7d8a93', 'Harbour Grey', '1.52', 'Add 1.75 L of water', 'rack A'];
    const at = order.map((words) => out.indexOf(words));
    expect(at).not.toContain(-1);
    expect(at).toEqual([...at].sort((a, b) => a - b));
  });
  test('a card without a gauge or any more to say is still a card', () => {
    const out = html(<Wall cards={[{ ...card, level: 3 }]} />);
    expect(out).not.toContain('class="gauge');
    expect(out).toContain('<h3');
  });
});

describe('verdict and acts', () => {
  test('an act is a link, or a form that records in one tap', () => {
    expect(html(<Act href="/buckets/HG/add" label="Add" />)).toMatch(
      /^<a class="do" href="\/buckets\/HG\/add">/,
    );
    const out = html(
      <PlainAct
        post="/buckets/HG/dip"
        idempotencyKey="k-12345678"
        fields={{ stirred: 'yes' }}
        label="Stirred, dipping"
      />,
    );
    expect(out).toMatch(/^<form method="post" action="\/buckets\/HG\/dip"/);
    expect(attribute(tagOf(out, 'key'), 'value')).toBe('k-12345678');
    expect(attribute(tagOf(out, 'stirred'), 'value')).toBe('yes');
  });
});

describe('Form', () => {
  const form = {
    typed: {
      grams: 'abc',
      code: 'HG',
      password: 'secret words here',
      scale: 'tw',
      cone: '10',
      replicates: ['310', 'x'],
    },
    errors: [
      { path: 'grams', message: 'Type a number.' },
      { path: 'stirred', message: 'Stir it first.' },
      { path: 'scale', message: 'One of these.' },
      { path: 'replicates.1', message: 'Type a number here too.' },
      { path: '', message: 'Is this right?' },
    ],
  };
  const fields = (
    <>
      <NumberField name="grams" label="Weight" hint="Of the full cup." unit="g" value={312} />
      <NumberField name="replicates" index={0} label="Again" optional />
      <NumberField name="replicates" index={1} label="And again" optional />
      <Field name="code" label="Code" value="XX" />
      <Field name="note" label="Note" value="as it was" optional />
      <Field name="password" type="password" label="Password" />
      <Select
        name="cone"
        label="Cone"
        value="6"
        options={[
          { value: '6', label: 'Cone 6' },
          { value: '10', label: 'Cone 10' },
        ]}
      />
      <Choice
        name="scale"
        label="Scale"
        value="sg"
        options={[
          { value: 'sg', label: 'SG' },
          { value: 'tw', label: '°Tw' },
        ]}
      />
      <Check name="stirred" label="Stirred just now" checked />
    </>
  );
  const refused = html(
    <Form action="/x" form={form} idempotencyKey="k-12345678">
      {fields}
    </Form>,
  );
  const fresh = html(<Form action="/x">{fields}</Form>);
  const byId = (text: string, id: string) => new RegExp(`<\\w+[^>]* id="${id}"[^>]*>([^<]*)`).exec(text);

  test('an error stands beside its field and is tied to it', () => {
    const input = tagOf(refused, 'grams');
    expect(attribute(input, 'aria-invalid')).toBe('true');
    const described = attribute(input, 'aria-describedby')?.split(' ') ?? [];
    expect(described.map((id) => byId(refused, id)?.[1])).toEqual([
      'g',
      'Of the full cup.',
      'Type a number.',
    ]);
  });

  test('a field without an error is not called wrong', () => {
    expect(attribute(tagOf(refused, 'code'), 'aria-invalid')).toBeUndefined();
    expect(attribute(tagOf(refused, 'code'), 'aria-describedby')).toBeUndefined();
  });

  test('the summary comes first, takes the focus, and each of its links leads to a field', () => {
    expect(refused.indexOf('class="errors"')).toBeLessThan(refused.indexOf('name="key"'));
    expect(refused).toMatch(/class="errors"[^>]*autofocus/);
    const links = all(refused, /<a href="#([^"]+)"/g);
    expect(links).toHaveLength(4);
    for (const id of links) expect(byId(refused, id)?.[0]).toMatch(/^<input/);
    expect(refused).toContain('<li>Is this right?</li>');
    expect(fresh).not.toContain('class="errors"');
  });

  test('what was typed is kept, what was emptied stays empty, a password is never sent back', () => {
    expect(attribute(tagOf(refused, 'grams'), 'value')).toBe('abc');
    expect(attribute(tagOf(refused, 'code'), 'value')).toBe('HG');
    expect(attribute(tagOf(refused, 'note'), 'value')).toBe('');
    expect(refused).not.toContain('secret words');
    expect(all(refused, /<input name="replicates"[^>]* value="([^"]*)"/g)).toEqual(['310', 'x']);
    expect(all(refused, /<option value="(\w+)" selected/g)).toEqual(['10']);
    expect(all(refused, /type="radio"[^>]*value="(\w+)" checked/g)).toEqual(['tw']);
    expect(tagOf(refused, 'stirred')).not.toContain(' checked');
  });

  test('a fresh form shows what it starts from', () => {
    expect(attribute(tagOf(fresh, 'grams'), 'value')).toBe('312');
    expect(attribute(tagOf(fresh, 'note'), 'value')).toBe('as it was');
    expect(all(fresh, /<option value="(\w+)" selected/g)).toEqual(['6']);
    expect(tagOf(fresh, 'stirred')).toContain(' checked');
  });

  test('a refused form with a tick comes back ticked', () => {
    const again = html(
      <Form action="/x" form={{ typed: { stirred: 'yes' }, errors: [{ path: '', message: 'No.' }] }}>
        <Check name="stirred" label="Stirred just now" />
      </Form>,
    );
    expect(tagOf(again, 'stirred')).toContain(' checked');
  });

  test('fields must be filled in unless they say otherwise', () => {
    expect(tagOf(fresh, 'code')).toContain(' required');
    expect(tagOf(fresh, 'note')).not.toContain(' required');
    expect(fresh).toMatch(/Note<span class="optional"> \(optional\)/);
  });

  test('the key that makes a double tap harmless goes along', () => {
    expect(attribute(tagOf(refused, 'key'), 'value')).toBe('k-12345678');
    expect(tagOf(fresh, 'key')).toBe('');
  });

  test('no two elements share an id, two forms of one page included', () => {
    const page = html(
      <>
        <Form action="/x">{fields}</Form>
        <Form action="/y" id="second">
          {fields}
        </Form>
      </>,
    );
    const ids = all(page, / id="([^"]+)"/g);
    expect(new Set(ids).size).toBe(ids.length);
  });
});

describe('Table', () => {
  const out = html(
    <Table
      columns={[
        { label: 'When' },
        { label: 'What', main: true },
        { label: 'No.', number: true, keepLabel: true },
      ]}
      rows={[{ key: 1, cells: ['Monday', 'stirred', 46], struck: true }]}
    />,
  );
  test('stays a table to a screen reader when a phone stacks it', () => {
    expect(all(out, / role="(\w+)"/g)).toEqual([
      ...['table', 'rowgroup', 'row', 'columnheader', 'columnheader', 'columnheader'],
      ...['rowgroup', 'row', 'cell', 'cell', 'cell'],
    ]);
  });
  test('labels a stacked value only where asked', () => {
    expect(all(out, /data-label="([^"]*)"/g)).toEqual(['No.']);
    expect(out).toContain('<tr class="struck"');
  });
});

describe('Gauge', () => {
  const label = (props: Partial<GaugeProps>) =>
    attribute(html(<Gauge {...inBand} {...props} />), 'aria-label');

  test('says in words what it shows', () => {
    expect(label({})).toBe('specific gravity 1.46 ± 0.02, measured, inside the band 1.44 to 1.48, aim 1.46');
    expect(label({ value: 1.52 })).toContain('1.52 ± 0.02, measured, above the band');
    expect(label({ value: 1.4, basis: 'predicted' })).toContain('1.40 ± 0.02, predicted, below the band');
    expect(label({ value: null })).toBe('specific gravity not known yet; the band 1.44 to 1.48, aim 1.46');
  });

  test('without a value shows the band alone', () => {
    const out = html(<Gauge {...inBand} value={null} />);
    expect(out).toContain('class="band"');
    expect(out).toContain('not known yet');
    expect(out).not.toMatch(/class="(mark|whisker)"/);
  });

  test('far off the scale becomes an arrow at that edge that keeps its figure', () => {
    const above = html(<Gauge {...inBand} value={1.9} />);
    const below = html(<Gauge {...inBand} value={1.1} />);
    expect(attribute(/<svg class="at"[^>]*>/.exec(above)?.[0] ?? '', 'x')).toBe('98%');
    expect(attribute(/<svg class="at"[^>]*>/.exec(below)?.[0] ?? '', 'x')).toBe('2%');
    expect(above).not.toContain('whisker');
    expect(above).toContain('>1.90<');
    expect(below).toContain('>1.10<');
  });

  test('never rounds a value onto the other side of a limit', () => {
    expect(label({ value: 1.4821 })).toContain('1.482 ± 0.02, measured, above');
    expect(label({ value: 1.48 })).toContain('1.48 ± 0.02, measured, inside');
    expect(label({ low: 1.445, aim: 1.465, high: 1.485 })).toContain('band 1.445 to 1.485, aim 1.465');
  });

  test('a small doubt keeps its third decimal', () => {
    expect(label({ uncertainty: 0.008 })).toContain('± 0.008');
  });

  test('everything stays inside, whatever the numbers', () => {
    const gravity = fc.double({ min: 1, max: 3, noNaN: true });
    fc.assert(
      fc.property(
        gravity,
        gravity,
        gravity,
        fc.double({ min: 0, max: 1, noNaN: true }),
        (a, b, value, uncertainty) => {
          const [low, high] = [Math.min(a, b), Math.max(a, b)];
          const out = html(
            <Gauge
              low={low}
              aim={(low + high) / 2}
              high={high}
              value={value}
              uncertainty={uncertainty}
              basis="measured"
            />,
          );
          for (const x of all(out, / x[12]?="(-?[\d.]+)%"/g)) {
            expect(Number(x)).toBeGreaterThanOrEqual(0);
            expect(Number(x)).toBeLessThanOrEqual(100);
          }
          expect(out).not.toMatch(/NaN|Infinity/);
        },
      ),
    );
  });
});

function trend(more: Partial<TrendProps> = {}) {
  const points: TrendPoint[] = [
    { at: 2 * DAY, value: 1.45, half: 0.02, kind: 'measured' },
    { at: 4 * DAY, value: 1.46, half: 0.02, kind: 'measured' },
    { at: 8 * DAY, value: 1.52, half: 0.02, kind: 'measured' },
  ];
  return (
    <Trend
      points={points}
      additions={[]}
      low={1.44}
      aim={1.46}
      high={1.48}
      from={0}
      to={10 * DAY}
      timeZone="UTC"
      {...more}
    />
  );
}

describe('Trend', () => {
  const lineOf = (out: string) => /class="line" d="([^"]+)"/.exec(out)?.[1] ?? '';
  const label = (node: VNode) => attribute(html(node), 'aria-label');
  const point = (at: number, value: number, kind: TrendPoint['kind'] = 'measured'): TrendPoint => ({
    at,
    value,
    half: 0.02,
    kind,
  });

  test('says in words what it shows', () => {
    expect(label(trend({ additions: [{ at: 5 * DAY, label: 'water 1 L' }] }))).toBe(
      'Specific gravity from 1 January to 11 January: 3 readings, lowest 1.45, highest 1.52. ' +
        'The last, on 9 January: 1.52 ± 0.02, above the band 1.44 to 1.48, aim 1.46. water 1 L on 6 January.',
    );
  });

  test('without a reading says so instead of drawing an empty plot', () => {
    const out = html(trend({ points: [point(-DAY, 1.46), point(11 * DAY, 1.46)] }));
    expect(out).toContain('No readings yet');
    expect(out).not.toContain('<svg');
  });

  test('one point is a point without a line', () => {
    const out = html(trend({ points: [point(DAY, 1.46)] }));
    expect(lineOf(out)).toMatch(/^M[\d. ]+$/);
    expect(out).toContain('<circle class="in"');
    expect(label(trend({ points: [point(DAY, 1.46)] }))).toContain('1 reading. The last');
  });

  test('only measured points are joined; the others keep a shape and a key', () => {
    const points = [
      point(DAY, 1.46),
      point(2 * DAY, 1.4, 'unstirred'),
      point(3 * DAY, 1.6, 'voided'),
      point(4 * DAY, 1.47),
    ];
    const out = html(trend({ points }));
    expect(lineOf(out)).toMatch(/^M[\d. ]+L[\d. ]+$/);
    expect(out).toMatch(/counts.*not stirred.*voided/);
    expect(label(trend({ points }))).toContain('2 more do not count');
  });

  test('only voided points left: drawn, and said not to count', () => {
    const text = label(trend({ points: [point(DAY, 1.46, 'voided')] }));
    expect(text).toContain('0 readings. 1 more does not count.');
  });

  test('a point outside the band differs in shape, not in colour alone', () => {
    const out = html(trend({ points: [point(DAY, 1.4), point(2 * DAY, 1.46), point(3 * DAY, 1.5)] }));
    expect(out).toContain('<circle class="in"');
    const shapes = all(out, /<path class="(?:above|below)" d="([^"]+)"/g);
    expect(new Set(shapes).size).toBe(2);
  });

  test('higher values are drawn higher, and nothing leaves the plot', () => {
    const out = html(trend());
    const heights = all(lineOf(out), /[ML][\d.]+ ([\d.]+)/g).map(Number);
    expect(heights).toHaveLength(3);
    expect(heights).toEqual([...heights].sort((a, b) => b - a));
    for (const y of all(out, / c?y="(-?[\d.]+)em"/g)) expect(Number(y)).toBeGreaterThan(0);
  });

  test('labels of additions close together take different rows, equal ones are joined', () => {
    const at = (label: string, day: number) => ({ at: day * DAY, label });
    const out = html(
      trend({
        additions: [at('water 1 L', 3), at('rinse 0.8 L', 3.6), at('water 0.5 L', 8), at('water 0.5 L', 8.1)],
      }),
    );
    const labels = Array.from(
      out.matchAll(/<text class="added-label"[^>]* y="([\d.]+)em"[^>]*>([^<]+)</g),
      ([, y, words]) => ({ y, words }),
    );
    expect(labels.map(({ words }) => words).sort()).toEqual(['rinse 0.8 L', 'water 0.5 L ×2', 'water 1 L']);
    const row = (words: string) => labels.find((l) => l.words === words)?.y;
    expect(row('water 1 L')).not.toBe(row('rinse 0.8 L'));
  });

  test('more additions than there is room for keep their lines', () => {
    const additions = Array.from({ length: 9 }, (_, i) => ({
      at: (4 + i / 2) * DAY,
      label: `water ${i} and a half litres`,
    }));
    const out = html(trend({ additions }));
    expect(all(/class="added" d="([^"]+)"/.exec(out)?.[1] ?? '', /(M)/g)).toHaveLength(9);
    expect(all(out, /(class="added-label")/g).length).toBeLessThan(9);
  });

  test('days begin at midnight where the studio is, also when the clocks change', () => {
    // New York goes from UTC-5 to UTC-4 on 8 March 2026.
    const from = Date.UTC(2026, 2, 6, 17);
    const to = from + 4 * DAY;
    const out = html(trend({ points: [point(from + HOUR, 1.46)], from, to, timeZone: 'America/New_York' }));
    const ticks = Array.from(out.matchAll(/<text x="([\d.]+)%"[^>]*>(\d+ Mar)</g), ([, x, day]) => [
      day,
      Math.round(((Number(x) / 100) * (to - from)) / HOUR),
    ]);
    expect(ticks).toEqual([
      ['7 Mar', 12],
      ['8 Mar', 36],
      ['9 Mar', 59],
      ['10 Mar', 83],
    ]);
  });

  test('within two days the axis shows the time of day', () => {
    const out = html(trend({ points: [point(HOUR, 1.46)], to: DAY, timeZone: 'Asia/Kolkata' }));
    expect(all(out, />(\d\d:\d\d)</g)).toEqual(['05:30', '17:30', '05:30']);
  });
});
