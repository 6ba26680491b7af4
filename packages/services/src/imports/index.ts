/**
 * Bringing in files: a CSV file is stored row by row, read with a mapping in a dry run, and brought in when a person says so.
 * Hides the separators, the ways dates and figures are written, and how rows become facts, points and assets.
 * What always holds: nothing but the file's own rows is written before it is brought in; with a bad row nothing comes in unless the
 * person asked to skip it; the same file twice gives the same database; a worker that dies is followed by one that goes on.
 * A file can be taken back for a day: its facts count no longer, what nobody built on goes, what a person entered stays.
 * Imported facts are facts like all others: judged with the limits of their day. They create no findings.
 */
export { checkImport, checkImportJob, type ImportPayload } from './check.job.ts';
export { type CellError, type ImportKind, type ImportMapping, type MakeMissing, TARGETS } from './mapping.ts';
export { ruleOf } from './rule-words.ts';
export { runImport, runImportJob } from './run.job.ts';
export { startImport } from './start.ts';
export type { ImportState } from './steps.ts';
export { findDueImports } from './sweep.ts';
export { importTemplate } from './templates.ts';
export { previewUndo, type Undo, undoImport, undoImportJob } from './undo.job.ts';
export { getImport, type ImportLine, type ImportView, listImports } from './views.ts';
