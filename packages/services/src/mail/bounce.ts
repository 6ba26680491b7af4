import { Problem } from '@heatround/domain';
import { sql } from '@heatround/platform/database';
import { type Deps, mustBeAllowed, now, type Scope } from '../deps/index.ts';

/**
 * A delivery report that came back to the sender's address (RFC 3464), passed on by the mail server of the house: the letter it names
 * by our message id is marked, with what the other server said. Reports of success or delay mark nothing; twice is once.
 * @throws Problem invalid-request where no letter of this organisation is named.
 */
export async function noteBounce(deps: Deps, scope: Scope, report: string): Promise<{ state: 'bounced' | 'unchanged' }> {
  mustBeAllowed(scope, 'administer');
  // Fields may be folded over lines (RFC 5322, 2.2.3).
  const unfolded = report.replace(/\r?\n[ \t]+/g, ' ');
  const field = (name: string): string | null => new RegExp(`^${name}:[ \\t]*(.+?)\\s*$`, 'im').exec(unfolded)?.[1] ?? null;
  const ids = [...unfolded.matchAll(/<([0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12})@[^>\s]+>/gi)].map(([, id]) =>
    id!.toLowerCase(),
  );
  const known = await deps.database.inTenant(scope, async ({ db }) => {
    const rows = await db.$queryRaw<{ id: string }[]>(
      sql`SELECT id FROM mail WHERE organisation_id = current_organisation() AND id = ANY (${ids.slice(0, 50)}::uuid[])`,
    );
    const id = rows[0]?.id;
    if (id === undefined) return null;
    const action = field('Action')?.toLowerCase() ?? null;
    const status = field('Status');
    if (action !== 'failed' && !(action === null && status?.startsWith('5'))) return 'unchanged' as const;
    const answer = [status, field('Diagnostic-Code')?.replace(/^smtp;\s*/i, '')].filter(Boolean).join(' ').slice(0, 500);
    await db.$executeRaw(sql`
      UPDATE mail SET state = 'bounced', answer = ${answer}, state_at = ${new Date(now(deps, scope))}
      WHERE organisation_id = current_organisation() AND id = ${id}::uuid AND state IN ('sent', 'unsure')`);
    return 'bounced' as const;
  });
  if (known === null)
    throw new Problem('invalid-request', 'No letter of this organisation is named in the report; nothing was changed.', [
      { pointer: '#/report', detail: 'a delivery report with the message id of a letter' },
    ]);
  return { state: known };
}
