import type { FindingLine, OrderLine, WindowView } from '@heatround/contract';
import { useCallback, useEffect, useRef, useState } from 'preact/hooks';
import { call, sayTrouble } from '../../client/index.ts';
import { useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { useWidth } from '../../ui/chart/parts.tsx';
import { Told } from '../../ui/field.tsx';
import { clockTime, fullDate, sayCount } from '../../ui/format.ts';
import { Axis, frameOf } from '../../ui/planning/strip.tsx';
import { sayAnswersDue } from '../../ui/planning/view.ts';
import { AgainRow } from './again-row.tsx';
import { FindingRow } from './finding-row.tsx';
import { OpenRow } from './open-row.tsx';
import '../../ui/planning/planning.css';

interface Found {
  readonly at: number;
  readonly due: readonly FindingLine[];
  readonly next: string | null;
  readonly windows: readonly WindowView[];
  /** Answered ones to which something has come since. */
  readonly again: readonly FindingLine[];
  readonly orders: readonly OrderLine[];
  /** Findings with somebody that have no order: read again, lived with. */
  readonly waiting: readonly FindingLine[];
  /** What another report may be the same as. */
  readonly known: readonly FindingLine[];
}

const OPEN_ORDER: Readonly<Record<string, number>> = {
  stuck: 0,
  done: 1,
  'under-way': 2,
  slotted: 3,
  agreed: 4,
  'living-with': 5,
};

async function fetchAll(): Promise<Found> {
  const [due, again, orders, open] = await Promise.all([
    call('listFindings', { query: { which: 'to-answer', pageSize: 50 } }),
    call('listFindings', { query: { which: 'look-again', pageSize: 50 } }),
    call('listOrders', { query: { which: 'open', order: 'risk', pageSize: 100 } }),
    call('listFindings', { query: { which: 'open', pageSize: 100 } }),
  ]);
  return {
    at: Date.parse(due.now),
    due: due.findings,
    next: due.next,
    windows: due.windows,
    orders: [...orders.orders].sort((a, b) => (OPEN_ORDER[a.state] ?? 9) - (OPEN_ORDER[b.state] ?? 9)),
    again: again.findings,
    waiting: open.findings.filter(
      ({ state, orderNumber }) => orderNumber === null && (state === 'read-again' || state === 'living-with'),
    ),
    known: open.findings,
  };
}

/** First screen of a planner: what wants an answer, by the last window that makes sense; below it what somebody has in hand. */
export function AnswersScreen() {
  const { me, may } = useSession();
  const [found, setFound] = useState<Found | null>(null);
  const [trouble, setTrouble] = useState<unknown>(null);
  const [isSlow, setSlow] = useState(false);
  const [said, setSaid] = useState<string | null>(null);
  const saidLine = useRef<HTMLParagraphElement>(null);
  const list = useRef<HTMLOListElement>(null);
  const look = useCallback(async (): Promise<void> => {
    const slow = setTimeout(() => setSlow(true), 1000);
    try {
      setFound(await fetchAll());
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
  const answered = async (words: string): Promise<void> => {
    await look();
    setSaid(words);
  };
  const more = async (): Promise<void> => {
    if (found?.next == null) return;
    try {
      const page = await call('listFindings', { query: { which: 'to-answer', pageSize: 50, after: found.next } });
      setFound({ ...found, due: [...found.due, ...page.findings], next: page.next });
    } catch (failed) {
      setTrouble(failed);
    }
  };
  const heading = useOpening('Answers due');
  const { box, width } = useWidth<HTMLDivElement>(436);

  const now = found?.at ?? Date.now();
  const zone = found?.due[0]?.place.zone ?? found?.orders[0]?.place.zone ?? 'UTC';
  const frame = frameOf(now, zone);
  const [first, second] =
    found === null
      ? [trouble === null ? 'Answers due' : 'Answers due cannot be shown now.']
      : sayAnswersDue(found.due, found.windows, now, found.next !== null, found.again.length);
  // Up and down go from answer to answer; everything is reached by Tab as well.
  const step = (event: KeyboardEvent): void => {
    if (event.key !== 'ArrowDown' && event.key !== 'ArrowUp') return;
    const target = event.target as HTMLElement;
    if (!target.matches('.duerow .k .key, .duerow .alt .link')) return;
    const keys = [...(list.current?.querySelectorAll<HTMLElement>('.duerow .k .key') ?? [])];
    const row = target.closest('.duerow');
    const next = keys[keys.findIndex((key) => row?.contains(key)) + (event.key === 'ArrowDown' ? 1 : -1)];
    if (next === undefined) return;
    event.preventDefault();
    next.focus();
  };
  const openCount = (found?.orders.length ?? 0) + (found?.waiting.length ?? 0);
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
      {isSlow && <p class="note">fetching what waits for you</p>}
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      {said !== null && (
        <p class="told" role="status" tabIndex={-1} ref={saidLine}>
          {said}
        </p>
      )}
      <div class="due" style={{ '--strip': `${width}px` }}>
        <div class="duehead" aria-hidden="true">
          <span class="h">
            Waiting for you<span class="by">, sorted by last window</span>
          </span>
          <span class="v">Now</span>
          <div class="s" ref={box}>
            <Axis frame={frame} width={width} />
          </div>
          <span class="w">Last window</span>
        </div>
        {found !== null && found.due.length === 0 && found.again.length === 0 && (
          <p class="nothing">
            {openCount === 0
              ? 'Nothing is open either. What is found on the next round comes here.'
              : `What is open is with somebody: ${sayCount(openCount, 'thing')} below.`}
          </p>
        )}
        {found !== null && found.due.length + found.again.length + openCount === 0 && <FirstSteps />}
        <ol ref={list} onKeyDown={step} aria-label="Waiting for you, sorted by last window">
          {found?.due.map((line) => (
            <FindingRow
              key={line.id}
              line={line}
              windows={found.windows}
              known={found.known}
              frame={frame}
              personId={me.personId}
              onAnswered={answered}
              refresh={look}
            />
          ))}
        </ol>
        {found?.next != null && (
          <div class="keyrow">
            <button type="button" class="key" onClick={() => void more()}>
              Show more
            </button>
          </div>
        )}
        {found !== null && found.again.length > 0 && (
          <>
            <h2 class="duesub">Came after the answer</h2>
            <ul aria-label="Came after the answer">
              {found.again.map((line) => (
                <AgainRow
                  key={line.id}
                  line={line}
                  now={now}
                  mayDecide={may('answer-findings')}
                  onDecided={answered}
                  refresh={look}
                />
              ))}
            </ul>
          </>
        )}
        {openCount > 0 && (
          <>
            <h2 class="duesub">With somebody, open</h2>
            <ul aria-label="With somebody, open">
              {found?.orders.map((line) => (
                <OpenRow key={line.id} line={line} frame={frame} now={now} />
              ))}
              {found?.waiting.map((line) => (
                <OpenRow key={line.id} line={line} frame={frame} now={now} />
              ))}
            </ul>
          </>
        )}
      </div>
      {found !== null && (
        <p class="note asof">
          As of {fullDate(now, zone)}, {clockTime(now, zone)}. <a href="/orders">All orders</a>
        </p>
      )}
    </>
  );
}

/** Where to begin, until there is a machine to read and a route on which it is read. */
function FirstSteps() {
  const { may } = useSession();
  const [has, setHas] = useState<{ readonly asset: boolean; readonly route: boolean } | null>(null);
  useEffect(() => {
    let isHere = true;
    Promise.all([call('listAssets', { query: { pageSize: 1 } }), call('listRoutes', { query: { pageSize: 1 } })]).then(
      ([{ assets }, { routes }]) => isHere && setHas({ asset: assets.length > 0, route: routes.length > 0 }),
      () => undefined,
    );
    return () => {
      isHere = false;
    };
  }, []);
  if (has === null || (has.asset && has.route) || !may('edit-register')) return null;
  return (
    <section class="sec">
      <h2>To begin</h2>
      <ol>
        <li>
          {has.asset ? (
            'Machines are in the register.'
          ) : (
            <>
              <a href="/bring-in?kind=assets">Bring in your list of machines</a>, or <a href="/new-asset">enter the first one</a>.
            </>
          )}
        </li>
        <li>
          <a href="/routes/new">Make a route</a> of the points to be read; its rounds are planned by themselves.
        </li>
        {may('administer') && (
          <li>
            <a href="/people">Invite who walks it.</a>
          </li>
        )}
      </ol>
    </section>
  );
}
