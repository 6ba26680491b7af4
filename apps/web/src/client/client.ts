import type * as Contract from '@heatround/contract';
import { NoSignal, Refusal } from './problem.ts';

/** Described already; the service answers them from the release on in which they join `endpoints`. */
type Described = Pick<
  typeof Contract,
  | 'listRoutes'
  | 'createRoute'
  | 'changeRoute'
  | 'listDue'
  | 'myWalk'
  | 'getRound'
  | 'roundPack'
  | 'lookOverRound'
  | 'callOffRound'
  | 'giveRound'
  | 'askForStop'
  | 'listWindows'
  | 'createWindow'
  | 'changeWindow'
  | 'listPeople'
  | 'jumpClock'
  | 'listFindings'
  | 'answerFinding'
  | 'lookAgainAt'
  | 'nameMode'
  | 'listOrders'
  | 'getOrder'
  | 'moveOrder'
  | 'setTarget'
>;
type All = typeof Contract.endpoints & Described;
export type EndpointName = keyof All;
type Out<E, K extends string> = K extends keyof E ? (E[K] extends { _zod: { output: infer O } } ? O : undefined) : undefined;
type In<E, K extends string> = K extends keyof E ? (E[K] extends { _zod: { input: infer I } } ? I : undefined) : undefined;
type Part<K extends string, T> = [T] extends [undefined] ? unknown : { readonly [P in K]: T };
export type Answer<N extends EndpointName> = Out<All[N], 'response'>;
export type Sent<N extends EndpointName> = Part<'params', Out<All[N], 'params'>> &
  Part<'body', In<All[N], 'body'>> &
  ([In<All[N], 'query'>] extends [undefined] ? unknown : { readonly query?: Query<In<All[N], 'query'>> });
type Query<Q> = { readonly [K in keyof Q]?: string | number | boolean | undefined };

/**
 * Methods and paths of the contract, checked against its objects by the compiler: a change there does not compile here.
 * Written out so that the phone loads no schema library; bodies and answers keep their types.
 */
const CALLS = {
  signIn: ['POST', '/api/sign-in'],
  signOut: ['POST', '/api/sign-out'],
  whoAmI: ['GET', '/api/me'],
  listSites: ['GET', '/api/sites'],
  createSite: ['POST', '/api/sites'],
  createBuilding: ['POST', '/api/sites/:siteId/buildings'],
  createRoom: ['POST', '/api/buildings/:buildingId/rooms'],
  listAssets: ['GET', '/api/assets'],
  getAsset: ['GET', '/api/assets/:assetId'],
  createAsset: ['POST', '/api/assets'],
  changeAsset: ['PATCH', '/api/assets/:assetId'],
  addPoint: ['POST', '/api/assets/:assetId/points'],
  changePoint: ['PATCH', '/api/points/:pointId'],
  confirmBase: ['POST', '/api/points/:pointId/base'],
  addLimits: ['POST', '/api/points/:pointId/limits'],
  listLimits: ['GET', '/api/points/:pointId/limits'],
  tryLimits: ['POST', '/api/points/:pointId/limits/try'],
  listReadings: ['GET', '/api/points/:pointId/readings'],
  listAnswers: ['GET', '/api/points/:pointId/answers'],
  listOtherContents: ['GET', '/api/points/:pointId/other-contents'],
  listForecasts: ['GET', '/api/points/:pointId/forecasts'],
  getHitRates: ['GET', '/api/forecasts/hit-rates'],
  submitFacts: ['POST', '/api/submissions'],
  handOver: ['POST', '/api/handed-over'],
  listHandedOver: ['GET', '/api/handed-over'],
  countHandedOver: ['GET', '/api/handed-over/count'],
  acceptHandedOver: ['POST', '/api/handed-over/accept'],
  turnAwayHandedOver: ['POST', '/api/handed-over/turn-away'],
  listRoutes: ['GET', '/api/routes'],
  createRoute: ['POST', '/api/routes'],
  changeRoute: ['PATCH', '/api/routes/:routeId'],
  listDue: ['GET', '/api/due'],
  myWalk: ['GET', '/api/my-walk'],
  getRound: ['GET', '/api/rounds/:roundId'],
  roundPack: ['GET', '/api/rounds/:roundId/pack'],
  lookOverRound: ['POST', '/api/rounds/:roundId/look-over'],
  callOffRound: ['POST', '/api/rounds/:roundId/call-off'],
  giveRound: ['POST', '/api/rounds/:roundId/walker'],
  askForStop: ['POST', '/api/points/:pointId/extra-stops'],
  listWindows: ['GET', '/api/windows'],
  createWindow: ['POST', '/api/windows'],
  changeWindow: ['PATCH', '/api/windows/:windowId'],
  listPeople: ['GET', '/api/people'],
  jumpClock: ['POST', '/api/clock'],
  listFindings: ['GET', '/api/findings'],
  answerFinding: ['POST', '/api/findings/:findingId/answers'],
  lookAgainAt: ['POST', '/api/findings/:findingId/second-look'],
  nameMode: ['POST', '/api/findings/:findingId/mode'],
  listOrders: ['GET', '/api/orders'],
  getOrder: ['GET', '/api/orders/:orderId'],
  moveOrder: ['POST', '/api/orders/:orderId/moves'],
  setTarget: ['POST', '/api/orders/:orderId/target'],
  startImport: ['POST', '/api/imports'],
  checkImport: ['POST', '/api/imports/:importId/check'],
  runImport: ['POST', '/api/imports/:importId/run'],
  getImport: ['GET', '/api/imports/:importId'],
  listImports: ['GET', '/api/imports'],
  importTemplate: ['GET', '/api/import-templates/:kind'],
  exportTable: ['GET', '/api/exports/:table'],
  listMembers: ['GET', '/api/members'],
  changeMember: ['PATCH', '/api/members/:personId'],
  endMember: ['POST', '/api/members/:personId/end'],
  endMemberSessions: ['POST', '/api/members/:personId/end-sessions'],
  liftSecondFactor: ['POST', '/api/members/:personId/lift-second-factor'],
  invite: ['POST', '/api/invitations'],
  withdrawInvitation: ['POST', '/api/invitations/:invitationId/withdraw'],
  lookAtInvitation: ['POST', '/api/invitation'],
  acceptInvitation: ['POST', '/api/invitation/accept'],
  forgotPassword: ['POST', '/api/password/forgotten'],
  renewPassword: ['POST', '/api/password/renew'],
  changePassword: ['POST', '/api/me/password'],
  mySessions: ['GET', '/api/me/sessions'],
  endMySession: ['POST', '/api/me/sessions/end'],
  beginSecondFactor: ['POST', '/api/me/second-factor'],
  confirmSecondFactor: ['POST', '/api/me/second-factor/confirm'],
  endSecondFactor: ['POST', '/api/me/second-factor/end'],
  signInSecond: ['POST', '/api/sign-in/second'],
  makeKey: ['POST', '/api/service-keys'],
  withdrawKey: ['POST', '/api/service-keys/:keyId/withdraw'],
  listMail: ['GET', '/api/mail'],
  getMail: ['GET', '/api/mail/:mailId'],
  getMailSettings: ['GET', '/api/mail-settings'],
  changeMailSettings: ['PATCH', '/api/mail-settings'],
  noteBounce: ['POST', '/api/mail-bounces'],
  unsubscribe: ['POST', '/api/unsubscribe'],
  listToCountersign: ['GET', '/api/to-countersign'],
  countersign: ['POST', '/api/countersign'],
  engineRoom: ['GET', '/api/engine-room'],
  getCarry: ['GET', '/api/carry'],
  previewUndo: ['GET', '/api/imports/:importId/undo'],
  undoImport: ['POST', '/api/imports/:importId/undo'],
} as const satisfies { readonly [N in EndpointName]: readonly [All[N]['method'], All[N]['path']] };

let organisationId: string | null = null;
/** Names the organisation that every further call is about. */
export const speakFor = (id: string | null): void => {
  organisationId = id;
};

let heard: (reached: boolean) => void = () => undefined;
/** Told after every call whether the service answered. */
export const onHearing = (listener: (reached: boolean) => void): void => {
  heard = listener;
};

let doubted: (isSure: boolean) => void = () => undefined;
/** Told when an answer raises doubt about access: a 401, which is sure, or a 404, which may mean the whole organisation. */
export const onDoubt = (listener: (isSure: boolean) => void): void => {
  doubted = listener;
};

interface Loose {
  readonly params?: Record<string, string>;
  readonly query?: Record<string, string | number | boolean | undefined>;
  readonly body?: unknown;
}
export interface How {
  readonly signal?: AbortSignal;
  /** Organisation of this one call, where it is not the present one. */
  readonly organisationId?: string;
}

/**
 * One call of the service. Throws Refusal when it refuses and NoSignal when it could not be reached, which includes a
 * network page that answers 200 with a page of its own.
 */
export async function call<N extends EndpointName>(name: N, sent: Sent<N>, how: How = {}): Promise<Answer<N>> {
  return (await read(await send(name, sent, how))) as Answer<N>;
}

/** The same for a call that is answered with a file. */
export async function takeFile<N extends EndpointName>(name: N, sent: Sent<N>): Promise<{ fileName: string; content: Blob }> {
  const answer = await send(name, sent, {});
  const named = /filename="([\w.-]+)"/.exec(answer.headers.get('content-disposition') ?? '')?.[1];
  if (!answer.ok || named === undefined) {
    await read(answer);
    throw new NoSignal('another-page');
  }
  try {
    const content = await answer.blob();
    heard(true);
    return { fileName: named, content };
  } catch {
    heard(false);
    throw new NoSignal('unreachable');
  }
}

async function send<N extends EndpointName>(name: N, sent: Sent<N>, how: How): Promise<Response> {
  const { params, query, body } = sent as Loose;
  const [method, pattern] = CALLS[name];
  const path = pattern.replace(/:(\w+)/g, (_, key: string) => encodeURIComponent(params?.[key] ?? ''));
  const search = new URLSearchParams();
  for (const [key, value] of Object.entries(query ?? {})) if (value !== undefined && value !== '') search.set(key, String(value));
  const about = how.organisationId ?? organisationId;
  const headers: Record<string, string> = { accept: 'application/json' };
  if (about !== null) headers['heatround-organisation'] = about;
  if (body !== undefined) headers['content-type'] = 'application/json';
  try {
    return await fetch(search.size > 0 ? `${path}?${search}` : path, {
      method,
      headers,
      credentials: 'same-origin',
      cache: 'no-store',
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
      ...(how.signal === undefined ? {} : { signal: how.signal }),
    });
  } catch (trouble) {
    if (how.signal?.aborted) throw trouble;
    heard(false);
    throw new NoSignal('unreachable');
  }
}

async function read(answer: Response): Promise<unknown> {
  const type = answer.headers.get('content-type') ?? '';
  if (answer.status === 204) {
    heard(true);
    return null;
  }
  if (!/json/.test(type)) {
    // Ours always speaks JSON below /api: a page here is the network's, or a gateway's while the service is away.
    heard(false);
    throw new NoSignal(answer.ok || answer.redirected ? 'another-page' : 'unreachable');
  }
  let told: unknown;
  try {
    told = await answer.json();
  } catch {
    heard(false);
    throw new NoSignal('unreachable');
  }
  heard(true);
  if (answer.ok) return told;
  const problem = told as {
    type?: string;
    code?: string;
    title?: string;
    detail?: string;
    errors?: { pointer: string; detail: string }[];
  };
  const code = problem.code ?? problem.type?.split('/').at(-1) ?? 'unknown';
  if (code === 'not-signed-in' || code === 'access-ended') doubted(true);
  if (code === 'not-found') doubted(false);
  throw new Refusal(answer.status, code, problem.detail ?? problem.title ?? 'The service refused this.', problem.errors ?? []);
}
