import { ACTIONS, type Action, may, RIGHTS, rolesThatMay } from '@heatround/domain';
import { describe, expect, it } from 'vitest';

describe('who may do what', () => {
  it.each([
    ['technician', ['see', 'submit-facts', 'correct-own-reading', 'countersign', 'move-own-order']],
    ['trainee', ['see', 'submit-facts']],
    ['contractor', ['see', 'submit-facts', 'correct-own-reading', 'move-own-order']],
    ['manager', ['see', 'answer-findings', 'live-with-high']],
    ['administrator', ['see', 'edit-register', 'administer']],
    ['guest-reader', ['see']],
  ] as const)('%s', (role, actions) => {
    expect(ACTIONS.filter((action) => may([role], action)).sort()).toEqual([...actions].sort());
  });

  it('a planner plans, yet lives with no high risk and administers nothing', () => {
    const not: Action[] = ['live-with-high', 'administer'];
    expect(ACTIONS.filter((action) => !may(['planner'], action))).toEqual(not);
  });

  it('several roles add up; unknown words, a service key and no role give no right', () => {
    expect(may(['guest-reader', 'planner'], 'edit-register')).toBe(true);
    for (const action of ACTIONS) {
      expect(may([], action)).toBe(false);
      expect(may(['service-key', 'owner', 'toString', '__proto__'], action)).toBe(false);
    }
  });

  it('every action has somebody who may do it, and every role may see', () => {
    for (const action of ACTIONS) expect(rolesThatMay(action).length).toBeGreaterThan(0);
    expect(rolesThatMay('see')).toEqual(Object.keys(RIGHTS));
    expect(rolesThatMay('live-with-high')).toEqual(['manager']);
  });
});
