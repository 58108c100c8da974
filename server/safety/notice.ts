import { type ClassBasis, isWorse } from './worse.ts';

// What a notice says, whether it is in force, and who has still to read it.

export const TASKS = ['dipping', 'mixing', 'cleaning'] as const;
export type Task = (typeof TASKS)[number];

export type NoticeScope = 'bucket' | 'material' | 'kiln' | 'room' | 'everywhere';

/** The words of a notice before a person has edited them; '' where there is nothing beyond the common rules. */
export type Draft = { title: string } & Record<Task, string>;

interface Rule {
  /** Of several rules of one group the first that fits speaks for all of them. */
  group: string;
  /** Matches H-codes. */
  when: RegExp;
  words: string;
}

/** Goes into the lungs as dust or mist, or does there what it does. */
const BREATHED = /^H(33[0-6]|34[01]|35[01]|36[01]|37[0-3])/;
const UNBORN = /^H36[012]/;

/**
 * Only what goes beyond the common rules of the yearly induction (no eating, wash hands, clean wet, respirator for dry
 * powders). The worst of a group comes first. Words of our own; common practice, no source.
 */
const RULES: Record<Task, Rule[]> = {
  dipping: [
    {
      group: 'hands',
      when: /^H314/,
      words: 'Gloves, goggles and apron: a splash burns. Rinse it off at once with much water.',
    },
    {
      group: 'hands',
      when: /^H31[01]/,
      words: 'Gloves: it poisons through the skin. Wash splashes off at once.',
    },
    { group: 'hands', when: /^H317/, words: 'Gloves for dipping; wash off splashes.' },
    { group: 'hands', when: /^H(312|315|34[01]$|35[01]$|36[01])/, words: 'Gloves if hands go in.' },
    { group: 'eyes', when: /^H318/, words: 'Goggles: a splash can damage the eye for good.' },
    { group: 'eyes', when: /^H(314|319)/, words: 'Goggles where it splashes.' },
    {
      group: 'mouth',
      when: /^H30[01]/,
      words: 'Poisonous if swallowed: no hand near the mouth until washed.',
    },
    { group: 'unborn', when: UNBORN, words: 'Pregnant or nursing: ask the technician first.' },
  ],
  mixing: [
    { group: 'breath', when: BREATHED, words: 'Never mix or spray without respirator and local exhaust.' },
    { group: 'asthma', when: /^H334/, words: 'Breathing gets tight: stop, go out, tell somebody.' },
    { group: 'powder', when: /^H31[48]/, words: 'Goggles and gloves for the powder.' },
    { group: 'powder', when: /^H31[017]/, words: 'Gloves for the powder.' },
    { group: 'unborn', when: UNBORN, words: 'Pregnant or nursing: ask the technician first.' },
  ],
  cleaning: [
    { group: 'drain', when: /^H4(00|1[0-3])/, words: 'Nothing down the drain: rinse in the rinse bucket.' },
    { group: 'hands', when: /^H31[0147]/, words: 'Gloves for cleaning too.' },
    {
      group: 'dried',
      when: /^H(33[014]|340|350|360|372)/,
      words: 'Dried splashes: wet them first, respirator on.',
    },
  ],
};

/** What a notice is called after, the worst first. Our own short words for what the H-statements say. */
const EFFECTS: [when: RegExp, words: string][] = [
  [/^H3[013]0/, 'can kill'],
  [/^H350/, 'may cause cancer'],
  [/^H340/, 'may harm genes'],
  [/^H360/, 'may harm fertility or an unborn child'],
  [/^H3[013]1/, 'poisonous'],
  [/^H334/, 'may cause asthma'],
  [/^H372/, 'harms organs over time'],
  [/^H370/, 'harms organs'],
  [/^H314/, 'burns skin and eyes'],
  [/^H318/, 'can damage eyes for good'],
  [/^H317/, 'may cause skin allergy'],
  [/^H351/, 'may cause cancer'],
  [/^H341/, 'may harm genes'],
  [/^H361/, 'may harm fertility or an unborn child'],
  [/^H362/, 'may harm breast-fed children'],
  [/^H373/, 'may harm organs over time'],
  [/^H371/, 'may harm organs'],
  [/^H304/, 'dangerous if it gets into the airways'],
  [/^H3[013]2/, 'harmful if it gets into the body'],
  [/^H4[01]0/, 'very toxic to water life'],
  [/^H411/, 'toxic to water life'],
  [/^H41[23]/, 'harmful to water life'],
  [/^H335/, 'irritates the airways'],
  [/^H315/, 'irritates skin'],
  [/^H319/, 'irritates eyes'],
];

/**
 * A title and three lines by task, from what is known of a mixture or a substance.
 * @param name what the bucket or the material is called
 * @param hCodes of its classes, such as 'H373' or 'H350i', in any order
 * @param ofDust those of them that only dust or mist does: a wet bucket gives off none, so the title says so
 */
export function draft(name: string, hCodes: readonly string[], ofDust: readonly string[] = []): Draft {
  const fits = (when: RegExp) => hCodes.some((code) => when.test(code));
  const line = (task: Task): string => {
    const spoken = new Set<string>();
    const said: string[] = [];
    for (const { group, when, words } of RULES[task]) {
      if (spoken.has(group) || !fits(when)) continue;
      // Whoever is told of goggles with the gloves is not told of them twice.
      if (group === 'eyes' && said[0]?.includes('goggles')) continue;
      spoken.add(group);
      said.push(words);
    }
    return said.join(' ');
  };
  return {
    title: [name, effectsOf(hCodes, ofDust)].filter(Boolean).join(': '),
    dipping: line('dipping'),
    mixing: line('mixing'),
    cleaning: line('cleaning'),
  };
}

/** The two worst, of these what the wet glaze does first: 'burns skin and eyes; its dust may cause cancer'. */
function effectsOf(hCodes: readonly string[], ofDust: readonly string[]): string {
  const effects = EFFECTS.flatMap(([when, words]) => {
    const codes = hCodes.filter((code) => when.test(code));
    return codes.length === 0 ? [] : [{ words, dust: codes.every((code) => ofDust.includes(code)) }];
  });
  const told = effects
    .filter(({ words }, at) => effects.findIndex((e) => e.words === words) === at)
    .slice(0, 2);
  const join = (dust: boolean) => told.flatMap((e) => (e.dust === dust ? e.words : [])).join(', ');
  return [join(false), join(true) && `its dust ${join(true)}`].filter(Boolean).join('; ');
}

export interface Validity {
  kind: 'posted' | 'withdrawn';
  /** YYYY-MM-DD, the last day included; null: no end. */
  validFrom: string;
  validTo: string | null;
}

export type Standing = 'in-force' | 'not-yet' | 'ended' | 'withdrawn';

/** How a version stands on a day of the studio, YYYY-MM-DD. */
export function standing({ kind, validFrom, validTo }: Validity, today: string): Standing {
  if (kind === 'withdrawn') return 'withdrawn';
  if (today < validFrom) return 'not-yet';
  return validTo !== null && validTo < today ? 'ended' : 'in-force';
}

export interface Reads {
  /** Whether this person read this very version. */
  own: boolean;
  /** The classes that all notices they ever read stood for. */
  bases: readonly ClassBasis[];
}

/**
 * Whether a person has read a notice, so that it need not be asked again.
 *
 * A notice that stands for classes is read once for all that are the same or less severe, whichever bucket it hung on,
 * and again only when the class gets worse. One that stands for none (written by hand, or of a mixture without a class)
 * has nothing but its words: each new version of it is read for itself.
 */
export function hasRead(basis: ClassBasis | null, { own, bases }: Reads): boolean {
  if (own) return true;
  if (basis === null || basis.classes.length === 0) return false;
  return bases.some((read) => !isWorse(read, basis));
}

/** What a classification says now that it did not say then, and the other way round; null where nothing differs. */
export function changeOf(
  then: ClassBasis,
  now: ClassBasis,
): { appeared: string[]; vanished: string[] } | null {
  const appeared = now.classes.filter((one) => !then.classes.includes(one));
  const vanished = then.classes.filter((one) => !now.classes.includes(one));
  return appeared.length + vanished.length === 0 ? null : { appeared, vanished };
}

/** 'now STOT RE 2 H373; no more Skin Sens. 1 H317'. */
export function changeWords({ appeared, vanished }: { appeared: string[]; vanished: string[] }): string {
  return [
    appeared.length > 0 && `now ${appeared.join(', ')}`,
    vanished.length > 0 && `no more ${vanished.join(', ')}`,
  ]
    .filter(Boolean)
    .join('; ');
}
