import { sql } from '@heatround/platform/database';
import type { Deps, Scope } from '../deps/index.ts';
import type { TableOfExport } from './tables.ts';

/** Rows of one page: short transactions, whatever the length of the table. */
const PAGE = 2000;

export type Cell = string | number | boolean | Date | null;

/** All rows of a table in the order of its key, page by page, each read in a transaction of its own. */
export async function* rowsOf({ database }: Deps, scope: Scope, table: TableOfExport): AsyncGenerator<Cell[][]> {
  const names = table.key.map((_, i) => `k${i}`);
  const keys = sql.join(
    table.key.map(({ of }, i) => sql`${of}::text AS ${sql.raw(names[i]!)}`),
    ', ',
  );
  const key = sql.join(
    table.key.map(({ of }) => of),
    ', ',
  );
  const cells = sql.join(
    table.columns.map(({ of, kind }, i) => sql`${kind === 'text' ? sql`(${of})::text` : of} AS ${sql.raw(`c${i}`)}`),
    ', ',
  );
  for (let last: string[] | null = null; ; ) {
    const beyond = last
      ? sql`AND (${key}) > (${sql.join(
          last.map((value, i) => sql`${value}::${sql.raw(table.key[i]!.type)}`),
          ', ',
        )})`
      : sql.empty;
    const page: Record<string, Cell | bigint>[] = await database.inTenant(scope, ({ db }) =>
      db.$queryRaw<Record<string, Cell | bigint>[]>(
        sql`SELECT ${keys}, ${cells} FROM ${table.from} ${beyond} ORDER BY ${key} LIMIT ${PAGE}`,
      ),
    );
    if (page.length > 0)
      yield page.map((row) =>
        table.columns.map((_, i) => {
          const cell = row[`c${i}`] ?? null;
          return typeof cell === 'bigint' ? Number(cell) : cell;
        }),
      );
    const end = page.at(-1);
    if (page.length < PAGE || !end) return;
    last = names.map((name) => String(end[name]));
  }
}
