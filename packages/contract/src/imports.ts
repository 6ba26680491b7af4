import * as z from 'zod';
import { defineEndpoint, id, instant, pageSize } from './endpoint.ts';

export const IMPORT_KINDS = ['readings', 'work', 'assets', 'points', 'limits', 'routes'] as const;
export type ImportKind = (typeof IMPORT_KINDS)[number];

/**
 * What a column means. A target is a word of the kind concerned, for readings for instance: tag, letter, takenAt, value,
 * load, ambient, words; file-wide defaults fill what no column carries.
 */
export const importMapping = z.strictObject({
  /** Target word → column name of the file. */
  columns: z.record(z.string().max(60), z.string().max(200)),
  /** Target word → value for every row, such as unit: °F, zone: Europe/Dublin, hour: 08:00, tag, letter. */
  defaults: z.record(z.string().max(60), z.string().max(300)).default({}),
  /** Make points (and their assets) that the file names and the register does not know, with this one limit each. */
  makeMissing: z
    .strictObject({
      roomId: id,
      quantity: z.string().max(40),
      criticality: z.enum(['A', 'B', 'C']).default('C'),
      criticalityReason: z.string().trim().min(1).max(500),
      /** Column that holds the limit, or a figure for all. */
      limitColumn: z.string().max(200).nullable().default(null),
      limit: z.number().nullable().default(null),
      limitGrade: z.enum(['watch', 'plan', 'soon', 'now']).default('soon'),
      direction: z.enum(['high', 'low']).default('high'),
      source: z.string().trim().min(1).max(300),
      reason: z.string().trim().min(1).max(1000),
    })
    .nullable()
    .default(null),
});
export type ImportMapping = z.output<typeof importMapping>;

export const importError = z
  .object({ row: z.number().int(), column: z.string().nullable(), expected: z.string(), found: z.string() })
  .meta({ id: 'ImportError' });
export type ImportError = z.output<typeof importError>;

export const importUndo = z
  .object({
    /** How many readings, work, assets, points, … */
    goes: z.record(z.string(), z.number()),
    stays: z.record(z.string(), z.number()),
    /** The first of those that stay, and why. */
    examples: z.array(z.object({ name: z.string(), why: z.string() })),
  })
  .meta({ id: 'ImportUndo' });
export type ImportUndo = z.output<typeof importUndo>;

export const importView = z
  .object({
    id,
    kind: z.enum(IMPORT_KINDS),
    fileName: z.string(),
    /** uploaded → checking → checked → bringing-in → brought-in → taking-back → taken-back; refused: nothing was brought in. */
    state: z.enum(['uploaded', 'checking', 'checked', 'bringing-in', 'brought-in', 'refused', 'taking-back', 'taken-back']),
    columns: z.array(z.string()),
    /** First rows of the file, for the mapping step. */
    sample: z.array(z.array(z.string())),
    mapping: importMapping.nullable(),
    /** Proposed from the column names. */
    proposal: importMapping,
    rowCount: z.number().int(),
    doneCount: z.number().int(),
    badCount: z.number().int(),
    /** First bad rows, at most 100. */
    errors: z.array(importError),
    /** What a run would do or did: created, duplicate, conflict, pointsMade, assetsMade, skipped. */
    summary: z.record(z.string(), z.number()).nullable(),
    /** What the check understood, in short sentences: units, times, decimal mark, points, limits as stored, rows in words. */
    understood: z.array(z.string()),
    /** What a person should look at before the file comes in. */
    warnings: z.array(z.string()),
    /** Until when it can be taken back; null while it is not brought in. */
    undoUntil: instant.nullable(),
    /** What going back took with it and what stays; null: nobody took it back. */
    undo: importUndo.nullable(),
    createdAt: instant,
  })
  .meta({ id: 'Import' });
export type ImportView = z.output<typeof importView>;

const one = z.object({ importId: id });

export const startImport = defineEndpoint({
  name: 'startImport',
  summary: 'Upload a CSV file; its rows are staged and nothing is brought in yet. Same id and text again: the same import.',
  method: 'POST',
  path: '/api/imports',
  access: 'edit-register',
  body: z.strictObject({
    id,
    kind: z.enum(IMPORT_KINDS),
    fileName: z.string().trim().min(1).max(200),
    text: z.string().max(30_000_000),
  }),
  status: 201,
  response: importView,
});

export const checkImport = defineEndpoint({
  name: 'checkImport',
  summary:
    'Dry run with a mapping: every row is read and judged, nothing is brought in. Runs in the background; ask for the import to see progress.',
  method: 'POST',
  path: '/api/imports/:importId/check',
  access: 'edit-register',
  params: one,
  body: z.strictObject({ mapping: importMapping }),
  status: 202,
  response: importView,
});

export const runImport = defineEndpoint({
  name: 'runImport',
  summary: 'Bring in a checked file. With bad rows nothing is brought in unless skipBadRows is true.',
  method: 'POST',
  path: '/api/imports/:importId/run',
  access: 'edit-register',
  params: one,
  body: z.strictObject({ skipBadRows: z.boolean().default(false) }),
  status: 202,
  response: importView,
});

export const getImport = defineEndpoint({
  name: 'getImport',
  summary: 'State, progress and errors of one import.',
  method: 'GET',
  path: '/api/imports/:importId',
  access: 'edit-register',
  params: one,
  status: 200,
  response: importView,
});

export const listImports = defineEndpoint({
  name: 'listImports',
  summary: 'Imports of the organisation, newest first.',
  method: 'GET',
  path: '/api/imports',
  access: 'edit-register',
  query: z.object({ pageSize: pageSize(100, 20) }),
  status: 200,
  response: z.object({
    imports: z.array(importView.omit({ sample: true, proposal: true, errors: true, understood: true, warnings: true })),
  }),
});

export const importTemplate = defineEndpoint({
  name: 'importTemplate',
  summary: 'An example file of a kind, as CSV text to download and fill in.',
  method: 'GET',
  path: '/api/import-templates/:kind',
  access: 'edit-register',
  params: z.object({ kind: z.enum(IMPORT_KINDS) }),
  status: 200,
  response: z.object({ fileName: z.string(), text: z.string() }),
});

export const previewUndo = defineEndpoint({
  name: 'previewUndo',
  summary: 'What taking an import back would take with it and what would stay; nothing is changed.',
  method: 'GET',
  path: '/api/imports/:importId/undo',
  access: 'edit-register',
  params: one,
  status: 200,
  response: importUndo,
});

export const undoImport = defineEndpoint({
  name: 'undoImport',
  summary:
    'Take back what an import brought in, within 24 hours and where nobody built on it since. Its facts count no longer; what people entered stays. Again: no change.',
  method: 'POST',
  path: '/api/imports/:importId/undo',
  access: 'edit-register',
  params: one,
  status: 202,
  response: importView,
});
