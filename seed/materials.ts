import { DAY, type Instant } from '../server/core/clock.ts';
import { documentIn } from '../server/core/files.ts';
import { shownDay } from '../server/core/wall-time.ts';
import type { MaterialFacts } from '../server/materials/facts.ts';
import {
  addCommon,
  addSheet,
  factsOf,
  listRegister,
  saveMaterial,
} from '../server/materials/service/index.ts';
import type { By } from './ware.ts';

interface DemoSheet {
  material: string;
  /** Days ago: the date on the sheet, and when it was filed here. */
  issued: number;
  filed: number;
  /** What its section 2 says, where that goes beyond the public list or stands in for one. */
  says?: (facts: MaterialFacts) => Partial<MaterialFacts>;
  /** Days ago: somebody saw that the supplier has a newer one. */
  replaced?: number;
}

/** Invented. */
const SUPPLIER = 'Fellmoor Minerals';

const SHEETS: DemoSheet[] = [
  {
    material: 'Manganese dioxide',
    issued: 400,
    filed: 20,
    says: ({ hazards }) => ({
      hazards: [
        ...hazards.map(({ note: _, ...rest }) => rest),
        { hazardClass: 'STOT RE 1', hCode: 'H372', note: 'brain, by inhalation' },
      ],
      pStatements: ['P260', 'P264', 'P270', 'P314'],
    }),
  },
  { material: 'Cobalt carbonate', issued: 1_500, filed: 20 },
  { material: 'Copper carbonate', issued: 700, filed: 20, replaced: 3 },
  // Earths that this supplier sells as not classified. Of its silica it has sent no sheet yet.
  ...[
    'Whiting',
    'Soda feldspar',
    'Potash feldspar',
    'Nepheline syenite',
    'Kaolin',
    'Ball clay',
    'Dolomite',
    'Red iron oxide',
    'Tin oxide',
    'Zirconium silicate',
  ].map(
    (material): DemoSheet => ({ material, issued: 300, filed: 19, says: () => ({ classification: 'none' }) }),
  ),
];

/**
 * The register as a technician filled it in three weeks ago: the common materials by the public lists, and what one
 * supplier's sheets say. To be called once the recipes are written.
 */
export async function fillRegister(by: By, now: Instant): Promise<void> {
  const at = (days: number) => by('Wren', now - days * DAY);
  const dayOf = (days: number) => new Date(now - days * DAY).toISOString().slice(0, 10);
  await addCommon(at(21));
  const register = await listRegister(at(21));
  for (const { material, issued, filed, says, replaced } of SHEETS) {
    const found = register.find(({ name }) => name === material);
    if (!found) throw new Error(`${material} is not among the common ones.`);
    const { id, name, density } = found;
    const issuedOn = dayOf(issued);
    const pdf = pdfOf([
      SUPPLIER,
      'Safety data sheet',
      name,
      `Revision of ${shownDay(issuedOn)}`,
      'Made up for a demo.',
    ]);
    await addSheet(
      at(filed),
      id,
      { kind: 'sheet', supplier: SUPPLIER, issuedOn, language: 'English' },
      documentIn({ bytes: pdf, isTooLarge: false }, 'sheet'),
    );
    if (says) {
      const facts = await factsOf(at(filed), id);
      const source = `${SUPPLIER}, safety data sheet of ${shownDay(issuedOn)}, section 2.`;
      const command = { name, density, facts: { ...facts, ...says(facts), source, supplier: SUPPLIER } };
      await saveMaterial(at(filed), id, command);
    }
    if (replaced !== undefined) await addSheet(at(replaced), id, { kind: 'newer-exists' }, null);
  }
}

/** A page with these lines: the least that a PDF reader opens. */
function pdfOf(lines: string[]): Buffer {
  const text = lines.map((line) => `(${line.replace(/[\\()]/g, '\\$&')}) Tj T*`).join('\n');
  const content = `BT /F1 14 Tf 20 TL 60 780 Td\n${text}\nET`;
  const objects = [
    '<< /Type /Catalog /Pages 2 0 R >>',
    '<< /Type /Pages /Kids [3 0 R] /Count 1 >>',
    '<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] /Contents 4 0 R /Resources << /Font << /F1 5 0 R >> >> >>',
    `<< /Length ${content.length} >>\nstream\n${content}\nendstream`,
    '<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>',
  ];
  let file = '%PDF-1.4\n';
  const offsets: number[] = [];
  for (const [i, object] of objects.entries()) {
    offsets.push(file.length);
    file += `${i + 1} 0 obj\n${object}\nendobj\n`;
  }
  const table = offsets.map((offset) => `${String(offset).padStart(10, '0')} 00000 n \n`).join('');
  const size = objects.length + 1;
  return Buffer.from(
    `${file}xref\n0 ${size}\n0000000000 65535 f \n${table}trailer\n<< /Size ${size} /Root 1 0 R >>\nstartxref\n${file.length}\n%%EOF\n`,
    'latin1',
  );
}
