import { endpoints } from '@heatround/contract';
import { Problem } from '@heatround/domain';
import { changeMailSettings, getMail, listMail, mailSettings, noteBounce, unsubscribe } from '@heatround/services/mail';
import type { FastifyInstance } from 'fastify';
import { type ApiDeps, serve } from '../endpoint.ts';

export function mailEndpoints(app: FastifyInstance, deps: ApiDeps): void {
  serve(app, deps, endpoints.listMail, ({ scope, query }) => listMail(deps, scope, query));
  serve(app, deps, endpoints.getMail, ({ scope, params }) => getMail(deps, scope, params.mailId));
  serve(app, deps, endpoints.getMailSettings, ({ scope }) => mailSettings(deps, scope));
  serve(app, deps, endpoints.changeMailSettings, ({ scope, body }) => changeMailSettings(deps, scope, body));
  serve(app, deps, endpoints.noteBounce, ({ scope, body }) => noteBounce(deps, scope, body.report));
  serve(app, deps, endpoints.unsubscribe, ({ body }) => unsubscribe(deps, body.token));

  // The link of the letters themselves. Reading it shows a page; only the form that RFC 8058 names, sent by the reader's mail program,
  // stops anything, so that a scanner that opens links does not.
  void app.register(async (own) => {
    own.addContentTypeParser('application/x-www-form-urlencoded', { parseAs: 'string' }, (_request, body, done) =>
      done(null, Object.fromEntries(new URLSearchParams(body as string))),
    );
    own.addContentTypeParser(/^multipart\/form-data/, { parseAs: 'string' }, (_request, body, done) =>
      done(null, /name="?List-Unsubscribe"?\s+One-Click\s/i.test(body as string) ? { 'List-Unsubscribe': 'One-Click' } : {}),
    );
    // A wildcard, since a token is longer than a parameter of a path may be.
    own.post<{ Params: { '*': string }; Body: unknown }>(
      '/unsubscribe/*',
      { bodyLimit: 4096, schema: { hide: true } },
      async (request) => {
        const given = request.body as { 'List-Unsubscribe'?: string } | null;
        if (given?.['List-Unsubscribe'] !== 'One-Click')
          throw new Problem('invalid-request', 'Expected the form field List-Unsubscribe=One-Click; nothing was changed.');
        return unsubscribe(deps, request.params['*']);
      },
    );
  });
}
