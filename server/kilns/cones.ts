import { coneOrder } from '../ware/cone.ts';

/** Large and small cones bend at other temperatures than self-supporting ones of the same number. */
type ConeType = 'self-supporting large' | 'large' | 'small';

export type ChartCode = 'self-supporting-2016' | 'large-2016' | 'small-2016' | 'large-older';

/** One published table of end points. A figure is only worth something together with all of this. */
export interface Chart {
  code: ChartCode;
  type: ConeType;
  /** As a person names it beside the cone type. */
  edition: string;
  /** °C per hour over the last 100 °C, slowest first: one for each column. */
  rates: readonly number[];
  /** End points in °C by cone, coolest first, one for each rate; null where the chart prints none. */
  rows: ReadonlyMap<string, readonly (number | null)[]>;
}

// Source: "Temperature Equivalents for Pyrometric Cones (°C)", cones 022 to 14, edition of 2016, and its older edition
// for large cones; cell by cell in tests/reference/cones.test.ts. Rows 022 to 08 were read in a copy of the chart,
// 07 to 14 are from memory.
const SELF_SUPPORTING_2016 = `
022 - 586 590
021 - 600 617
020 - 626 638
019 656 678 695
018 686 715 734
017 705 738 763
016 742 772 796
015 750 791 818
014 757 807 838
013 807 837 861
012 843 861 882
011 857 875 894
010 891 903 915
09 907 920 930
08 922 942 956
07 962 976 987
06 981 998 1013
05½ 1004 1015 1025
05 1021 1031 1044
04 1046 1063 1077
03 1071 1086 1104
02 1078 1102 1122
01 1093 1119 1138
1 1109 1137 1154
2 1112 1142 1164
3 1115 1152 1170
4 1141 1162 1183
5 1159 1186 1207
5½ 1167 1203 1225
6 1185 1222 1243
7 1201 1239 1257
8 1211 1249 1271
9 1224 1260 1280
10 1251 1285 1305
11 1272 1294 1315
12 1285 1306 1326
13 1310 1331 1348
14 1351 1365 1384`;

// Only the rows that were read in a copy of the chart.
const LARGE_2016 = `
019 676 693
018 712 732
017 736 761
016 769 794
015 788 816
014 807 836
013 837 859
012 858 880
011 873 892
010 898 913
09 917 928
08 942 954`;

// Only the rows that were read in a copy of the chart.
const SMALL_2016 = `
022 630
021 643
020 666
019 723
018 752
017 784
016 825
015 843
014 870
013 880
012 900
011 915
010 919
09 955
08 983`;

// All rows were read in a copy of the chart.
const LARGE_OLDER = `
022 600
021 614
020 635
019 683
018 717
017 747
016 792
015 804
014 838
013 852
012 884
011 894
010 900
09 923
08 955
07 984
06 999
05 1046
04 1060
03½ 1080
03 1101
02 1120
01 1137
1 1154
2 1162
3 1168
4 1186
5 1196
6 1222
7 1240
8 1263
9 1280
10 1305
11 1315
12 1326
13 1346`;

/** The charts a firing can be judged by; which one is stored with the firing. */
export const CHARTS: Record<ChartCode, Chart> = {
  'self-supporting-2016': {
    code: 'self-supporting-2016',
    type: 'self-supporting large',
    edition: '2016 chart',
    rates: [15, 60, 150],
    rows: rowsOf(SELF_SUPPORTING_2016),
  },
  'large-2016': {
    code: 'large-2016',
    type: 'large',
    edition: '2016 chart, cones 019 to 08',
    rates: [60, 150],
    rows: rowsOf(LARGE_2016),
  },
  'small-2016': {
    code: 'small-2016',
    type: 'small',
    edition: '2016 chart, cones 022 to 08',
    rates: [300],
    rows: rowsOf(SMALL_2016),
  },
  'large-older': {
    code: 'large-older',
    type: 'large',
    edition: 'older chart',
    rates: [150],
    rows: rowsOf(LARGE_OLDER),
  },
};

/** Every cone that any of the charts knows, coolest first. */
export const CONES: readonly string[] = [
  ...new Set(Object.values(CHARTS).flatMap((chart) => [...chart.rows.keys()])),
].sort((a, b) => coneOrder(a) - coneOrder(b));

/** A temperature at which a cone is down. */
export interface EndPoint {
  /** °C */
  c: number;
  /** The rate lies outside those the chart prints for this cone; the nearest column was taken. */
  outside: boolean;
  /** The chart has no row of its own for this cone; it was put between its neighbours. */
  between: boolean;
}

/**
 * The end point of a cone at any rate of heating, in °C. Between the published rates it is linear in the logarithm of
 * the rate, as for any thermally activated change whose temperature moves with ln(rate); outside them the nearest
 * column stands.
 * @param rateCPerH °C per hour over the last 100 °C
 * @returns null where the chart has neither the cone nor neighbours to both sides
 * @throws RangeError when it is no cone, or the rate is not above zero
 */
export function endPoint(chart: Chart, cone: string, rateCPerH: number): EndPoint | null {
  if (!(rateCPerH > 0)) throw new RangeError('A cone needs a rate of heating above zero.');
  const wanted = coneOrder(cone);
  const rows = endPoints(chart, rateCPerH);
  const own = rows.find(({ order }) => order === wanted);
  if (own) return { c: own.c, outside: own.outside, between: false };
  const below = rows.findLast(({ order }) => order < wanted);
  const above = rows.find(({ order }) => order > wanted);
  if (!below || !above) return null;
  const share = (wanted - below.order) / (above.order - below.order);
  return {
    c: below.c + share * (above.c - below.c),
    outside: below.outside || above.outside,
    between: true,
  };
}

/** What a peak and the rate before it amount to, in cones. */
export interface EquivalentCone {
  /** The hottest cone that is down, and the next one; null beyond the ends of the chart. */
  below: string | null;
  above: string | null;
  /** How far the firing went from `below` to `above`, 0 … 1. */
  fraction: number;
  /** In the measure of `coneOrder`; at an end of the chart the cone there. */
  order: number;
  /** The rate, or the temperature, lies outside what the chart prints. */
  outside: boolean;
  /** 'cone 6', 'cone 6 less a third', 'halfway from cone 7 to cone 8', 'below cone 022'. */
  words: string;
}

/**
 * The cone that a peak temperature amounts to at the rate before it, without any hold: by interpolating the chart
 * linearly between the end points of neighbouring cones at that rate.
 * @param peakC °C
 * @param rateCPerH °C per hour over the last 100 °C before the peak
 * @throws RangeError when the peak is no number or the rate is not above zero
 */
export function equivalentCone(chart: Chart, peakC: number, rateCPerH: number): EquivalentCone {
  if (!Number.isFinite(peakC) || !(rateCPerH > 0))
    throw new RangeError('A cone needs a peak and a rate of heating above zero.');
  const rows = endPoints(chart, rateCPerH);
  const below = rows.findLast(({ c }) => c <= peakC);
  const above = rows.find(({ c }) => c > peakC);
  if (!below || !above) {
    const end = (below ?? above) as Row;
    const over = below !== undefined && peakC > below.c;
    return {
      below: below?.cone ?? null,
      above: above?.cone ?? null,
      fraction: 0,
      order: end.order,
      outside: end.outside || !below || over,
      words: !below ? `below cone ${end.cone}` : over ? `above cone ${end.cone}` : `cone ${end.cone}`,
    };
  }
  const fraction = (peakC - below.c) / (above.c - below.c);
  return {
    below: below.cone,
    above: above.cone,
    fraction,
    order: below.order + fraction * (above.order - below.order),
    outside: below.outside || above.outside,
    words: betweenWords(below, above, fraction),
  };
}

/** Estimate of what a hold adds, in cones. */
export interface HoldEffect {
  from: number;
  to: number;
}

// The chart's own note gives one cone for 1 to 2 h and two for 4 to 6 h. That 15 to 20 min already bring up to half a
// cone is common practice, no source.
const HOLD_LEAST: [min: number, cones: number][] = [
  [0, 0],
  [120, 1],
  [360, 2],
];
const HOLD_MOST: [min: number, cones: number][] = [
  [0, 0],
  [20, 0.5],
  [60, 1],
  [240, 2],
];

/**
 * What holding near the peak adds, in cones: an estimate and always a range, nothing to judge a firing by.
 * @param holdMin minutes within a few °C of the peak; longer than the note's figures counts as those
 */
export function holdEffect(holdMin: number): HoldEffect {
  return { from: along(HOLD_LEAST, holdMin), to: along(HOLD_MOST, holdMin) };
}

const PARTS: [share: number, words: string][] = [
  [0, ''],
  [1 / 4, 'a quarter'],
  [1 / 3, 'a third'],
  [1 / 2, 'half'],
  [2 / 3, 'two thirds'],
  [3 / 4, 'three quarters'],
  [1, 'whole'],
];

/**
 * An amount of cones as a person says it: 'half a cone', 'a cone and a third', '2 cones'; '' for next to nothing.
 * @param cones its sign does not matter
 */
export function coneAmount(cones: number): string {
  const size = Math.min(Math.abs(cones), 99);
  let whole = Math.floor(size);
  let part = partWords(size - whole);
  if (part === 'whole') [whole, part] = [whole + 1, ''];
  if (whole === 0) {
    if (part === '') return '';
    return part === 'half' ? 'half a cone' : `${part} of a cone`;
  }
  const full = whole === 1 ? 'a cone' : `${whole} cones`;
  return part === '' ? full : `${full} and ${part === 'half' ? 'a half' : part}`;
}

interface Row {
  cone: string;
  order: number;
  c: number;
  outside: boolean;
}

/** The chart at one rate, coolest first. */
function endPoints(chart: Chart, rate: number): Row[] {
  return [...chart.rows].map(([cone, cells]) => ({
    cone,
    order: coneOrder(cone),
    ...atRate(chart, cells, rate),
  }));
}

function atRate(
  { rates }: Chart,
  cells: readonly (number | null)[],
  rate: number,
): { c: number; outside: boolean } {
  const known = rates.flatMap((at, i) => {
    const c = cells[i];
    return c === null || c === undefined ? [] : [{ at, c }];
  });
  const above = known.find(({ at }) => at >= rate);
  const below = known.findLast(({ at }) => at <= rate);
  if (!above || !below) return { c: ((above ?? below) as { c: number }).c, outside: true };
  if (above.at === below.at) return { c: above.c, outside: false };
  const share = Math.log(rate / below.at) / Math.log(above.at / below.at);
  return { c: below.c + share * (above.c - below.c), outside: false };
}

function betweenWords(below: Row, above: Row, fraction: number): string {
  const gap = above.order - below.order;
  const [up, down] = [fraction * gap, (1 - fraction) * gap];
  const part = partWords(Math.min(up, down));
  if (part === 'half') return `halfway from cone ${below.cone} to cone ${above.cone}`;
  if (part === '') return `cone ${up <= down ? below.cone : above.cone}`;
  return up <= down ? `cone ${below.cone} and ${part}` : `cone ${above.cone} less ${part}`;
}

/** The nearest of the shares people say. */
function partWords(share: number): string {
  // Rounded, so that floating point does not decide between two that are equally near.
  const distance = ([at]: [number, string]) => Math.round(Math.abs(at - share) * 1e9);
  return PARTS.reduce((best, part) => (distance(part) < distance(best) ? part : best))[1];
}

function along(corners: [min: number, cones: number][], holdMin: number): number {
  if (!(holdMin > 0)) return 0;
  const next = corners.findIndex(([min]) => min > holdMin);
  if (next === -1) return corners.at(-1)?.[1] ?? 0;
  const [x1, y1] = corners[next] as [number, number];
  const [x0, y0] = corners[next - 1] as [number, number];
  return y0 + ((y1 - y0) * (holdMin - x0)) / (x1 - x0);
}

function rowsOf(table: string): Map<string, (number | null)[]> {
  const rows = table.trim().split('\n');
  return new Map(
    rows.map((row): [string, (number | null)[]] => {
      const [cone = '', ...cells] = row.split(' ');
      return [cone, cells.map((cell) => (cell === '-' ? null : Number(cell)))];
    }),
  );
}
