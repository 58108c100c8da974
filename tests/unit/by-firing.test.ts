import { expect, it } from 'vitest';
import { byFiring, type Firing } from '../../server/ware/firing.ts';

it('groups by kind, cone and atmosphere, in the order they came, without what asks for none', () => {
  const six: Firing = { kind: 'glaze', cone: '6', atmosphere: 'oxidation' };
  const others: Firing[] = [
    { ...six, kind: 'lustre' },
    { ...six, cone: '06' },
    { ...six, atmosphere: 'reduction' },
  ];
  const items = [null, six, ...others, { ...six }, null].map((next, number) => ({ next, number }));
  expect(byFiring(items).map(({ firing, items: own }) => [firing, own.map(({ number }) => number)])).toEqual([
    [six, [1, 5]],
    [others[0], [2]],
    [others[1], [3]],
    [others[2], [4]],
  ]);
  expect(byFiring([])).toEqual([]);
});
