import { type Database, type Sql, sql, type TenantDb } from '@heatround/platform/database';

/** A database that prints the plan of each statement it is asked, as the service's own role runs it; for the eye. */
export function showingPlans(database: Database, what: string): Database {
  console.log(`--- ${what}`);
  return {
    ...database,
    inTenant: (tenant, work) =>
      database.inTenant(tenant, (unit) => {
        const explaining = async (statement: Sql) => {
          const plan = await unit.db.$queryRaw<{ 'QUERY PLAN': string }[]>(
            sql`EXPLAIN (ANALYZE, COSTS OFF, BUFFERS) ${statement}`,
          );
          console.log(`${plan.map((row) => row['QUERY PLAN']).join('\n')}\n`);
          return unit.db.$queryRaw(statement);
        };
        const db = new Proxy(unit.db as object, {
          get: (target, key) => (key === '$queryRaw' ? explaining : Reflect.get(target, key)),
        }) as TenantDb;
        return work({ ...unit, db });
      }),
  };
}
