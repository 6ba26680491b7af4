/** Ends well when the part on this machine is ready: what a container engine asks every few seconds. */
const port = process.env.PORT || '4600';
const ready = await fetch(`http://127.0.0.1:${port}/readyz`, { signal: AbortSignal.timeout(4_000) }).then(
  (reply) => reply.ok,
  () => false,
);
process.exit(ready ? 0 : 1);
