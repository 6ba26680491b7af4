import { useCallback, useEffect, useRef, useState } from 'preact/hooks';
import { call, Refusal, sayTrouble } from '../../client/index.ts';
import { useWhere } from '../../shell/router.tsx';
import { useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { Told } from '../../ui/field.tsx';
import { clockTime, fullDate, plainDate, sayCount, sayLimit, tableDate } from '../../ui/format.ts';
import { GradeMark, Tag } from '../../ui/marks.tsx';
import { moveBody } from '../../ui/planning/bodies.ts';
import {
  type Choice,
  dayField,
  EMPTY,
  type FormKind,
  isAtOnce,
  PlanForm,
  type Typed,
  targetOf,
} from '../../ui/planning/form.tsx';
import { usePeople } from '../../ui/planning/people.ts';
import { sayOverdue, saySlot } from '../../ui/planning/situation.ts';
import { sayLastWindow, slotsOf } from '../../ui/planning/view.ts';
import { MOVE_KINDS, MOVE_WORDS, type MoveKind, ORDER_STATE_WORDS, sayBall, sayMade, sayWhy } from '../../ui/planning/words.ts';
import { useWork } from '../../ui/work.ts';
import { BeforeAfter } from './before-after.tsx';
import { leadingMove } from './orders-screen.tsx';
import { type OrderPage, type Station, sayOrder, stationsOf } from './stations.ts';
import '../asset/asset.css';
import '../../ui/planning/planning.css';
import './order.css';

/** One work order from the report to the proof. */
export function OrderScreen({ parameters }: { parameters: Record<string, string> }) {
  const orderId = parameters.orderId ?? '';
  const [page, setPage] = useState<OrderPage | null>(null);
  const [trouble, setTrouble] = useState<unknown>(null);
  const [isSlow, setSlow] = useState(false);
  const look = useCallback(async (): Promise<void> => {
    const slow = setTimeout(() => setSlow(true), 1000);
    try {
      setPage(await call('getOrder', { params: { orderId } }));
      setTrouble(null);
    } catch (failed) {
      setTrouble(failed);
      throw failed;
    } finally {
      clearTimeout(slow);
      setSlow(false);
    }
  }, [orderId]);
  useEffect(() => void look().catch(() => undefined), [look]);
  if (page !== null) return <Shown page={page} trouble={trouble} look={look} />;
  const isNone = trouble instanceof Refusal && trouble.status === 404;
  return (
    <Waiting
      words={
        trouble === null
          ? 'The order'
          : isNone
            ? 'There is no such order in this organisation.'
            : 'The order cannot be shown now.'
      }
      note={isSlow ? 'fetching the order' : null}
      trouble={isNone ? null : trouble}
    />
  );
}

function Waiting({ words, note, trouble }: { words: string; note: string | null; trouble: unknown }) {
  const heading = useOpening('Order', words);
  return (
    <>
      <h1 class="say open" tabIndex={-1} ref={heading}>
        {words}
      </h1>
      {note !== null && <p class="note">{note}</p>}
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
    </>
  );
}

/** Moves offered to a person: those open to them; asking only where accepting is somebody else's. */
export const offeredMoves = ({ allowed }: Pick<OrderPage, 'allowed'>): MoveKind[] =>
  MOVE_KINDS.filter((kind) => allowed.includes(kind) && !(kind === 'ask-to-live-with' && allowed.includes('live-with')));

function Shown({ page, trouble, look }: { page: OrderPage; trouble: unknown; look: () => Promise<void> }) {
  const { outbox, may, me } = useSession();
  const { search } = useWhere();
  const now = outbox.now();
  const zone = page.place.zone;
  const { order } = page;
  const asked = search.get('move');
  const offered = offeredMoves(page);
  const [kind, setKind] = useState<FormKind | null>(() => {
    const wanted = offered.find((one) => one === asked);
    return wanted === undefined || isAtOnce(wanted) ? null : wanted;
  });
  const { isBusy, trouble: refused, work } = useWork();
  const [said, setSaid] = useState<string | null>(null);
  const saidLine = useRef<HTMLParagraphElement>(null);
  const heading = useOpening(`Order ${page.number} ${page.assetName}`, page.id);
  useEffect(() => {
    if (said !== null) saidLine.current?.focus();
  }, [said]);
  const slots = slotsOf(page, page.windows, now);
  const lead = leadingMove(page.allowed);
  const others = useOthers(kind === 'merge-into', page, now);
  const context = { zone, now, slots, others, unit: page.unit };
  const last = page.lastWindow.window;

  const give = async (chosen: FormKind, typed: Typed): Promise<void> => {
    if (chosen === 'target') {
      const value = targetOf(typed);
      const isLow = page.limits.length > 1 && page.limits.at(-1)!.value < page.limits[0]!.value;
      await call('setTarget', {
        params: { orderId: page.id },
        body: { target: value === null ? null : { value, direction: page.target?.direction ?? (isLow ? 'low' : 'high') } },
      });
    } else {
      await call('moveOrder', {
        params: { orderId: page.id },
        body: { version: order.version, move: moveBody(chosen as MoveKind, typed, context) },
      });
    }
    await look();
    setSaid(chosen === 'target' ? 'The target is set.' : MOVED[chosen as MoveKind]);
  };
  /** Opens the form of a move; one that asks for nothing is made at once. */
  const begin = (event: Event, chosen: FormKind): void => {
    if (!isAtOnce(chosen)) {
      setKind(chosen);
      return;
    }
    setSaid(null);
    void work(event, async () => {
      try {
        await give(chosen, EMPTY);
      } catch (failed) {
        await look().catch(() => undefined);
        throw failed;
      }
    });
  };
  const overdue = sayOverdue(page, zone, now);
  const rows = stationsOf(page, zone, now);
  const window = page.state === 'agreed' || page.state === 'stuck' ? sayLastWindow(page, slots, now) : null;
  return (
    <>
      <div class="wo">
        <span>Order {page.number}</span>
        <Tag tag={page.tag} letter={page.letter} />
        <a href={`/assets/${page.assetId}?point=${encodeURIComponent(page.letter)}`}>
          {page.assetName}, {page.pointName.charAt(0).toLowerCase() + page.pointName.slice(1)}
        </a>
      </div>
      <h1 class="say open" tabIndex={-1} ref={heading}>
        {sayOrder(page, zone, now)}
      </h1>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      {refused !== null && said === null && <Told>{sayTrouble(refused)} The page shows how it stands now.</Told>}
      {said !== null && (
        <p class="told" role="status" tabIndex={-1} ref={saidLine}>
          {said}
        </p>
      )}
      <div class="lines">
        {rows.map((row, index) => (
          <Stations key={`${row[0]?.word} ${index}`} row={row} isFirst={index === 0} />
        ))}
      </div>
      <div class="facts">
        {page.endedAt === null ? (
          <p>
            <GradeMark grade={page.grade} />
          </p>
        ) : (
          <p class="ended">
            <b>{ORDER_STATE_WORDS[page.state]}</b>, <span class="soft">found at</span> <GradeMark grade={page.grade} />
          </p>
        )}
        {page.endedAt === null && (
          <p>
            <b>{sayBall(page.owner?.name)}.</b>
          </p>
        )}
        {page.endedAt === null &&
          page.dueAt !== null &&
          page.state !== 'done' &&
          page.state !== 'living-with' &&
          overdue === null && <p>Due {fullDate(page.dueAt, zone, now)}.</p>}
        {overdue !== null && (
          <p class="over">
            <span class="overbar" aria-hidden="true" />
            {overdue}
          </p>
        )}
        <p class="soft">
          {page.endedAt === null ? `Risk ${page.risk} of 25, consequence ${page.consequence} of 5. ` : ''}Criticality{' '}
          {page.criticality}.
        </p>
        {order.slot !== null && page.endedAt === null && <p>Slot: {saySlot(order.slot, zone, now)}.</p>}
        {window !== null && (
          <p>
            Last window: <b class="plum">{window.title}</b>. {window.note}
          </p>
        )}
        {page.proofStop !== null && page.state === 'done' && (
          <p>
            The proof is read on {page.proofStop.roundCode ?? 'an extra stop'}, {plainDate(page.proofStop.earliestAt, zone, now)}{' '}
            to {plainDate(page.proofStop.latestAt, zone, now)}.
          </p>
        )}
        {order.secondProof !== null && (
          <p>
            {order.secondProof.state === 'pending'
              ? `A second proof is due ${fullDate(order.secondProof.dueAt, zone, now)}.`
              : order.secondProof.state === 'proved'
                ? 'The second proof stands too.'
                : 'The second proof failed: the fault is back as a new finding.'}
          </p>
        )}
        {order.livingAsked !== null && (
          <p>
            <b>{order.livingAsked.by === me.personId ? 'You asked' : 'Somebody asks'} to live with it</b> until{' '}
            {fullDate(order.livingAsked.until, zone, now)}: {order.livingAsked.reason}
          </p>
        )}
      </div>
      {kind === null ? (
        <div class="keyrow moves">
          {lead !== null && (
            <button type="button" class="key main" disabled={isBusy} onClick={(event) => begin(event, lead)}>
              {lead === 'slot' && last !== null ? `Ask for ${fullDate(last.from, zone, now)} …` : MOVE_WORDS[lead]}
            </button>
          )}
          {offered
            .filter((one) => one !== lead)
            .map((one) => (
              <button type="button" class="key" key={one} disabled={isBusy} onClick={(event) => begin(event, one)}>
                {one === 'slot' && page.state !== 'agreed' ? 'Slot it anew' : MOVE_WORDS[one]}
              </button>
            ))}
          {page.endedAt === null && may('answer-findings') && (
            <button type="button" class="key" onClick={() => setKind('target')}>
              Target of the proof …
            </button>
          )}
        </div>
      ) : (
        <PlanForm
          key={kind}
          kind={kind}
          title={kind === 'target' ? 'What the proof must reach' : MOVE_WORDS[kind as MoveKind].replace(' …', '')}
          context={context}
          given={givenFor(kind, page, zone)}
          standing={standingOf(page)}
          allowed={page.allowed}
          onGive={(typed) => give(kind, typed)}
          onStale={look}
          onDone={() => setKind(null)}
        />
      )}
      <section class="sec">
        <h2>Before and after</h2>
        <BeforeAfter page={page} now={now}>
          <div class="cols">
            <div>
              <h3>What was found</h3>
              {page.findingWords !== null && page.findingWords.trim() !== '' && (
                <p>
                  “{page.findingWords}” <span class="soft">{page.reportedBy}</span>
                </p>
              )}
              {(order.found !== null || page.findingWords === null) && <p>{order.found ?? 'Nothing is written down yet.'}</p>}
            </div>
            <div>
              <h3>What was done</h3>
              <p>{order.did ?? 'Nothing is written down yet.'}</p>
            </div>
          </div>
        </BeforeAfter>
      </section>
      <div class="halves">
        <section class="sec">
          <h2>Evidence</h2>
          {page.evidence.length === 0 ? (
            <p class="small">No reading yet.</p>
          ) : (
            <ul class="worklist">
              {page.evidence.slice(0, 8).map((row) => (
                <li key={row.id}>
                  <span class="d">{tableDate(row.takenAt, zone, now)}</span>
                  <span>
                    {row.verdict.sentence} <span class="soft">{row.by}</span>
                  </span>
                </li>
              ))}
              {page.evidence.length > 8 && <li class="soft">{sayCount(page.evidence.length - 8, 'more reading')}</li>}
            </ul>
          )}
        </section>
        <History page={page} zone={zone} now={now} />
      </div>
    </>
  );
}

const MOVED: Readonly<Record<MoveKind, string>> = {
  slot: 'It is slotted.',
  start: 'The work is under way.',
  finish: 'Done. A proof stop goes on the next suitable round.',
  free: 'It is free again, where it was.',
  stuck: 'It is called stuck. Whoever can free it is named.',
  'back-to-agreed': 'The slot is given up.',
  'live-with': 'It is lived with. It comes back by itself on the end date, or when it gets worse.',
  'ask-to-live-with': 'Asked. Somebody else answers it.',
  'come-back': 'It is agreed again; its finding is back in Answers due.',
  'turn-down': 'It is turned down. Whoever found it is told why.',
  'merge-into': 'It goes on as the other order.',
  'close-unproved': 'It is closed unproved, and counted.',
  give: 'It is given.',
};

const standingOf = (page: OrderPage): string => `${ORDER_STATE_WORDS[page.state]}, ${sayBall(page.owner?.name).toLowerCase()}`;

function givenFor(kind: FormKind, page: OrderPage, zone: string): Partial<Typed> {
  const { livingAsked } = page.order;
  if (kind === 'live-with' && livingAsked !== null)
    return { until: dayField(livingAsked.until, zone), reason: livingAsked.reason };
  if (kind === 'give') return { owner: page.owner?.id ?? '' };
  if (kind === 'target') return { target: page.target === null ? '' : sayLimit(page.target.value) };
  return {};
}

/** Other open orders, for "same as". */
function useOthers(isNeeded: boolean, page: OrderPage, now: number): readonly Choice[] {
  const [found, setFound] = useState<readonly Choice[]>([]);
  useEffect(() => {
    if (!isNeeded) return;
    call('listOrders', { query: { which: 'open', pageSize: 100 } }).then(
      ({ orders }) =>
        setFound(
          orders
            .filter((one) => one.id !== page.id)
            .sort((a, b) => Number(b.assetId === page.assetId) - Number(a.assetId === page.assetId))
            .map((one) => ({
              id: one.id,
              words: `Order ${one.number}: ${one.tag} ${one.letter}, ${one.assetName}, ${plainDate(one.createdAt, one.place.zone, now)}`,
            })),
        ),
      () => undefined,
    );
  }, [isNeeded, page.id]);
  return found;
}

function Stations({ row, isFirst }: { row: readonly Station[]; isFirst: boolean }) {
  return (
    <ol class="stations" aria-label={isFirst ? 'Stations' : 'Stations after the proof failed'}>
      {row.map((station, index) => (
        <li
          key={`${station.column} ${station.word}`}
          class={`m-${station.mark} l-${station.line}`}
          style={{
            '--column': `${station.column + 1} / span ${Math.max(1, (row[index + 1]?.column ?? station.column + 1) - station.column)}`,
          }}
        >
          <span class="sw">
            {station.word}
            {station.mark === 'ring' && <span class="unseen">, next</span>}
            {station.mark === 'ahead' && <span class="unseen">, ahead</span>}
          </span>
          {station.notes.map((note) => (
            <span class="sn" key={note}>
              {note}
            </span>
          ))}
          {station.stuck !== null && <b class="ss">{station.stuck}</b>}
        </li>
      ))}
    </ol>
  );
}

/** Every change: who, when, why. */
function History({ page, zone, now }: { page: OrderPage; zone: string; now: number }) {
  const own = page.moves.map((move) => ({ ...move, of: 'order' as const }));
  const finding = page.findingMoves.map((move) => ({ ...move, of: 'finding' as const }));
  const isGiven = own.some(({ move }) => move === 'give');
  const people = usePeople(isGiven ? 'see' : null);
  const nameOf = (personId: string): string | null => [page.owner, ...people].find((one) => one?.id === personId)?.name ?? null;
  const all = [...finding, ...own].reverse().sort((a, b) => Date.parse(b.at) - Date.parse(a.at));
  return (
    <section class="sec">
      <h2>Every change</h2>
      <ul class="worklist">
        {all.map((move) => (
          <li key={`${move.of} ${move.at} ${move.move}`}>
            <span class="d">
              {tableDate(move.at, zone, now)} {clockTime(move.at, zone)}
            </span>
            <span>
              <b>{sayMade(move, nameOf)}</b>
              {move.of === 'finding' && <span class="soft"> (finding {page.findingNumber})</span>}.{' '}
              {move.by?.name ?? (move.move === 'prove' ? 'By its reading' : 'By itself')}.
              {sayWhy(move.why) !== null && <span class="soft"> {sayWhy(move.why)}</span>}
            </span>
          </li>
        ))}
        <li>
          <span class="d">
            {tableDate(page.reportedAt, zone, now)} {clockTime(page.reportedAt, zone)}
          </span>
          <span>
            <b>Reported</b> as finding {page.findingNumber}. {page.reportedBy}.
          </span>
        </li>
      </ul>
    </section>
  );
}
