import type { ProblemCode } from '@heatround/domain';

export interface Detail {
  readonly pointer: string;
  readonly detail: string;
}

/** The service refused, with its reasons; `at` finds the reason of one field. */
export class Refusal extends Error {
  override readonly name = 'Refusal';
  constructor(
    readonly status: number,
    readonly code: ProblemCode | string,
    detail: string,
    readonly errors: readonly Detail[] = [],
  ) {
    super(detail);
  }
  at(pointer: string): string | null {
    return this.errors.find((error) => error.pointer.replace(/^#?\/?(body\/)?/, '') === pointer)?.detail ?? null;
  }
  /** Reasons that belong to none of the fields shown. */
  besides(pointers: readonly string[]): string[] {
    const rest = this.errors.filter((error) => !pointers.some((pointer) => this.at(pointer) === error.detail));
    return rest.map((error) => error.detail);
  }
}

/** Nothing came back, or something that is not ours: no signal, or a network page that answers in our place. */
export class NoSignal extends Error {
  override readonly name = 'NoSignal';
  constructor(readonly reason: 'unreachable' | 'another-page') {
    super(
      reason === 'unreachable'
        ? 'No signal here. What you entered is kept on this device.'
        : 'The network here answers with a page of its own. Sign in to the network first; what you entered is kept on this device.',
    );
  }
}

/** Words for whatever was thrown: what happened, what is kept, what to do. */
export function sayTrouble(trouble: unknown): string {
  if (trouble instanceof Refusal || trouble instanceof NoSignal) return trouble.message;
  return 'Something went wrong on this page. What you entered is kept. Try again; if it happens again, tell the administrator.';
}
