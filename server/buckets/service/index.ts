export * from './due.ts';
export * from './edit.ts';
export * from './examine.ts';
export * from './gear.ts';
export * from './now.ts';
export * from './page.ts';
export * from './record.ts';
