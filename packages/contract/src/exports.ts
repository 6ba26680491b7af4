import * as z from 'zod';
import { defineEndpoint } from './endpoint.ts';

/** Tables that can be taken out, in the order a person would look for them. */
export const EXPORT_TABLES = [
  'places',
  'assets',
  'points',
  'limits',
  'readings',
  'answers',
  'forecasts',
  'routes',
  'stops',
  'rounds',
  'windows',
  'findings',
  'orders',
  'moves',
  'people',
] as const;

export const exportTable = defineEndpoint({
  name: 'exportTable',
  summary:
    'One table of the organisation as a file, as far as the caller may see it. Instants are UTC. No text is written so that a spreadsheet would compute it.',
  method: 'GET',
  path: '/api/exports/:table',
  access: 'see',
  params: z.object({ table: z.enum(EXPORT_TABLES) }),
  query: z.object({ format: z.enum(['csv', 'xlsx']).default('csv') }),
  status: 200,
  response: z.any(),
  isFile: true,
});
