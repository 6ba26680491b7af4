import type { FindingLine, WindowView } from '@heatround/contract';
import { TREND_WORDS, trendAt } from '@heatround/domain';
import { useRef, useState } from 'preact/hooks';
import { call, newId, Refusal, sayTrouble } from '../../client/index.ts';
import { useWidth } from '../../ui/chart/parts.tsx';
import { Told } from '../../ui/field.tsx';
import { clockTime, fullDate, isSameDay, plainDate, sentenceCase } from '../../ui/format.ts';
import { GradeMark, Tag } from '../../ui/marks.tsx';
import { answerBody } from '../../ui/planning/bodies.ts';
import { dayField, PlanForm, type SlotBody, slotBody, type Typed } from '../../ui/planning/form.tsx';
import { LastValue, Spark, sayLimitsNear } from '../../ui/planning/spark.tsx';
import { Axis, type Frame, Strip } from '../../ui/planning/strip.tsx';
import { countingOf, sayLastWindow, sayLimitOf, slotsOf } from '../../ui/planning/view.ts';
import {
  ANSWER_KINDS,
  ANSWER_WORDS,
  type AnswerKind,
  FINDING_STATE_WORDS,
  sayNumberWord,
  stopped,
} from '../../ui/planning/words.ts';

/** Answers a person may be offered: those open to them; asking only where accepting is somebody else's. */
export const offeredAnswers = ({ allowed }: Pick<FindingLine, 'allowed'>): AnswerKind[] =>
  ANSWER_KINDS.filter((kind) => allowed.includes(kind) && !(kind === 'ask-to-live-with' && allowed.includes('live-with')));

/** Who reported it, when, with how much evidence, and by when it wants an answer. */
function sayReport(line: FindingLine, now: number): string {
  const zone = line.place.zone;
  const at = Date.parse(line.reportedAt);
  const when = isSameDay(at, now, zone) ? `today ${clockTime(at, zone)}` : plainDate(at, zone, now);
  const pieces = [`${line.reportedBy}, ${when}.`];
  if (line.evidence > 1) pieces.push(`${sayNumberWord(line.evidence)} pieces of evidence.`);
  if (line.repeats !== null) pieces.push(`Repeats finding ${line.repeats}.`);
  if (line.asksPlanner) pieces.push('A late reading was added after it had ended.');
  return pieces.join(' ');
}

/** By when it wants an answer; heavy once that has passed. */
function sayAnswerBy(line: FindingLine, now: number) {
  if (line.answerDueAt === null) return null;
  const zone = line.place.zone;
  const due = Date.parse(line.answerDueAt);
  const day = isSameDay(due, now, zone) ? `today ${clockTime(due, zone)}` : fullDate(due, zone, now);
  return due < now ? <b>Its answer was due {day}.</b> : `Answer by ${day}.`;
}

/** One finding: what it is, where it goes, the last window, one key; every other answer one step below. */
export function FindingRow(props: {
  line: FindingLine;
  windows: readonly WindowView[];
  known: readonly FindingLine[];
  frame: Frame;
  personId: string;
  onAnswered: (words: string) => Promise<void>;
  refresh: () => Promise<void>;
}) {
  const { line, windows, known, frame } = props;
  const { now, zone: frameZone } = frame;
  const zone = line.place.zone;
  const rowFrame: Frame = zone === frameZone ? frame : { ...frame, zone };
  const slots = slotsOf(line, windows, now);
  const counting = countingOf(line.conclusion, line.lastWindow);
  const last = sayLastWindow(line, slots, now);
  /** Without a window or a date a narrow screen draws no empty strip. */
  const isBare = counting === null && slots.length === 0;
  const orderId = useRef(newId());
  const [isBusy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<unknown>(null);
  const [isOpen, setOpen] = useState(false);
  const [kind, setKind] = useState<AnswerKind | null>(null);
  const { box, width } = useWidth<HTMLDivElement>(328);
  const offered = offeredAnswers(line);
  const mayAgree = line.allowed.includes('agree');
  const window = line.lastWindow.window;
  const asked = line.finding.livingAsked;

  /** Agrees, and slots where a time was chosen; the order keeps its id, so a second tap makes no second order. */
  const agree = async (ownerId: string | null, slot: SlotBody | null): Promise<string> => {
    const made = await call('answerFinding', {
      params: { findingId: line.id },
      body: { version: line.finding.version, answer: { kind: 'agree', orderId: orderId.current, ownerId } },
    });
    const order = `Agreed as order ${made.orderNumber ?? ''}`.trim();
    if (slot === null || made.orderId === null)
      return `${line.assetName}: ${order}, without a window. Nobody has slotted it yet.`;
    try {
      await call('moveOrder', { params: { orderId: made.orderId }, body: { move: slot } });
    } catch (failed) {
      return `${line.assetName}: ${order}, but the time was not taken. ${sayTrouble(failed)} Slot it in Orders.`;
    }
    const day = slots.find(({ id }) => id === slot.windowId)?.from ?? (slot.from === undefined ? null : Date.parse(slot.from));
    return `${line.assetName}: ${order}, slotted${day === null ? '' : ` for ${fullDate(day, zone, now)}`}.`;
  };
  const ask = async (): Promise<void> => {
    if (isBusy) return;
    setBusy(true);
    setTrouble(null);
    try {
      await props.onAnswered(await agree(null, window === null ? null : { kind: 'slot', windowId: window.id }));
    } catch (failed) {
      if (failed instanceof Refusal && (failed.status === 409 || failed.status === 412))
        await props.refresh().catch(() => undefined);
      setTrouble(failed);
    }
    setBusy(false);
  };
  const answer = async (chosen: AnswerKind, typed: Typed): Promise<void> => {
    const context = { zone, now, slots, others: [] };
    if (chosen === 'agree') {
      await props.onAnswered(await agree(typed.owner === '' ? null : typed.owner, slotBody(typed, context)));
      return;
    }
    await call('answerFinding', {
      params: { findingId: line.id },
      body: { version: line.finding.version, answer: answerBody(chosen, typed, context, orderId.current) },
    });
    await props.onAnswered(`${line.assetName}: ${ANSWERED[chosen]}`);
  };
  const others = known
    .filter((other) => other.id !== line.id)
    .sort(
      (a, b) =>
        Number(b.pointId === line.pointId) - Number(a.pointId === line.pointId) ||
        Number(b.assetId === line.assetId) - Number(a.assetId === line.assetId),
    )
    .map((other) => ({
      id: other.id,
      words: `${other.tag} ${other.letter}, ${other.assetName}, ${plainDate(other.reportedAt, zone, now)}, ${FINDING_STATE_WORDS[other.state].toLowerCase()}`,
    }));
  const name = `${line.assetName}, ${line.tag} ${line.letter}`;
  const label = `${line.lastWindow.sentence}${counting === null ? '' : ` ${sayReachLabel(line, now)}`}`;
  const panel = `answers-${line.id}`;
  return (
    <li class="duerow" aria-label={name}>
      <p class="g">
        <GradeMark grade={line.grade} />
      </p>
      <div class="a">
        <p class="nm">
          <a href={`/assets/${line.assetId}?point=${encodeURIComponent(line.letter)}`}>{line.assetName}</a>
        </p>
        <p class="pl">
          <Tag tag={line.tag} letter={line.letter} /> {line.pointName.charAt(0).toLowerCase() + line.pointName.slice(1)}
        </p>
        <p class="note">
          {sayTrendOf(line, zone, now)}
          {line.words !== null && line.words.trim() !== '' && <>“{stopped(line.words)}” </>}
          {sayReport(line, now)} {sayAnswerBy(line, now)}
        </p>
        {asked !== null && (
          <p class="note">
            <b>{asked.by === props.personId ? 'You asked' : 'Somebody asks'} to live with it</b> until{' '}
            {plainDate(asked.until, zone, now)}: {stopped(asked.reason)}
          </p>
        )}
      </div>
      <div class="v">
        <p class="val">
          <LastValue {...line} />
        </p>
        <Spark {...line} />
        <p class="note">{sayLimitsNear(line)}</p>
      </div>
      <div class={isBare ? 's bare' : 's'} ref={box}>
        <Strip
          frame={rowFrame}
          width={width}
          label={label}
          content={{
            slots,
            reach:
              counting === null
                ? null
                : {
                    earliest: counting.earliestAt as number,
                    likely: counting.likelyAt,
                    latest: counting.latestAt,
                    words: sayLimitOf(counting, line.unit),
                  },
          }}
        />
        <div class="foot">
          <Axis frame={rowFrame} width={width} isFoot />
        </div>
      </div>
      <div class="w">
        <p class="wd">{last.title}</p>
        <p class="note">{last.note}</p>
      </div>
      <div class="k">
        {mayAgree && (
          <button
            type="button"
            class="key main"
            disabled={isBusy}
            onClick={() => void ask()}
            aria-label={isBusy ? undefined : keyLabel(line, zone, now)}
          >
            {isBusy ? 'Asking' : window === null ? 'Agree' : `Ask for ${plainDate(window.from, zone, now)}`}
          </button>
        )}
        {offered.length > 0 && (
          <p class="alt">
            <button
              type="button"
              class="link"
              aria-expanded={isOpen}
              aria-controls={panel}
              onClick={() => {
                setOpen(!isOpen);
                setKind(null);
              }}
            >
              Other answers<span class="unseen"> to {name}</span>
            </button>
          </p>
        )}
        {offered.length === 0 && <p class="note">A planner or a manager answers it.</p>}
      </div>
      {trouble !== null && (
        <div class="below">
          <Told>{sayTrouble(trouble)} Nothing was changed here; the row shows how it stands now.</Told>
        </div>
      )}
      {isOpen && (
        <div class="below" id={panel}>
          {kind === null ? (
            <div class="keyrow others">
              {offered.map((one) => (
                <button type="button" class="key" key={one} onClick={() => setKind(one)}>
                  {answerKey(one, line, zone, now)}
                </button>
              ))}
              <button type="button" class="link" onClick={() => setOpen(false)}>
                Leave it
              </button>
            </div>
          ) : (
            <PlanForm
              kind={kind}
              title={`${answerKey(kind, line, zone, now).replace(' …', '')}: ${name}`}
              context={{ zone, now, slots, others }}
              given={kind === 'live-with' && asked !== null ? { until: dayField(asked.until, zone), reason: asked.reason } : {}}
              standing={FINDING_STATE_WORDS[line.state]}
              allowed={line.allowed}
              onGive={(typed) => answer(kind, typed)}
              onStale={props.refresh}
              onDone={() => {
                setKind(null);
                setOpen(false);
              }}
            />
          )}
        </div>
      )}
    </li>
  );
}

const ANSWERED: Readonly<Record<Exclude<AnswerKind, 'agree'>, string>> = {
  'read-again': 'it is read again on the next round that fits, and comes back here with the reading.',
  'same-as': 'it is the same as the other one, which takes its evidence.',
  'turn-down': 'turned down. Whoever reported it is told why.',
  'live-with': 'it is lived with. It comes back by itself on the end date, or when it gets worse.',
  'ask-to-live-with': 'asked to live with it. It stays here until somebody else answers.',
};

function answerKey(kind: AnswerKind, line: FindingLine, zone: string, now: number): string {
  const asked = line.finding.livingAsked;
  if (kind === 'live-with' && asked !== null) return `Live with it until ${plainDate(asked.until, zone, now)}`;
  if (kind === 'agree') return line.lastWindow.window === null ? 'Agree for a day …' : 'Agree otherwise …';
  return ANSWER_WORDS[kind];
}

const keyLabel = (line: FindingLine, zone: string, now: number): string => {
  const { window } = line.lastWindow;
  const what = `${line.assetName}, ${line.tag} ${line.letter}`;
  return window === null ? `Agree: ${what}` : `Ask for ${plainDate(window.from, zone, now)}: ${what}`;
};

function sayReachLabel(line: FindingLine, now: number): string {
  const zone = line.place.zone;
  const counting = countingOf(line.conclusion, line.lastWindow);
  if (counting === null || counting.earliestAt === null) return '';
  const day = (at: number): string => plainDate(at, zone, now);
  const latest = counting.latestAt === null ? 'or not at all' : `latest ${day(counting.latestAt)}`;
  const likely = counting.likelyAt === null ? '' : `likely ${day(counting.likelyAt)}, `;
  return `${sayLimitOf(counting, line.unit)}: earliest ${day(counting.earliestAt)}, ${likely}${latest}.`;
}

const sayTrendOf = ({ conclusion }: FindingLine, zone: string, now: number): string => {
  const trend = conclusion === null ? null : trendAt(conclusion, zone, now);
  // What was steady until the newest reading is not called so beside that one.
  if (trend === 'steady' && conclusion!.projections.some(({ apart }) => apart != null)) return 'Unlike its readings before. ';
  return trend === null ? '' : `${sentenceCase(TREND_WORDS[trend])}. `;
};
