/**
 * Of the addresses in X-Forwarded-For, each as true as the proxy that wrote it, the nearest ones are believed.
 *
 * @param hops how many proxies stand in front; 0: what callers say about their address is not looked at.
 */
export function believing(hops: number): false | ((address: string, hop: number) => boolean) {
  return hops === 0 ? false : (_address, hop) => hop < hops;
}
