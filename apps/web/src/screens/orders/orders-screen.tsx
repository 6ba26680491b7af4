import type { OrderLine, WindowView } from '@heatround/contract';
import { useCallback, useEffect, useRef, useState } from 'preact/hooks';
import { call, sayTrouble } from '../../client/index.ts';
import { go, useWhere } from '../../shell/router.tsx';
import { useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { useWidth } from '../../ui/chart/parts.tsx';
import { Told } from '../../ui/field.tsx';
import { fullDate, plainDate, sayCount } from '../../ui/format.ts';
import { GradeMark, Tag } from '../../ui/marks.tsx';
import { orderContent, sayOverdue, saySituation } from '../../ui/planning/situation.ts';
import { Axis, type Frame, frameOf, Strip } from '../../ui/planning/strip.tsx';
import { sayOrders, slotsOf } from '../../ui/planning/view.ts';
import { MOVE_WORDS, type MoveKind, ORDER_STATE_WORDS, sayBall } from '../../ui/planning/words.ts';
import '../../ui/planning/planning.css';

const FILTERS = ['open', 'mine', 'ended'] as const;
type Which = (typeof FILTERS)[number];
const FILTER_WORDS: Readonly<Record<Which, string>> = { open: 'Open', mine: 'Mine', ended: 'Ended' };
const SORTS = ['risk', 'overdue'] as const;
type Sort = (typeof SORTS)[number];
const SORT_WORDS: Readonly<Record<Sort, string>> = { risk: 'by risk', overdue: 'overdue first' };

interface Found {
  readonly at: number;
  readonly orders: readonly OrderLine[];
  readonly windows: readonly WindowView[];
  readonly counts: { readonly open: number; readonly overdue: number };
  readonly next: string | null;
}

/** The queue of work orders. */
export function OrdersScreen() {
  const { membership, may } = useSession();
  const { search } = useWhere();
  const asked = search.get('which') as Which | null;
  const which: Which = asked !== null && FILTERS.includes(asked) ? asked : 'open';
  const usual: Sort = membership.roles.includes('manager') && !may('move-any-order') ? 'overdue' : 'risk';
  const wanted = search.get('order') as Sort | null;
  const sort: Sort = wanted !== null && SORTS.includes(wanted) ? wanted : usual;
  const [found, setFound] = useState<Found | null>(null);
  const [trouble, setTrouble] = useState<unknown>(null);
  const [isSlow, setSlow] = useState(false);
  const [said, setSaid] = useState<string | null>(null);
  const saidLine = useRef<HTMLParagraphElement>(null);
  const look = useCallback(async (): Promise<void> => {
    const slow = setTimeout(() => setSlow(true), 1000);
    try {
      const page = await call('listOrders', { query: { which, order: sort, pageSize: 50 } });
      setFound({ ...page, at: Date.parse(page.now) });
      setTrouble(null);
    } catch (failed) {
      setTrouble(failed);
    } finally {
      clearTimeout(slow);
      setSlow(false);
    }
  }, [which, sort]);
  useEffect(() => {
    setFound(null);
    setSaid(null);
    void look();
  }, [look]);
  useEffect(() => {
    if (said !== null) saidLine.current?.focus();
  }, [said]);
  const more = async (): Promise<void> => {
    if (found?.next == null) return;
    try {
      const page = await call('listOrders', { query: { which, order: sort, pageSize: 50, after: found.next } });
      setFound({ ...found, orders: [...found.orders, ...page.orders], next: page.next });
    } catch (failed) {
      setTrouble(failed);
    }
  };
  const moved = async (words: string): Promise<void> => {
    await look();
    setSaid(words);
  };
  const heading = useOpening('Orders', `orders ${which} ${sort}`);
  const { box, width } = useWidth<HTMLDivElement>(436);
  const now = found?.at ?? Date.now();
  const zone = found?.orders[0]?.place.zone ?? 'UTC';
  const frame = frameOf(now, zone, which === 'ended' ? 8 : found?.orders.some((line) => line.overdueDays > 0) ? 4 : 0);
  const href = (to: Which, by: Sort): string => {
    const query = [...(to === 'open' ? [] : [`which=${to}`]), ...(by === usual ? [] : [`order=${by}`])].join('&');
    return query === '' ? '/orders' : `/orders?${query}`;
  };
  const last = which === 'ended' ? 'How it ended' : 'Who has it';
  return (
    <>
      <h1 class="say open" tabIndex={-1} ref={heading}>
        {found === null
          ? trouble === null
            ? 'Orders'
            : 'The orders cannot be shown now.'
          : sayOrders(which, found.orders, found.counts, found.next !== null)}
      </h1>
      <nav class="which" aria-label="Which orders">
        {FILTERS.map((one) => (
          <a key={one} class="pick" href={href(one, sort)} aria-current={one === which ? 'page' : undefined}>
            {FILTER_WORDS[one]}
          </a>
        ))}
        {which !== 'ended' && (
          <span class="sorts">
            {SORTS.map((one) => (
              <a key={one} class="pick sort" href={href(which, one)} aria-current={one === sort ? 'true' : undefined}>
                {SORT_WORDS[one]}
              </a>
            ))}
          </span>
        )}
      </nav>
      {isSlow && <p class="note">fetching the orders</p>}
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      {said !== null && (
        <p class="told" role="status" tabIndex={-1} ref={saidLine}>
          {said}
        </p>
      )}
      <div class="due orders">
        <div class="duehead" aria-hidden="true">
          <span class="h">
            {which === 'ended' ? 'Ended, newest first' : sort === 'risk' ? 'By risk, then due date' : 'Overdue first'}
          </span>
          <div class="s" ref={box}>
            <Axis frame={frame} width={width} />
          </div>
          <span class="w">{last}</span>
        </div>
        {found !== null && found.orders.length === 0 && (
          <p class="nothing">
            {which === 'open'
              ? 'An order comes of a finding that somebody agrees to.'
              : which === 'mine'
                ? 'What is given to you comes here.'
                : 'Proved, closed unproved and turned down ones come here.'}
          </p>
        )}
        <ol aria-label={`Orders, ${FILTER_WORDS[which].toLowerCase()}`}>
          {found?.orders.map((line) => (
            <OrderRow key={line.id} line={line} windows={found.windows} frame={frame} now={now} onMoved={moved} />
          ))}
        </ol>
        {found?.next != null && (
          <div class="keyrow">
            <button type="button" class="key" onClick={() => void more()}>
              Show more
            </button>
            <span class="note">{sayCount(found.orders.length, 'order')} shown</span>
          </div>
        )}
      </div>
    </>
  );
}

/** Of the moves open to a person, the one that leads on. */
const LEADS_ON: readonly MoveKind[] = ['slot', 'start', 'finish', 'free'];
export const leadingMove = (allowed: readonly string[]): MoveKind | null =>
  LEADS_ON.find((kind) => allowed.includes(kind)) ?? null;

function OrderRow(props: {
  line: OrderLine;
  windows: readonly WindowView[];
  frame: Frame;
  now: number;
  onMoved: (words: string) => Promise<void>;
}) {
  const { line, frame, now } = props;
  const { box, width } = useWidth<HTMLDivElement>(328);
  const zone = line.place.zone;
  const [isBusy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<unknown>(null);
  const move = line.endedAt === null ? leadingMove(line.allowed) : null;
  const window = line.lastWindow.window;
  /** What the key does at once; null: its move asks for something, which its page does. */
  const direct =
    move === 'start'
      ? { move: { kind: move }, said: 'the work has begun.' }
      : move === 'free'
        ? { move: { kind: move }, said: 'free again, where it was.' }
        : move === 'slot' && window !== null
          ? { move: { kind: move, windowId: window.id }, said: `slotted for ${fullDate(window.from, zone, now)}.` }
          : null;
  const key =
    move === 'slot' && window !== null ? `Ask for ${plainDate(window.from, zone, now)}` : move === null ? null : MOVE_WORDS[move];
  const give = async (): Promise<void> => {
    if (isBusy || direct === null) return;
    setBusy(true);
    setTrouble(null);
    try {
      await call('moveOrder', { params: { orderId: line.id }, body: { version: line.order.version, move: direct.move } });
      await props.onMoved(`${line.assetName}: ${direct.said}`);
    } catch (failed) {
      setTrouble(failed);
    }
    setBusy(false);
  };
  const overdue = sayOverdue(line, zone, now);
  const content = {
    ...orderContent(line, now),
    ...(line.state === 'agreed' ? { slots: slotsOf(line, props.windows, now) } : {}),
  };
  const what = `order ${line.number}, ${line.assetName}`;
  return (
    <li class="duerow" aria-label={`Order ${line.number}, ${line.assetName}`}>
      <div class="g">
        <p class="state">{ORDER_STATE_WORDS[line.state]}</p>
        <p class="small">
          <GradeMark grade={line.grade} />
        </p>
      </div>
      <div class="a">
        <p class="nm">
          <a href={`/orders/${line.id}`}>{line.assetName}</a>
        </p>
        <p class="pl">
          <Tag tag={line.tag} letter={line.letter} /> {line.pointName.charAt(0).toLowerCase() + line.pointName.slice(1)}
        </p>
        <p class="note">
          Order {line.number}. {saySituation(line, now)}
          {overdue !== null && (
            <>
              {' '}
              <b>{overdue}</b>
            </>
          )}
        </p>
      </div>
      <div class="s" ref={box}>
        <Strip
          frame={frame}
          width={width}
          content={content}
          isTall={width > 380 || (content.slots?.length ?? 0) > 1}
          label={[ORDER_STATE_WORDS[line.state], saySituation(line, now), overdue].filter(Boolean).join('. ')}
        />
        <div class="foot">
          <Axis frame={frame} width={width} isFoot />
        </div>
      </div>
      <div class="w">
        {line.endedAt === null ? (
          <p class="ball">{sayBall(line.owner?.name)}</p>
        ) : (
          <p class="ball">
            {ORDER_STATE_WORDS[line.state]}, {plainDate(line.endedAt, zone, now)}
          </p>
        )}
        {line.endedAt === null && (
          <p class="note">
            Risk {line.risk} of 25. Found by {line.reportedBy}.
          </p>
        )}
      </div>
      <div class="k">
        {key !== null &&
          (direct !== null ? (
            <button type="button" class="key main" disabled={isBusy} onClick={() => void give()} aria-label={`${key}: ${what}`}>
              {isBusy ? 'Saving' : key}
            </button>
          ) : (
            <button
              type="button"
              class="key main"
              onClick={() => go(`/orders/${line.id}?move=${move}`)}
              aria-label={`${key}: ${what}`}
            >
              {key}
            </button>
          ))}
        {key === null && (
          <p class="alt">
            <a href={`/orders/${line.id}`}>
              Look at it<span class="unseen">: {what}</span>
            </a>
          </p>
        )}
      </div>
      {trouble !== null && (
        <div class="below">
          <Told>{sayTrouble(trouble)} Look at it again before you decide.</Told>
        </div>
      )}
    </li>
  );
}
