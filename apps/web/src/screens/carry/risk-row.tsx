import type { WindowView } from '@heatround/contract';
import type { ComponentChildren } from 'preact';
import { useRef, useState } from 'preact/hooks';
import { call, newId } from '../../client/index.ts';
import { useWidth } from '../../ui/chart/parts.tsx';
import { plainDate } from '../../ui/format.ts';
import { GradeMark, Tag } from '../../ui/marks.tsx';
import { answerBody, moveBody } from '../../ui/planning/bodies.ts';
import { dayField, type FormContext, PlanForm, slotBody, type Typed } from '../../ui/planning/form.tsx';
import { orderContent } from '../../ui/planning/situation.ts';
import { Axis, type Frame, Strip } from '../../ui/planning/strip.tsx';
import { countingOf, slotsOf } from '../../ui/planning/view.ts';
import {
  type AnswerKind,
  FINDING_STATE_WORDS,
  limitWord,
  type MoveKind,
  ORDER_STATE_WORDS,
  stopped,
} from '../../ui/planning/words.ts';
import { answerOn, askedOf, type Decision, isOrder, type Line, reachOf, sayState, sayWait, sayWhoHas } from './words.ts';

interface RowProps {
  readonly line: Line;
  readonly windows: readonly WindowView[];
  readonly frame: Frame;
  readonly personId: string;
}

const hrefOf = (line: Line): string =>
  isOrder(line) ? `/orders/${line.id}` : `/assets/${line.assetId}?point=${encodeURIComponent(line.letter)}`;
const stateOf = (line: Line): string => (isOrder(line) ? ORDER_STATE_WORDS[line.state] : FINDING_STATE_WORDS[line.state]);

/** One open risk: how it stands, the words under its name, who has the ball, its place in the coming weeks. */
export function RiskRow({ line, windows, frame, personId, children }: RowProps & { readonly children?: ComponentChildren }) {
  const { box, width } = useWidth<HTMLDivElement>(328);
  const zone = line.place.zone;
  const rowFrame: Frame = zone === frame.zone ? frame : { ...frame, zone };
  const { now } = frame;
  const counting = countingOf(line.conclusion, line.lastWindow);
  const isOpen = !isOrder(line) || line.state === 'agreed';
  const content = {
    ...(isOrder(line) ? orderContent(line, now) : counting === null ? answerOn(line, now) : {}),
    ...(isOpen
      ? {
          slots: slotsOf(line, windows, now),
          reach: counting === null ? null : reachOf(line, `reaches ${limitWord(counting.grade)}`),
        }
      : {}),
  };
  const isTall = (content.slots?.length ?? 0) > 0 && content.reach != null;
  const wait = sayWait(line, now);
  return (
    <li class="risk" aria-label={`${stateOf(line)}: ${line.assetName}`}>
      <div class="rk">
        <p class="state">{stateOf(line)}</p>
        <p>
          <GradeMark grade={line.grade} />
        </p>
      </div>
      <div class="rb">
        <h3>
          <a class="carryname" href={hrefOf(line)}>
            {line.assetName}
          </a>{' '}
          <Tag tag={line.tag} letter={line.letter} />
        </h3>
        <p>
          {sayState(line, now)} {wait}
        </p>
        {children === undefined && <Asked line={line} personId={personId} now={now} />}
        <p>
          <span class="soft">Ball:</span> <b>{children === undefined ? sayWhoHas(line, personId, now) : 'you'}</b>
          <span class="soft"> · risk {line.risk} of 25</span>
        </p>
      </div>
      <div class="rl" ref={box}>
        <Strip frame={rowFrame} width={width} content={content} isTall={isTall} label={`${stateOf(line)}. ${wait}`} />
        <div class="foot">
          <Axis frame={rowFrame} width={width} isFoot />
        </div>
      </div>
      {children !== undefined && <div class="dec">{children}</div>}
    </li>
  );
}

/** That somebody asked to live with it, for those who do not decide. */
function Asked({ line, personId, now }: { line: Line; personId: string; now: number }) {
  const asked = askedOf(line);
  if (asked === null) return null;
  if (isOrder(line) ? line.state !== 'agreed' : line.state !== 'reported') return null;
  return (
    <p>
      <b>{asked.by === personId ? 'You asked' : 'Somebody asks'} to live with it</b> until{' '}
      {plainDate(asked.until, line.place.zone, now)}: {stopped(asked.reason)}
    </p>
  );
}

type Choice = 'live-with' | 'agree' | 'slot' | 'turn-down';
/** A request that waits for this person: who asks for what, two keys of equal weight, and the answer given in place. */
export function DecisionRow(
  props: RowProps & {
    readonly decision: Decision;
    readonly onDecided: (words: string) => Promise<void>;
    readonly refresh: () => Promise<void>;
  },
) {
  const { line, decision, frame, windows } = props;
  const { now } = frame;
  const zone = line.place.zone;
  const [kind, setKind] = useState<Choice | null>(null);
  const orderId = useRef(newId());
  const keys = useRef<HTMLDivElement>(null);
  const asked = askedOf(line);
  const repair: Choice = isOrder(line) ? 'slot' : 'agree';
  const until = asked === null ? '' : plainDate(asked.until, zone, now);
  const words: Readonly<Record<Choice, string>> = {
    'live-with': `Live with it until ${until}`,
    agree: 'Have it repaired',
    slot: 'Have it repaired',
    'turn-down': 'It is no fault: turn down',
  };
  const offered = (['live-with', repair, 'turn-down'] as const).filter((one) => line.allowed.includes(one));
  const slots = slotsOf(line, windows, now);
  const context: FormContext = { zone, now, slots, others: [] };
  const give = async (chosen: Choice, typed: Typed): Promise<void> => {
    if (isOrder(line)) {
      const move = moveBody(chosen as MoveKind, typed, context);
      await call('moveOrder', { params: { orderId: line.id }, body: { version: line.order.version, move } });
    } else {
      const answer = answerBody(chosen as AnswerKind, typed, context, orderId.current);
      const made = await call('answerFinding', {
        params: { findingId: line.id },
        body: { version: line.finding.version, answer },
      });
      const slot = chosen === 'agree' ? slotBody(typed, context) : null;
      if (slot !== null && made.orderId !== null) {
        try {
          await call('moveOrder', { params: { orderId: made.orderId }, body: { move: slot } });
        } catch {
          // What was agreed stands; the time is named in Orders.
          await props.onDecided(
            `${line.assetName}: agreed as order ${made.orderNumber ?? ''}, but the time was not taken. Slot it in Orders.`,
          );
          return;
        }
      }
    }
    await props.onDecided(`${line.assetName}: ${DECIDED[chosen]}`);
  };
  const leave = (): void => {
    setKind(null);
    setTimeout(() => keys.current?.querySelector('button')?.focus());
  };
  const [first, second, ...rest] = offered;
  return (
    <RiskRow line={line} windows={windows} frame={frame} personId={props.personId}>
      {asked !== null && (
        <p>
          <b>
            {decision.askedBy} asks to live with it until {until}:
          </b>{' '}
          {stopped(asked.reason)}
        </p>
      )}
      {kind === null ? (
        <div class="keyrow" ref={keys}>
          {[first, second].map(
            (one) =>
              one !== undefined && (
                <button
                  type="button"
                  class="key equal"
                  key={one}
                  onClick={() => setKind(one)}
                  aria-label={`${words[one]}: ${line.assetName}`}
                >
                  {words[one]}
                </button>
              ),
          )}
          {rest.map((one) => (
            <button
              type="button"
              class="link"
              key={one}
              onClick={() => setKind(one)}
              aria-label={`${words[one]}: ${line.assetName}`}
            >
              {words[one]}
            </button>
          ))}
        </div>
      ) : (
        <PlanForm
          kind={kind}
          title={`${words[kind]}: ${line.assetName}`}
          context={context}
          given={kind === 'live-with' && asked !== null ? { until: dayField(asked.until, zone), reason: asked.reason } : {}}
          standing={stateOf(line)}
          allowed={line.allowed}
          onGive={(typed) => give(kind, typed)}
          onStale={props.refresh}
          onDone={leave}
        />
      )}
    </RiskRow>
  );
}

const DECIDED: Readonly<Record<Choice, string>> = {
  'live-with': 'you live with it. It comes back by itself on the end date, or when it gets worse.',
  agree: 'it is to be repaired; it stands among the orders.',
  slot: 'slotted, so it is repaired and not lived with.',
  'turn-down': 'turned down. Whoever reported it is told why.',
};
