/**
 * Why the service does not start, in one sentence with the remedy, for the person at the keyboard. It is shown without a stack;
 * anything else thrown during the start is a bug and is shown with one.
 */
export class StartRefusal extends Error {
  override readonly name = 'StartRefusal';
}
