import type { Role } from '@heatround/domain';
import { END_OF_MAY } from './calendar.ts';

/** One password for all of them: it is printed at every start and protects invented data only. */
export const DEMO_PASSWORD = 'walk-the-round';

export interface DemoPerson {
  readonly name: string;
  readonly email: string;
  /** As shown beside the sign-in. */
  readonly what: string;
  readonly roles: readonly Role[];
  /** Sees only the sites given. */
  readonly granted: boolean;
  readonly endsAt?: number;
}

const person = (name: string, what: string, roles: readonly Role[], over: Partial<DemoPerson> = {}): DemoPerson => ({
  name,
  email: `${name.split(' ')[0]!.toLowerCase()}@example.org`,
  what,
  roles,
  granted: false,
  ...over,
});

export const PEOPLE = {
  mara: person('Mara Lindqvist', 'technician', ['technician']),
  tomasz: person('Tomasz Adeyemi', 'technician', ['technician']),
  priya: person('Priya Holm', 'trainee', ['trainee']),
  jonas: person('Jonas Ferreira', 'planner', ['planner']),
  ruth: person('Ruth Castellan', 'manager', ['manager']),
  dev: person('Dev Marchetti', 'contractor', ['contractor'], { granted: true }),
  selma: person('Selma Oduya', 'guest reader', ['guest-reader'], { granted: true, endsAt: END_OF_MAY }),
  niko: person('Niko Braandt', 'administrator', ['administrator']),
} as const satisfies Record<string, DemoPerson>;

export type PersonKey = keyof typeof PEOPLE;
