import { daysBetween, MOST_COUNTED } from '@heatround/domain';
import { useCallback, useEffect, useRef, useState } from 'preact/hooks';
import { call, sayTrouble } from '../../client/index.ts';
import { useSession } from '../../shell/session.tsx';
import { useSiteZone } from '../../shell/site-clock.tsx';
import { useOpening } from '../../shell/title.ts';
import { useWidth } from '../../ui/chart/parts.tsx';
import { Told } from '../../ui/field.tsx';
import { clockTime, fullDate, plainDate, sentenceCase } from '../../ui/format.ts';
import { GradeMark, Tag } from '../../ui/marks.tsx';
import { Axis, frameOf } from '../../ui/planning/strip.tsx';
import { sayDays, stopped } from '../../ui/planning/words.ts';
import { DecisionRow, RiskRow } from './risk-row.tsx';
import { NotSeen, SeenFigures } from './seen.tsx';
import { Trends } from './trends.tsx';
import { type Carry, linesOf, openRisks, overdueCount, sayCarry, sayListed, sayPlain } from './words.ts';
import '../../ui/planning/planning.css';
import './carry.css';

const WEEKS_BEFORE = 4;

/** First screen of whoever answers for the plant: what is carried, by whom, until when; beside every figure what it leaves out. */
export function CarryScreen() {
  const { me, may } = useSession();
  const homeZone = useSiteZone();
  const [carry, setCarry] = useState<Carry | null>(null);
  const [trouble, setTrouble] = useState<unknown>(null);
  const [isSlow, setSlow] = useState(false);
  const [said, setSaid] = useState<string | null>(null);
  const saidLine = useRef<HTMLParagraphElement>(null);
  const look = useCallback(async (): Promise<void> => {
    const slow = setTimeout(() => setSlow(true), 1000);
    try {
      setCarry(await call('getCarry', {}));
      setTrouble(null);
    } catch (failed) {
      setTrouble(failed);
    } finally {
      clearTimeout(slow);
      setSlow(false);
    }
  }, []);
  useEffect(() => void look(), [look]);
  useEffect(() => {
    if (said !== null) saidLine.current?.focus();
  }, [said]);
  const decided = async (words: string): Promise<void> => {
    await look();
    setSaid(words);
  };
  const heading = useOpening('What we carry');
  const { box, width } = useWidth<HTMLDivElement>(328);
  const now = carry === null ? Date.now() : Date.parse(carry.now);
  const lineOf = carry === null ? null : linesOf(carry);
  const zone = carry?.orders[0]?.place.zone ?? carry?.findings[0]?.place.zone ?? homeZone;
  const frame = frameOf(now, zone, WEEKS_BEFORE);
  const [first, second] =
    carry === null ? [trouble === null ? 'What we carry' : 'What we carry cannot be shown now.'] : sayCarry(carry, now);
  const listed = carry === null ? null : sayListed(carry);
  const isEmpty = carry !== null && !carry.hasRoutes && openRisks(carry).count === 0;
  return (
    <>
      <h1 class="say open" tabIndex={-1} ref={heading}>
        {first}
        {second !== undefined && (
          <>
            {' '}
            <span class="line">{second}</span>
          </>
        )}
      </h1>
      {carry?.site != null && <p class="note">The figures of one site: {carry.site.name}.</p>}
      {isSlow && <p class="note">fetching what we carry</p>}
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      {said !== null && (
        <p class="told" role="status" tabIndex={-1} ref={saidLine}>
          {said}
        </p>
      )}
      {isEmpty && <Beginning hasPoints={carry.hasPoints} mayEdit={may('edit-register')} />}
      <div class="riskhead" aria-hidden="true" hidden={carry !== null && carry.decisions.length + carry.risks.length === 0}>
        <span>{listed?.head ?? 'Open risk, highest first'}</span>
        <div ref={box}>
          <Axis frame={frame} width={width} />
        </div>
      </div>
      {carry !== null && lineOf !== null && carry.decisions.length + carry.risks.length > 0 && (
        <>
          <h2 class="unseen">{listed?.head}</h2>
          <ol class="risks" aria-label="Open risk">
            {carry.decisions.map((decision) => {
              const line = lineOf(decision);
              return (
                line !== null && (
                  <DecisionRow
                    key={decision.id}
                    decision={decision}
                    line={line}
                    windows={carry.windows}
                    frame={frame}
                    personId={me.personId}
                    onDecided={decided}
                    refresh={look}
                  />
                )
              );
            })}
            {carry.risks.map((ref) => {
              const line = lineOf(ref);
              return (
                line !== null && <RiskRow key={ref.id} line={line} windows={carry.windows} frame={frame} personId={me.personId} />
              );
            })}
          </ol>
        </>
      )}
      {listed !== null && !isEmpty && (
        <p class="note morerisks">
          {listed.elsewhere !== null && `${listed.elsewhere} `}
          <a href="/orders?order=risk">All orders</a> · <a href="/answers">Answers due</a>
        </p>
      )}
      {carry !== null && !isEmpty && (
        <>
          <div class="pair">
            <Overdue carry={carry} />
            <Living carry={carry} now={now} personId={me.personId} />
          </div>
          <section class="sec" aria-labelledby="trends-title">
            <h2 id="trends-title">
              Worst trends{' '}
              <span class="by">
                {carry.trends.count > carry.trends.lines.length
                  ? `${carry.trends.lines.length} of ${sayMany(carry.trends.count)} with a date, soonest first`
                  : 'soonest date first'}
              </span>
            </h2>
            {carry.trends.lines.length === 0 ? (
              <p class="nothing">No point is on its way to a limit with a date that can be named.</p>
            ) : (
              <Trends lines={carry.trends.lines} now={now} />
            )}
          </section>
          <SeenFigures carry={carry} zone={zone} now={now} />
          <NotSeen carry={carry} now={now} />
          <p class="note asof">
            As of {fullDate(carry.now, zone)}, {clockTime(carry.now, zone)}.
          </p>
        </>
      )}
    </>
  );
}

const sayMany = (count: number): string => (count >= MOST_COUNTED ? `${sayPlain(MOST_COUNTED)} or more` : sayPlain(count));

/** What to do where nothing is there yet. */
function Beginning({ hasPoints, mayEdit }: { hasPoints: boolean; mayEdit: boolean }) {
  if (!mayEdit)
    return (
      <p class="told">
        {hasPoints ? 'Points are there, but no route takes anybody past them.' : 'No point to read is in the register.'} A planner
        makes the register and the routes; what is found on the rounds comes here by itself.
      </p>
    );
  return (
    <p class="told">
      {hasPoints ? (
        <>
          Points are there, but no route takes anybody past them. Next: make one under <a href="/rounds">Rounds</a>.
        </>
      ) : (
        <>
          No point to read is in the register. Next: enter machines in the <a href="/register">register</a>, or{' '}
          <a href="/bring-in">bring them in</a> from a spreadsheet.
        </>
      )}{' '}
      What is found on the rounds comes here by itself.
    </p>
  );
}

/** Repairs beyond their original date, by grade, out of those to do. */
function Overdue({ carry }: { carry: Carry }) {
  const count = overdueCount(carry);
  const { toRepair, toProve } = carry.counts;
  return (
    <section class="sec" aria-labelledby="overdue-title">
      <h2 id="overdue-title">Overdue repairs</h2>
      <p class="fg">
        <b>{sayMany(count)}</b> <span class="small">of {sayMany(toRepair)} to do</span>
      </p>
      {count > 0 && (
        <ul class="rows">
          {carry.overdue.map(({ grade, count: many, days, longestDays }) => (
            <li key={grade}>
              <p>
                <GradeMark grade={grade} />
              </p>
              <p class="small soft">
                {many === 1 ? sayDays(days) : `${sayDays(days)} together, the longest ${sayDays(longestDays)}`}
              </p>
              <p class="end">
                <b>{sayPlain(many)}</b>
              </p>
            </li>
          ))}
        </ul>
      )}
      <p class="small against">
        Days count from the date first given, whatever was slotted since. Not counted: {sayPlain(toProve)} done and waiting for
        proof, {sayPlain(carry.counts.unanswered)} not answered yet.
      </p>
      {count > 0 && (
        <p class="small">
          <a href="/orders?order=overdue">Overdue first</a>
        </p>
      )}
    </section>
  );
}

/** Accepted risks: who signed, until when, why. */
function Living({ carry, now, personId }: { carry: Carry; now: number; personId: string }) {
  const total = carry.counts.livedWithAsFinding + carry.counts.livedWithAsOrder;
  return (
    <section class="sec" aria-labelledby="living-title">
      <h2 id="living-title">
        Living with it{' '}
        <span class="by">
          {total > carry.living.length ? `${carry.living.length} of ${sayMany(total)}, ` : ''}first to end first
        </span>
      </h2>
      {carry.living.length === 0 ? (
        <p class="nothing">Nobody has signed to live with a fault.</p>
      ) : (
        <ol class="rows">
          {carry.living.map((one) => {
            const { zone } = one.place;
            const days = daysBetween(now, Date.parse(one.until), zone);
            const href =
              one.kind === 'order' ? `/orders/${one.id}` : `/assets/${one.assetId}?point=${encodeURIComponent(one.letter)}`;
            return (
              <li key={one.id} aria-label={one.assetName}>
                <p>
                  <a class="carryname" href={href}>
                    {one.assetName}
                  </a>{' '}
                  <Tag tag={one.tag} letter={one.letter} />
                </p>
                <p class="small soft">
                  <GradeMark grade={one.grade} /> {sentenceCase(stopped(one.reason))}{' '}
                  {one.signedBy === null
                    ? 'Signed by somebody no longer here'
                    : one.signedBy.id === personId
                      ? 'You signed'
                      : `${one.signedBy.name} signed`}
                  , {plainDate(one.since, zone, now)}.
                </p>
                <p class="end">
                  <b>until {plainDate(one.until, zone, now)}</b>
                  <span class="small soft">{days <= 0 ? 'ends today' : `${sayDays(days)} left`}</span>
                </p>
              </li>
            );
          })}
        </ol>
      )}
      <p class="small against">Each comes back by itself on its day, or as soon as it gets worse than what was signed.</p>
    </section>
  );
}
