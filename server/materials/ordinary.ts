/** A material and its particle density in g/cm³. */
export interface Material {
  name: string;
  density: number;
  /** The studio does not use it any more. */
  isRetired?: boolean;
}

/**
 * Ordinary glaze materials with the usual particle density of the mineral, in g/cm³, for a studio that has weighed
 * none of its own. Feldspars, clays and ashes vary by about 2 %.
 */
const ORDINARY: Material[] = [
  { name: 'Alumina hydrate', density: 2.42 },
  { name: 'Ball clay', density: 2.6 },
  { name: 'Barium carbonate', density: 4.3 },
  { name: 'Bentonite', density: 2.5 },
  { name: 'Bone ash', density: 3.1 },
  { name: 'Borax', density: 1.73 },
  { name: 'Boron frit', density: 2.5 },
  { name: 'Chromium oxide', density: 5.2 },
  { name: 'Cobalt carbonate', density: 4.1 },
  { name: 'Cobalt oxide', density: 6.1 },
  { name: 'Copper carbonate', density: 4 },
  { name: 'Copper oxide', density: 6.3 },
  { name: 'Dolomite', density: 2.85 },
  { name: 'Kaolin', density: 2.6 },
  { name: 'Lithium carbonate', density: 2.1 },
  { name: 'Magnesium carbonate', density: 3 },
  { name: 'Manganese dioxide', density: 5 },
  { name: 'Nepheline syenite', density: 2.6 },
  { name: 'Nickel oxide', density: 6.7 },
  { name: 'Potash feldspar', density: 2.57 },
  { name: 'Red iron oxide', density: 5.2 },
  { name: 'Rutile', density: 4.2 },
  { name: 'Silica', density: 2.65 },
  { name: 'Soda ash', density: 2.5 },
  { name: 'Soda feldspar', density: 2.62 },
  { name: 'Strontium carbonate', density: 3.7 },
  { name: 'Talc', density: 2.75 },
  { name: 'Tin oxide', density: 6.9 },
  { name: 'Titanium dioxide', density: 4.2 },
  { name: 'Whiting', density: 2.71 },
  { name: 'Wollastonite', density: 2.9 },
  { name: 'Wood ash', density: 2.6 },
  { name: 'Zinc oxide', density: 5.6 },
  { name: 'Zirconium silicate', density: 4.6 },
];

const { compare } = new Intl.Collator('en', { sensitivity: 'base' });
const lower = (name: string) => name.trim().toLowerCase();

/** The studio's own materials and the ordinary ones it does not have yet, by name. */
export function withOrdinary(own: Material[]): Material[] {
  const known = new Set(own.map(({ name }) => lower(name)));
  const others = ORDINARY.filter(({ name }) => !known.has(lower(name)));
  return [...own, ...others].sort((a, b) => compare(a.name, b.name));
}

/** Those that a new recipe is offered: what is used no more is left out, but for what this recipe is made of. */
export function onOffer(materials: Material[], used: readonly string[] = []): Material[] {
  const kept = new Set(used.map(lower));
  return materials.filter(({ name, isRetired }) => !isRetired || kept.has(lower(name)));
}

/** The density of a material by whatever case its name is typed in; undefined when it is not known. */
export function densityOf(name: string, materials: Material[]): number | undefined {
  return materials.find((material) => lower(material.name) === lower(name))?.density;
}
