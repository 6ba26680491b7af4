/**
 * Who belongs to an organisation and how they come and go: members, invitations by mail, keys for programs. Hides the guard of the
 * last administrator, signed links and hashed keys. What always holds: an organisation keeps an administrator; a link or a key is
 * shown once and never stored; names stay on what was written after somebody has left.
 */

export { type EngineRoom, engineRoom } from './engine-room.ts';
export {
  acceptInvitation,
  type InvitationView,
  invite,
  inviteFirst,
  lookAtInvitation,
  type MailState,
  withdrawInvitation,
} from './invitations.ts';
export { hashOfKey, KEY_BEGIN, type KeyView, makeKey, withdrawKey } from './keys.ts';
export { changeMember, liftSecondFactor, listMembers, type MemberView } from './members.ts';
export type { WithAccounts } from './with-accounts.ts';
