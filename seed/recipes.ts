import type { RecipeCommand } from '../server/materials/service/index.ts';

const SODA_FELDSPAR = ['Soda feldspar', 2.62] as const;
const POTASH_FELDSPAR = ['Potash feldspar', 2.57] as const;
const NEPHELINE_SYENITE = ['Nepheline syenite', 2.6] as const;
const SILICA = ['Silica', 2.65] as const;
const WHITING = ['Whiting', 2.71] as const;
const KAOLIN = ['Kaolin', 2.6] as const;
const BALL_CLAY = ['Ball clay', 2.6] as const;
const TALC = ['Talc', 2.75] as const;
const DOLOMITE = ['Dolomite', 2.85] as const;
const BORON_FRIT = ['Boron frit', 2.5] as const;
const ZINC_OXIDE = ['Zinc oxide', 5.6] as const;
const TIN_OXIDE = ['Tin oxide', 6.9] as const;
const TITANIUM_DIOXIDE = ['Titanium dioxide', 4.2] as const;
const ZIRCONIUM_SILICATE = ['Zirconium silicate', 4.6] as const;
const RED_IRON_OXIDE = ['Red iron oxide', 5.2] as const;
const COBALT_CARBONATE = ['Cobalt carbonate', 4.1] as const;
const COPPER_CARBONATE = ['Copper carbonate', 4] as const;
const MANGANESE_DIOXIDE = ['Manganese dioxide', 5] as const;
const WOOD_ASH = ['Wood ash, unwashed', 2.6] as const;
const SODA_ASH = ['Soda ash', 2.5] as const;

const MIXED_GLAZE = ['Glaze of many recipes', 2.65] as const;

type Line = readonly [material: readonly [name: string, density: number], parts: number];

const of = (lines: Line[], hasSolubles = false): RecipeCommand => ({
  lines: lines.map(([[material, density], parts]) => ({ material, density, parts })),
  hasSolubles,
});

/** Invented glazes of ordinary materials; colourants are parts beyond the hundred. */
export const RECIPES = {
  'Harbour Grey': of([
    [SODA_FELDSPAR, 38],
    [SILICA, 24],
    [WHITING, 18],
    [KAOLIN, 20],
    [RED_IRON_OXIDE, 1.5],
    [COBALT_CARBONATE, 0.5],
  ]),
  'Copper Fern': of([
    [NEPHELINE_SYENITE, 35],
    [SILICA, 25],
    [WHITING, 20],
    [KAOLIN, 20],
    [COPPER_CARBONATE, 4],
    [TIN_OXIDE, 2],
  ]),
  'Rain Moss': of([
    [BORON_FRIT, 30],
    [SODA_FELDSPAR, 25],
    [SILICA, 20],
    [KAOLIN, 25],
    [COPPER_CARBONATE, 2],
    [RED_IRON_OXIDE, 2],
  ]),
  'Oat Satin': of([
    [POTASH_FELDSPAR, 40],
    [TALC, 15],
    [DOLOMITE, 15],
    [SILICA, 10],
    [BALL_CLAY, 20],
    [TITANIUM_DIOXIDE, 4],
  ]),
  Kelp: of(
    [
      [WOOD_ASH, 40],
      [POTASH_FELDSPAR, 35],
      [BALL_CLAY, 25],
      [SODA_ASH, 3],
      [RED_IRON_OXIDE, 2],
    ],
    true,
  ),
  'Cinder Black': of([
    [POTASH_FELDSPAR, 42],
    [SILICA, 26],
    [WHITING, 16],
    [BALL_CLAY, 16],
    [RED_IRON_OXIDE, 8],
    [MANGANESE_DIOXIDE, 2],
  ]),
  Chalk: of([
    [NEPHELINE_SYENITE, 32],
    [DOLOMITE, 20],
    [SILICA, 23],
    [KAOLIN, 25],
    [ZIRCONIUM_SILICATE, 8],
  ]),
  'Tide Blue': of([
    [BORON_FRIT, 20],
    [SODA_FELDSPAR, 30],
    [SILICA, 22],
    [WHITING, 10],
    [KAOLIN, 18],
    [COBALT_CARBONATE, 1],
    [TITANIUM_DIOXIDE, 3],
  ]),
  'Quarry Honey': of([
    [POTASH_FELDSPAR, 36],
    [SILICA, 20],
    [WHITING, 22],
    [BALL_CLAY, 22],
    [RED_IRON_OXIDE, 5],
  ]),
  'Willow Dusk': of([
    [NEPHELINE_SYENITE, 30],
    [TALC, 12],
    [WHITING, 14],
    [SILICA, 22],
    [KAOLIN, 22],
    [ZINC_OXIDE, 4],
    [COBALT_CARBONATE, 0.5],
  ]),
  'First Frost': of([
    [BORON_FRIT, 25],
    [SODA_FELDSPAR, 28],
    [SILICA, 25],
    [KAOLIN, 22],
    [TIN_OXIDE, 5],
  ]),
  Brickfield: of([
    [POTASH_FELDSPAR, 45],
    [SILICA, 15],
    [WHITING, 12],
    [BALL_CLAY, 28],
    [RED_IRON_OXIDE, 9],
  ]),
  'Weir Foam': of([
    [NEPHELINE_SYENITE, 34],
    [SILICA, 22],
    [WHITING, 16],
    [BALL_CLAY, 28],
    [ZINC_OXIDE, 3],
  ]),
  /** Nobody knows what is in it; its solids are about as dense as most glazes'. */
  'Mixed reclaim': of([[MIXED_GLAZE, 100]]),
  'Old Mill': of([
    [SODA_FELDSPAR, 50],
    [SILICA, 15],
    [WHITING, 15],
    [KAOLIN, 20],
  ]),
} satisfies Record<string, RecipeCommand>;

export type DemoRecipe = keyof typeof RECIPES;

/** Newer versions: one that its bucket has taken on, and one that no bucket has yet. */
export const REVISIONS: {
  recipe: DemoRecipe;
  daysAgo: number;
  takenOn: boolean;
  command: RecipeCommand;
}[] = [
  {
    recipe: 'Chalk',
    daysAgo: 10,
    takenOn: true,
    command: of([
      [NEPHELINE_SYENITE, 32],
      [DOLOMITE, 18],
      [SILICA, 25],
      [KAOLIN, 25],
      [ZIRCONIUM_SILICATE, 10],
    ]),
  },
  {
    recipe: 'Oat Satin',
    daysAgo: 3,
    takenOn: false,
    command: of([
      [POTASH_FELDSPAR, 40],
      [TALC, 14],
      [DOLOMITE, 14],
      [SILICA, 12],
      [BALL_CLAY, 20],
      [TITANIUM_DIOXIDE, 4],
    ]),
  },
];
