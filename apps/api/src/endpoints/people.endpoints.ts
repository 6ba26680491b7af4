import { randomUUID } from 'node:crypto';
import { endpoints } from '@heatround/contract';
import { Problem } from '@heatround/domain';
import type { SignedInAccount } from '@heatround/platform/accounts';
import { endMembership, endSessionsOf } from '@heatround/services/identity';
import { renewalLetter } from '@heatround/services/mail';
import {
  acceptInvitation,
  changeMember,
  engineRoom,
  invite,
  liftSecondFactor,
  listMembers,
  lookAtInvitation,
  makeKey,
  withdrawInvitation,
  withdrawKey,
} from '@heatround/services/people';
import type { FastifyInstance, FastifyReply } from 'fastify';
import { type ApiDeps, headersOf, serve } from '../endpoint.ts';
import { beginTry } from '../plugins/failed-tries.ts';

const withCookies = (reply: FastifyReply, cookies: readonly string[]): void => {
  for (const cookie of cookies) void reply.header('set-cookie', cookie);
};
const instantOf = (text: string): Date => new Date(text);

export function peopleEndpoints(
  app: FastifyInstance,
  deps: ApiDeps,
  /** How a person who has just signed in is described. */
  describe: (account: SignedInAccount) => Promise<unknown>,
  signInsPerMinute: number,
): void {
  const fewTries = { rateLimit: { max: signInsPerMinute, timeWindow: '1 minute' } };

  serve(app, deps, endpoints.engineRoom, ({ scope }) => engineRoom(deps, scope));
  serve(app, deps, endpoints.listMembers, ({ scope }) => listMembers(deps, scope));
  serve(app, deps, endpoints.changeMember, async ({ scope, params, body: { endsAt, ...change } }) => {
    const end = endsAt === undefined ? {} : { endsAt: endsAt === null ? null : instantOf(endsAt) };
    await changeMember(deps, scope, params.personId, { ...change, ...end });
    return null;
  });
  serve(app, deps, endpoints.endMember, ({ scope, params }) => endMembership(deps, scope, params.personId));
  serve(app, deps, endpoints.endMemberSessions, async ({ scope, params }) => ({
    ended: await endSessionsOf(deps, scope, params.personId),
  }));
  serve(app, deps, endpoints.liftSecondFactor, async ({ scope, params }) => {
    await liftSecondFactor(deps, scope, params.personId);
    return null;
  });

  serve(app, deps, endpoints.invite, async ({ scope, body }) => {
    const id = body.id ?? randomUUID();
    const { token } = await invite(deps, scope, {
      ...body,
      id,
      endsAt: body.endsAt === null ? null : instantOf(body.endsAt),
    });
    return { id, link: `${deps.publicUrl}/invitation#${token}` };
  });
  serve(app, deps, endpoints.withdrawInvitation, async ({ scope, params }) => {
    await withdrawInvitation(deps, scope, params.invitationId);
    return null;
  });
  serve(app, deps, endpoints.lookAtInvitation, ({ body }) => lookAtInvitation(deps, body.token), fewTries);
  serve(
    app,
    deps,
    endpoints.acceptInvitation,
    async ({ body, request }) => {
      const session = await deps.accounts.whoIs(headersOf(request));
      return acceptInvitation(deps, body.token, { password: body.password ?? null, account: session?.account ?? null });
    },
    fewTries,
  );

  serve(
    app,
    deps,
    endpoints.forgotPassword,
    async ({ body, request }) => {
      // Counted like failed sign-ins, though not among them, so that nobody is flooded with letters.
      await beginTry(deps, request.ip, `a letter to ${body.email}`);
      // Not waited for: how long it takes would tell whether the address is known.
      void sendRenewal(body.email).catch((error) =>
        deps.log.warn({ reason: String(error) }, 'a link for a new password was not sent'),
      );
      return null;
    },
    fewTries,
  );
  async function sendRenewal(email: string): Promise<void> {
    const made = await deps.accounts.makeRenewal(email, deps.clock.now());
    if (made === null) return;
    const { account, token } = made;
    const letter = renewalLetter('en', account.name, `${deps.publicUrl}/new-password#${token}`);
    const { outcome, answer } = await deps.mailer.send({
      id: randomUUID(),
      to: { name: account.name, address: account.email },
      ...letter,
    });
    if (outcome !== 'sent' && outcome !== 'kept') deps.log.warn({ outcome, answer }, 'a link for a new password did not go out');
  }
  serve(
    app,
    deps,
    endpoints.renewPassword,
    async ({ body }) => {
      const account = await deps.accounts.renewPassword(body.token, body.password, deps.clock.now());
      if (account === null) throw new Problem('not-found', 'This link is used up or more than an hour old. Ask for a new one.');
      return { email: account.email };
    },
    fewTries,
  );
  serve(
    app,
    deps,
    endpoints.changePassword,
    async ({ account, body, request }) => {
      const attempt = await beginTry(deps, request.ip, account.email);
      if (!(await deps.accounts.changePassword(account, body.present, body.next, deps.clock.now())))
        throw new Problem('wrong-sign-in', 'The present password is wrong; nothing was changed.');
      await attempt.succeeded();
      return null;
    },
    fewTries,
  );

  serve(app, deps, endpoints.mySessions, async ({ account }) => {
    const sessions = await deps.accounts.sessionsOf(account.personId);
    const state = (await deps.accounts.statesOf([account.personId])).get(account.personId);
    return {
      hasSecondFactor: state?.hasSecondFactor ?? false,
      sessions: sessions.map(({ sessionKey, ...session }) => ({
        ...session,
        key: sessionKey,
        isThis: sessionKey === account.sessionKey,
      })),
    };
  });
  serve(app, deps, endpoints.endMySession, async ({ account, body }) => {
    await deps.accounts.endSession(account.personId, body.key, deps.clock.now());
    return null;
  });

  serve(
    app,
    deps,
    endpoints.beginSecondFactor,
    async ({ account, body, request }) => {
      const attempt = await beginTry(deps, request.ip, account.email);
      const made = await deps.accounts.beginSecondFactor(body.password, headersOf(request));
      if (made === null) throw new Problem('wrong-sign-in', 'The password is wrong; nothing was changed.');
      // Said before the password was looked at, so it ends no count.
      if (made === 'already')
        throw new Problem('move-not-allowed', 'There is a second factor already. End it first.', [], { allowed: ['end'] });
      await attempt.succeeded();
      return made;
    },
    fewTries,
  );
  serve(
    app,
    deps,
    endpoints.confirmSecondFactor,
    async ({ account, body, request, reply }) => {
      const attempt = await beginTry(deps, request.ip, account.email);
      const cookies = await deps.accounts.confirmSecondFactor(body.code, headersOf(request));
      if (cookies === null) throw new Problem('wrong-sign-in', 'This code is not the present one; nothing was changed.');
      await attempt.succeeded();
      withCookies(reply, cookies);
      return null;
    },
    fewTries,
  );
  serve(
    app,
    deps,
    endpoints.endSecondFactor,
    async ({ account, body, request, reply }) => {
      const attempt = await beginTry(deps, request.ip, account.email);
      const cookies = await deps.accounts.endSecondFactor(body.password, headersOf(request));
      if (cookies === null) throw new Problem('wrong-sign-in', 'The password is wrong; nothing was changed.');
      await attempt.succeeded();
      withCookies(reply, cookies);
      return null;
    },
    fewTries,
  );
  serve(
    app,
    deps,
    endpoints.signInSecond,
    async ({ body, request, reply }) => {
      const signedIn = await deps.accounts.secondStep(body.code, headersOf(request));
      if (!signedIn)
        throw new Problem(
          'wrong-sign-in',
          'This code is not the present one, or it took too long. Begin again after some tries.',
        );
      await deps.accounts.failedTries.clear(request.ip, signedIn.account.email);
      withCookies(reply, signedIn.cookies);
      return describe(signedIn.account) as never;
    },
    fewTries,
  );

  serve(app, deps, endpoints.makeKey, async ({ scope, body }) => {
    const id = body.id ?? randomUUID();
    return { id, ...(await makeKey(deps, scope, { ...body, id, endsAt: instantOf(body.endsAt) })) };
  });
  serve(app, deps, endpoints.withdrawKey, async ({ scope, params }) => {
    await withdrawKey(deps, scope, params.keyId);
    return null;
  });
}
