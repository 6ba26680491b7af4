import { hkdfSync } from 'node:crypto';
import { errors, type JWTPayload, jwtVerify, SignJWT } from 'jose';

/** Signed claims for one purpose. Whoever holds a token can do what the purpose allows; none of them is stored. */
export interface Tokens<C> {
  /** @param until epoch milliseconds; null: does not run out. */
  make(claims: C, until: number | null): Promise<string>;
  /** run-out: it was ours, its time is over; foreign: not made here, for another purpose, or changed. */
  read(token: string, now: number): Promise<C | 'run-out' | 'foreign'>;
}

/**
 * Each purpose signs with a key of its own, derived from the secret of the service, so that no other signature of the service fits.
 * @param names claims that must be there, all of them text.
 */
export function tokensFor<const N extends string>(
  secret: string,
  purpose: string,
  names: readonly N[],
): Tokens<Record<N, string>> {
  const audience = `heatround:${purpose}`;
  const key = new Uint8Array(hkdfSync('sha256', secret, '', audience, 32));
  return {
    async make(claims, until) {
      const jwt = new SignJWT({ ...claims } as JWTPayload).setProtectedHeader({ alg: 'HS256' }).setAudience(audience);
      return await (until === null ? jwt : jwt.setExpirationTime(Math.ceil(until / 1000))).sign(key);
    },
    async read(token, now) {
      try {
        const { payload } = await jwtVerify<Record<N, string>>(token, key, {
          algorithms: ['HS256'],
          audience,
          requiredClaims: [...names],
          currentDate: new Date(now),
        });
        return Object.fromEntries(names.map((name) => [name, String(payload[name])])) as Record<N, string>;
      } catch (error) {
        if (error instanceof errors.JWTExpired) return 'run-out';
        if (error instanceof errors.JOSEError) return 'foreign';
        throw error;
      }
    },
  };
}
