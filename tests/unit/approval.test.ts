import { describe, expect, it } from 'vitest';
import {
  approvalChecks,
  type Candidate,
  type Check,
  type ForApproval,
  listed,
} from '../../server/kilns/approval.ts';
import type { Piece, Problem } from '../../server/kilns/packing/problem.ts';

const piece = (id: number, more: Partial<Piece> = {}): Piece => ({
  id: String(id),
  footprint: { shape: 'circle', diameterMm: 90 },
  heightMm: 100,
  ...more,
});

const problem = (...pieces: Piece[]): Problem => ({
  shelf: { shape: 'round', diameterMm: 500 },
  usableHeightMm: 600,
  shelfThicknessMm: 15,
  pieceGapMm: 6,
  clearanceMm: 12,
  topClearanceMm: 40,
  posts: [],
  pieces,
});

const candidate = (number: number, more: Partial<Candidate> = {}): Candidate => ({
  number,
  trayMm: 0,
  gates: [{ gate: 'clay-cone', ok: true, words: 'Buff stands cone 6.' }],
  notHad: null,
  asAsked: null,
  ...more,
});

const KILN = {
  name: 'Round kiln',
  isInService: true,
  serviceCause: '',
  maxCone: '8',
  atmospheres: ['oxidation'],
};

const load = (more: Partial<ForApproval> = {}): ForApproval => ({
  kiln: KILN,
  firing: { kind: 'glaze', cone: '6', atmosphere: 'oxidation' },
  problem: problem(piece(1), piece(2)),
  pieces: [candidate(1), candidate(2)],
  clashes: [],
  faults: [],
  ...more,
});

const failing = (more: Partial<ForApproval>): Check[] => approvalChecks(load(more)).filter(({ ok }) => !ok);

describe('the checks before a load is approved', () => {
  it('are six, each with its words, all fine', () => {
    const checks = approvalChecks(load());
    expect(checks.map(({ check }) => check)).toEqual(['cones', 'trays', 'flags', 'fumes', 'kiln', 'plan']);
    expect(checks.every(({ ok, words, numbers }) => ok && /\.$/.test(words) && numbers.length === 0)).toBe(
      true,
    );
  });

  it('a clay or glaze that does not take the cone, or that nobody knows', () => {
    for (const gate of ['clay-cone', 'glaze-cone', 'unknown']) {
      const gates = [{ gate, ok: false, words: 'Low stands cone 04 at most.' }];
      expect(failing({ pieces: [candidate(1), candidate(2, { gates })] })).toEqual([
        { check: 'cones', ok: false, words: 'Piece 2: Low stands cone 04 at most.', numbers: [2] },
      ]);
    }
  });

  it('any other open gate is a flag', () => {
    for (const gate of ['dry', 'thick', 'hole', 'foot', 'flag'])
      expect(
        failing({ pieces: [candidate(2, { gates: [{ gate, ok: false, words: 'Not yet.' }] })] }),
      ).toMatchObject([{ check: 'flags', numbers: [2] }]);
  });

  it('a tray that is wider than what the plan leaves', () => {
    const [none] = failing({ pieces: [candidate(1, { trayMm: 15 })] });
    expect(none?.words).toBe('Piece 1: it needs a tray of 15 mm all round; the plan leaves none.');
    const planned = problem(piece(1, { tray: 12 }));
    expect(failing({ problem: planned, pieces: [candidate(1, { trayMm: 12 })] })).toEqual([]);
    expect(failing({ problem: planned, pieces: [candidate(1, { trayMm: 20 })] })[0]?.words).toContain(
      'leaves 12 mm',
    );
  });

  it('glazes that spoil one another', () => {
    expect(failing({ clashes: [{ numbers: [2, 1], why: 'Chromium blushes tin white.' }] })).toEqual([
      { check: 'fumes', ok: false, words: 'Pieces 1 and 2: Chromium blushes tin white.', numbers: [1, 2] },
    ]);
  });

  it('a kiln that is out of service, too cool or of another atmosphere', () => {
    const words = (kiln: Partial<typeof KILN>) => failing({ kiln: { ...KILN, ...kiln } })[0]?.words;
    expect(words({ isInService: false, serviceCause: 'relay' })).toBe('Round kiln is out of service: relay.');
    expect(words({ isInService: false })).toBe('Round kiln is out of service.');
    expect(words({ maxCone: '5' })).toBe('Round kiln takes cone 5 at most, not cone 6.');
    expect(words({ maxCone: '06' })).toContain('cone 06 at most');
    expect(words({ atmospheres: ['reduction'] })).toBe('Round kiln is not fired in oxidation.');
  });

  it('pieces that went elsewhere, grew, or a plan that cannot be built', () => {
    const elsewhere = candidate(2, { notHad: { one: 'is in load 7.', many: 'are in load 7.' } });
    expect(failing({ pieces: [elsewhere] })).toMatchObject([
      { check: 'plan', words: 'Piece 2 is in load 7.', numbers: [2] },
    ]);
    const taken = [44, 45, 46, 47, 63].map((number) => ({ ...elsewhere, number }));
    const gone = candidate(9, { notHad: { one: 'does not wait any more.', many: 'do not wait any more.' } });
    expect(failing({ pieces: [...taken, gone] })).toMatchObject([
      {
        words: 'Pieces 44 to 47 and 63 are in load 7. Piece 9 does not wait any more.',
        numbers: [9, 44, 45, 46, 47, 63],
      },
    ]);
    const taller = candidate(1, { asAsked: piece(1, { heightMm: 120 }) });
    const wider = candidate(1, { asAsked: piece(1, { footprint: { shape: 'circle', diameterMm: 95 } }) });
    const smaller = candidate(1, { asAsked: piece(1, { heightMm: 90 }) });
    const turned = candidate(1, {
      asAsked: piece(1, { footprint: { shape: 'rectangle', widthMm: 60, depthMm: 80 } }),
    });
    const boxes = problem(piece(1, { footprint: { shape: 'rectangle', widthMm: 80, depthMm: 60 } }));
    expect(failing({ pieces: [taller] })).toMatchObject([{ check: 'plan', numbers: [1] }]);
    expect(failing({ pieces: [wider] })).toMatchObject([{ check: 'plan', numbers: [1] }]);
    expect(failing({ pieces: [smaller] })).toEqual([]);
    expect(failing({ problem: boxes, pieces: [turned] })).toEqual([]);
    expect(failing({ faults: ['Load 1, level 1: too close'] })[0]?.words).toBe('Load 1, level 1: too close.');
  });

  it('lists numbers as people do', () => {
    expect([listed([]), listed([4]), listed([9, 4]), listed([9, 4, 11])]).toEqual([
      '',
      '4',
      '4 and 9',
      '4, 9 and 11',
    ]);
  });
});
