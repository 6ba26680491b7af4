import type { MailState } from '@heatround/contract';
import type { KeyScope, Role } from '@heatround/domain';

export const ROLE_WORDS: Readonly<Record<Role, string>> = {
  technician: 'technician',
  trainee: 'trainee',
  contractor: 'contractor',
  planner: 'planner',
  manager: 'manager',
  administrator: 'administrator',
  'guest-reader': 'guest reader',
  'service-key': 'service key',
};

/** What became of a letter. */
export const MAIL_WORDS: Readonly<Record<MailState, string>> = {
  waiting: 'waits to be sent',
  claimed: 'is being sent',
  'handing-over': 'is being sent',
  sent: 'sent',
  refused: 'refused',
  bounced: 'came back',
  kept: 'kept here, not sent',
  unsure: 'sent, or not: nobody knows',
};

export const SCOPE_WORDS: Readonly<Record<KeyScope, string>> = {
  see: 'see what there is',
  'submit-facts': 'hand in readings',
  'edit-register': 'edit the register',
};
