import { Problem } from '@heatround/domain';
import { sql } from '@heatround/platform/database';
import { type Deps, mustBeAllowed, notFound, type Scope } from '../deps/index.ts';
import type { MailState } from '../people/index.ts';

export interface MailLine {
  readonly id: string;
  readonly kind: 'due' | 'invitation';
  readonly to: string;
  readonly subject: string;
  readonly state: MailState;
  readonly answer: string | null;
  readonly attempts: number;
  readonly madeAt: Date;
  readonly stateAt: Date;
}

interface Cursor {
  readonly at: string;
  readonly id: string;
}

function readCursor(text: string): Cursor {
  try {
    const { at, id } = JSON.parse(Buffer.from(text, 'base64url').toString()) as Cursor;
    if (!Number.isNaN(Date.parse(at)) && typeof id === 'string' && /^[0-9a-f-]{36}$/.test(id)) return { at, id };
  } catch {
    // The same answer as for any other text.
  }
  throw new Problem('invalid-request', 'The mark of the next page is not one of ours.', [
    { pointer: '#/after', detail: 'the value of next from the page before' },
  ]);
}

/**
 * Letters, newest first: one's own, or for an administrator all, or only those that did not arrive.
 * The subject of an invitation is said in words, since its letter is not kept.
 */
export async function listMail(
  { database }: Deps,
  scope: Scope,
  query: { which: 'mine' | 'all' | 'in-trouble'; after?: string | undefined; pageSize: number },
): Promise<{ mail: MailLine[]; next: string | null }> {
  mustBeAllowed(scope, query.which === 'mine' ? 'see' : 'administer');
  const after = query.after === undefined ? null : readCursor(query.after);
  const rows = await database.inTenant(scope, ({ db }) =>
    db.$queryRaw<MailLine[]>(sql`
      SELECT l.id, l.kind, coalesce(m.name, i.name || ' <' || i.email || '>', '') AS "to", l.subject, l.state, l.answer, l.attempts,
        l.made_at AS "madeAt", l.state_at AS "stateAt"
      FROM mail l LEFT JOIN membership m ON m.organisation_id = l.organisation_id AND m.person_id = l.person_id
        LEFT JOIN invitation i ON i.organisation_id = l.organisation_id AND i.id = l.invitation_id
      WHERE l.organisation_id = current_organisation()
        ${query.which === 'mine' ? sql`AND l.person_id = ${scope.personId}::uuid` : sql.empty}
        ${query.which === 'in-trouble' ? sql`AND l.state IN ('refused', 'bounced', 'unsure')` : sql.empty}
        ${after === null ? sql.empty : sql`AND (l.made_at, l.id) < (${new Date(after.at)}::timestamptz, ${after.id}::uuid)`}
      ORDER BY l.made_at DESC, l.id DESC LIMIT ${query.pageSize + 1}`),
  );
  const mail = rows.slice(0, query.pageSize);
  const last = mail.at(-1);
  const next =
    rows.length > query.pageSize && last
      ? Buffer.from(JSON.stringify({ at: last.madeAt.toISOString(), id: last.id })).toString('base64url')
      : null;
  return { mail, next };
}

/** One letter as it was written; of an invitation only that it was, since whoever holds its link can join. */
export async function getMail({ database }: Deps, scope: Scope, mailId: string): Promise<MailLine & { text: string }> {
  mustBeAllowed(scope, 'see');
  const [row] = await database.inTenant(scope, ({ db }) =>
    db.$queryRaw<(MailLine & { text: string; personId: string | null })[]>(sql`
      SELECT l.id, l.kind, l.person_id AS "personId", coalesce(m.name, i.name || ' <' || i.email || '>', '') AS "to", l.subject, l.state,
        l.answer, l.attempts, l.made_at AS "madeAt", l.state_at AS "stateAt", l.body_text AS text
      FROM mail l LEFT JOIN membership m ON m.organisation_id = l.organisation_id AND m.person_id = l.person_id
        LEFT JOIN invitation i ON i.organisation_id = l.organisation_id AND i.id = l.invitation_id
      WHERE l.organisation_id = current_organisation() AND l.id = ${mailId}::uuid`),
  );
  if (!row) throw notFound('letter');
  if (row.personId !== scope.personId) mustBeAllowed(scope, 'administer');
  // The link in the foot acts for the person it was written to.
  const { personId: _, ...line } = row;
  return { ...line, text: line.text.replace(/(\/unsubscribe\/)\S+/g, '$1…') };
}
