import type { MailState } from '@heatround/contract';
import type { KeyScope } from '@heatround/domain';

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
