import { hkdfSync } from 'node:crypto';
import { errors, jwtVerify, SignJWT } from 'jose';

/** What a device was given at its last signed-in contact: enough to hand over what it still holds, and nothing else. */
export interface HandOverClaims {
  readonly organisationId: string;
  readonly personId: string;
  /** Names the session, so that its end can be found; the session itself cannot be opened with it. */
  readonly sessionKey: string;
  /** Roles held at that contact. */
  readonly roles: readonly string[];
  /** Epoch milliseconds, the real clock. */
  readonly contactAt: number;
}

export interface HandOverTokens {
  /** Good until 14 days after the contact. */
  make(claims: HandOverClaims): Promise<{ token: string; until: Date }>;
  /** What a token says; run-out: it was ours, its time is over; foreign: not made here, or for another purpose, or changed. */
  read(token: string, now: number): Promise<HandOverClaims | 'run-out' | 'foreign'>;
}

const DAYS = 14;
const PURPOSE = 'heatround:hand-over';

/** Signs with a key of its own, derived from the secret of the service, so that no other signature of the service fits. */
export function handOverTokens(secret: string): HandOverTokens {
  const key = new Uint8Array(hkdfSync('sha256', secret, '', PURPOSE, 32));
  return {
    async make({ organisationId, personId, sessionKey, roles, contactAt }) {
      // The claims count in seconds; rounding the end up keeps the promise of 14 days.
      const issued = Math.floor(contactAt / 1000);
      const until = Math.ceil(contactAt / 1000) + DAYS * 86_400;
      const token = await new SignJWT({ org: organisationId, sid: sessionKey, roles })
        .setProtectedHeader({ alg: 'HS256' })
        .setAudience(PURPOSE)
        .setSubject(personId)
        .setIssuedAt(issued)
        .setExpirationTime(until)
        .sign(key);
      return { token, until: new Date(until * 1000) };
    },
    async read(token, now) {
      try {
        const { payload } = await jwtVerify<{ org: string; sid: string; roles: string[] }>(token, key, {
          algorithms: ['HS256'],
          audience: PURPOSE,
          requiredClaims: ['sub', 'org', 'sid', 'roles', 'iat', 'exp'],
          currentDate: new Date(now),
        });
        const { sub, org, sid, roles, iat } = payload;
        return { organisationId: org, personId: sub!, sessionKey: sid, roles, contactAt: iat! * 1000 };
      } catch (error) {
        if (error instanceof errors.JWTExpired) return 'run-out';
        if (error instanceof errors.JOSEError) return 'foreign';
        throw error;
      }
    },
  };
}
