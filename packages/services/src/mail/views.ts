import { sql } from '@heatround/platform/database';
import { type Deps, ID, INSTANT, mustBeAllowed, notFound, readMark, type Scope, writeMark } from '../deps/index.ts';
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
  const after = readMark(query.after, [INSTANT, ID]);
  const rows = await database.inTenant(scope, ({ db }) =>
    db.$queryRaw<MailLine[]>(sql`
      SELECT l.id, l.kind, coalesce(m.name, i.name || ' <' || i.email || '>', '') AS "to", l.subject, l.state, l.answer, l.attempts,
        l.made_at AS "madeAt", l.state_at AS "stateAt"
      FROM mail l LEFT JOIN membership m ON m.organisation_id = l.organisation_id AND m.person_id = l.person_id
        LEFT JOIN invitation i ON i.organisation_id = l.organisation_id AND i.id = l.invitation_id
      WHERE l.organisation_id = current_organisation()
        ${query.which === 'mine' ? sql`AND l.person_id = ${scope.personId}::uuid` : sql.empty}
        ${query.which === 'in-trouble' ? sql`AND l.state IN ('refused', 'bounced', 'unsure')` : sql.empty}
        ${after === null ? sql.empty : sql`AND (l.made_at, l.id) < (${after[0]}::timestamptz, ${after[1]}::uuid)`}
      ORDER BY l.made_at DESC, l.id DESC LIMIT ${query.pageSize + 1}`),
  );
  const mail = rows.slice(0, query.pageSize);
  const last = mail.at(-1);
  const next = rows.length > query.pageSize && last ? writeMark(last.madeAt.toISOString(), last.id) : null;
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
