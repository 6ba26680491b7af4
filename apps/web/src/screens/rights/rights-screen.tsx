import { ACTIONS, type Action, RIGHTS, type Role, rolesThatMay, sayDate } from '@heatround/domain';
import { useEffect, useState } from 'preact/hooks';
import { call, sayTrouble } from '../../client/index.ts';
import { useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { Told } from '../../ui/field.tsx';
import { clockTime, sayRole, thisZone } from '../../ui/format.ts';
import './rights.css';

const ACTION_WORDS: Readonly<Record<Action, string>> = {
  see: 'see what the organisation has',
  'submit-facts': 'hand in readings, answers, work',
  'correct-own-reading': 'correct an own reading',
  'correct-any-reading': 'correct any reading',
  countersign: 'countersign readings of trainees',
  'answer-findings': 'answer findings, slot, turn down, close unproved',
  'move-own-order': 'Under way, Done, Stuck on an own order',
  'move-any-order': 'Under way, Done, Stuck on any order',
  'live-with-low': 'live with Watch and Plan',
  'live-with-high': 'live with Soon and Now',
  'edit-register': 'register, limits, routes, windows, bringing in',
  administer: 'people, roles, settings, keys, the clock of a demo',
};
const ROLES = Object.keys(RIGHTS) as Exclude<Role, 'service-key'>[];

/** The table of rights as the service reads it, and for a demo organisation its clock. */
export function RightsScreen() {
  const { membership, may } = useSession();
  const own = membership.roles;
  const heading = useOpening('Who may do what');
  const mine = ACTIONS.filter((action) => may(action)).length;
  return (
    <div class="rights">
      <h1 class="say open" tabIndex={-1} ref={heading}>
        You may do {mine} of these {ACTIONS.length} things here, as {own.map(sayRole).join(' and ')}.
      </h1>
      {may('administer') && membership.isDemo && <Clock />}
      <table class="rightstable">
        <caption class="note">Rights by role; yours are bold. A person may hold several roles, and others elsewhere.</caption>
        <thead>
          <tr>
            <th scope="col">may</th>
            {ROLES.map((role) => (
              <th scope="col" key={role} class={own.includes(role) ? 'own1' : ''}>
                {sayRole(role)}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {ACTIONS.map((action) => (
            <tr key={action}>
              <th scope="row">{ACTION_WORDS[action]}</th>
              {ROLES.map((role) => (
                <td key={role} class={own.includes(role) ? 'own1' : ''}>
                  {RIGHTS[role].includes(action) ? 'yes' : '–'}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
      <dl class="rightslist">
        {ACTIONS.map((action) => (
          <div key={action}>
            <dt>{ACTION_WORDS[action]}</dt>
            <dd>
              {rolesThatMay(action).map((role, index) => (
                <span key={role}>
                  {index === 0 ? '' : ', '}
                  {own.includes(role) ? <b>{sayRole(role)}</b> : sayRole(role)}
                </span>
              ))}
            </dd>
          </div>
        ))}
      </dl>
      <ul class="note rightsnotes">
        <li>What a trainee hands in is countersigned.</li>
        <li>A contractor and a guest reader see what was granted to them, until its end.</li>
        <li>Nobody answers their own request to live with something.</li>
        <li>A service key has named rights out of this table and no screen.</li>
      </ul>
    </div>
  );
}

const AHEAD = [
  { word: 'A day', minutes: 1440 },
  { word: 'A week', minutes: 7 * 1440 },
  { word: 'A month', minutes: 30 * 1440 },
] as const;

function Clock() {
  const { outbox, refresh } = useSession();
  const [now, setNow] = useState(outbox.now());
  const [asks, setAsks] = useState<(typeof AHEAD)[number] | null>(null);
  const [trouble, setTrouble] = useState<unknown>(null);
  useEffect(() => {
    const tick = setInterval(() => setNow(outbox.now()), 5000);
    return () => clearInterval(tick);
  }, [outbox]);
  const zone = thisZone();
  const jump = async (minutes: number): Promise<void> => {
    try {
      await call('jumpClock', { body: { aheadMinutes: minutes } });
      await refresh();
      setNow(outbox.now());
      setTrouble(null);
    } catch (failed) {
      setTrouble(failed);
    }
    setAsks(null);
  };
  return (
    <section class="sec demo">
      <h2>Move the clock ahead</h2>
      <p role="status">
        Here it is {sayDate(now, zone, 0)}, {clockTime(now, zone)}. This is a demo organisation: its clock may go ahead, never
        back.
      </p>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      {asks === null ? (
        <div class="keyrow">
          {AHEAD.map((one) => (
            <button type="button" class="key" key={one.word} onClick={() => setAsks(one)}>
              {one.word} ahead
            </button>
          ))}
        </div>
      ) : (
        <div class="keyrow">
          <button type="button" class="key main" onClick={() => void jump(asks.minutes)}>
            Yes, {asks.word.toLowerCase()} ahead for everybody
          </button>
          <button type="button" class="key" onClick={() => setAsks(null)}>
            Leave it
          </button>
        </div>
      )}
    </section>
  );
}
