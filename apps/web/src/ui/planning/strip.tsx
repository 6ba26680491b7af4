import { wallTime } from '@heatround/domain';
import { fullDate, monthStarts, plainDate } from '../format.ts';
import type { SlotView } from './view.ts';
import { mondayOf, WEEK } from './view.ts';
import { sayDays } from './words.ts';

/** One time scale for all rows of a screen. */
export interface Frame {
  readonly from: number;
  readonly to: number;
  readonly now: number;
  readonly zone: string;
}
export const WEEKS = 12;
/** From Monday of this week, or so many weeks before it, over twelve weeks. */
export function frameOf(now: number, zone: string, weeksBefore = 0): Frame {
  const from = mondayOf(mondayOf(now, zone) - weeksBefore * WEEK + WEEK / 14, zone);
  return { from, to: mondayOf(from + WEEKS * WEEK + WEEK / 14, zone), now, zone };
}

export interface Reach {
  readonly earliest: number;
  readonly likely: number | null;
  /** Null: or not at all. */
  readonly latest: number | null;
  readonly words: string;
}
/** What a strip shows of a row. */
export interface StripContent {
  readonly slots?: readonly SlotView[];
  readonly reach?: Reach | null;
  /** Heavy bar up to today. */
  readonly overdue?: { readonly since: number; readonly days: number; readonly words?: string } | null;
  readonly due?: { readonly at: number; readonly words: string } | null;
  /** Words in place of a forecast. */
  readonly note?: string | null;
  /** Dotted to the end date. */
  readonly living?: { readonly until: number; readonly words: string } | null;
}

const n = (value: number): string => value.toFixed(1);
const haloed = { 'paint-order': 'stroke', stroke: 'var(--paper)', 'stroke-width': 4, 'stroke-linejoin': 'round' } as const;
const wide = (text: string, size: number, isBold = false): number => text.length * size * (isBold ? 0.57 : 0.53);

function mondays({ from, to, zone }: Frame): number[] {
  const found: number[] = [];
  for (let at = from; at < to; at = mondayOf(at + WEEK + WEEK / 14, zone)) found.push(at);
  return found;
}
const scaleOf =
  ({ from, to }: Frame, width: number) =>
  (at: number): number =>
    ((at - from) / (to - from)) * (width - 1) + 0.5;

/** Months, Mondays and today over the strips; on a phone the foot of each strip. */
export function Axis({ frame, width, isFoot = false }: { frame: Frame; width: number; isFoot?: boolean }) {
  const { now, zone, from, to } = frame;
  const x = scaleOf(frame, width);
  const today = x(now);
  const weeks = mondays(frame);
  const each = (width - 1) / weeks.length;
  const step = each >= 24 ? 1 : 2;
  const months = monthStarts(from, to);
  const [todayY, monthY, weekY] = isFoot ? [48, 33, 16] : [13, 30, 47];
  const isEnd = today + 36 > width;
  const firstMonth = months[0] === undefined || x(months[0].at) > 62;
  const monthOf = (at: number): string => plainDate(at, zone).split(' ')[1]!;
  return (
    <svg width={width} height={isFoot ? 52 : 54} viewBox={`0 0 ${width} ${isFoot ? 52 : 54}`} aria-hidden="true" class="axis">
      <text
        x={n(isEnd ? today - 4 : today + 4)}
        y={todayY}
        font-size={13}
        font-weight={700}
        fill="var(--ink)"
        text-anchor={isEnd ? 'end' : 'start'}
      >
        today
      </text>
      <path d={isFoot ? `M${n(today)} 0V50` : `M${n(today)} 2V54`} stroke="var(--ink)" stroke-width={1.2} />
      {firstMonth && today + 4 > 0 && (
        <text x={n(x(from) + 3)} y={monthY} font-size={13} fill="var(--ink-2)" {...haloed}>
          {monthOf(from)}
        </text>
      )}
      {months.map(({ at, name }) => (
        <g key={at}>
          <path d={`M${n(x(at))} ${monthY - 11}v13`} stroke="var(--ink)" stroke-width={1} />
          {x(at) + wide(name, 13, true) + 4 < width && (
            <text x={n(x(at) + 4)} y={monthY} font-size={13} font-weight={700} fill="var(--ink)" {...haloed}>
              {name}
            </text>
          )}
        </g>
      ))}
      {weeks.map((at, index) => (
        <g key={at}>
          <path d={`M${n(x(at))} ${isFoot ? 0 : weekY - 8}v8`} stroke="var(--ink)" stroke-width={1} />
          {index % step === 0 && (
            <text x={n(x(at) + 3)} y={weekY} font-size={13} fill="var(--ink-2)" {...haloed}>
              {wallTime(at, zone).day}
            </text>
          )}
        </g>
      ))}
    </svg>
  );
}

/** Slots, forecast, due date and today of one row, on the scale all rows share. */
export function Strip(props: { frame: Frame; width: number; content: StripContent; label: string; isTall?: boolean }) {
  const { frame, width, content, label, isTall = true } = props;
  const { now, zone, from, to } = frame;
  const height = isTall ? 92 : 48;
  const x = scaleOf(frame, width);
  const middle = isTall ? 47 : 24;
  const inside = (at: number): number => Math.min(width - 1, Math.max(0.5, x(at)));
  const { slots = [], reach = null, overdue = null, due = null, living = null, note = null } = content;
  const seen = slots.filter((slot) => slot.to > from && slot.from < to && slot.kind !== 'short');
  const named = seen.find(({ kind }) => kind === 'last' || kind === 'chosen') ?? seen.find(({ kind }) => kind === 'open');
  const late = seen.find(({ kind }) => kind === 'late');
  const namedWords = named === undefined ? '' : slotWords(named, zone);
  const taken = seen
    .filter((slot) => slot !== late)
    .map((slot): Span => [inside(slot.from), Math.max(inside(slot.to), inside(slot.from) + 9)]);
  const lateWords =
    late === undefined ? '' : shortened(late, inside(late.from), Math.max(inside(late.to), inside(late.from) + 9), width, taken);
  const dueRoom =
    named === undefined || (due !== null && Math.abs(x(due.at) - inside(named.to)) > wide(namedWords, 13, true) + 30);
  return (
    <svg width={width} height={height} viewBox={`0 0 ${width} ${height}`} role="img" aria-label={label} class="strip">
      {mondays(frame).map((at) => (
        <path key={at} d={`M${n(x(at))} 0V${height}`} stroke="var(--rule)" stroke-width={0.8} />
      ))}
      <path d={`M${n(x(now))} 0V${height}`} stroke="var(--ink)" stroke-width={1.2} />
      {seen.map((slot) => (
        <Slot key={slot.id} slot={slot} left={inside(slot.from)} right={inside(slot.to)} height={height} isTall={isTall} />
      ))}
      {reach !== null && reach.earliest < to && (
        <ReachBar
          reach={reach}
          x={x}
          width={width}
          y={middle}
          to={to}
          now={now}
          taken={seen.map((slot): Span => [inside(slot.from) - 3, Math.max(inside(slot.to), inside(slot.from) + 9) + 3])}
        />
      )}
      {note !== null && (
        <text x={n(x(now) + 8)} y={middle + 4.5} font-size={13} fill="var(--ink-2)" {...haloed}>
          {note}
        </text>
      )}
      {named !== undefined && (isTall || overdue === null) && (
        <Words
          left={inside(named.from)}
          right={Math.max(inside(named.to), inside(named.from) + 9)}
          width={width}
          y={isTall ? 19 : 29}
          fill="var(--act)"
          isBold
        >
          {namedWords}
        </Words>
      )}
      {late !== undefined && isTall && (
        <Words
          left={inside(late.from)}
          right={Math.max(inside(late.to), inside(late.from) + 9)}
          width={width}
          y={82}
          fill="var(--ink-2)"
        >
          {lateWords}
        </Words>
      )}
      {living !== null && <Living living={living} x={x} width={width} y={isTall ? middle : 20} now={now} to={to} />}
      {overdue !== null && (
        <>
          <rect
            x={n(inside(overdue.since))}
            y={isTall ? middle - 8 : 14}
            width={n(Math.max(4, x(now) - inside(overdue.since)))}
            height={isTall ? 16 : 13}
            fill="var(--ink)"
          />
          <text x={n(x(now) + 7)} y={isTall ? middle + 5 : 25} font-size={13} font-weight={700} fill="var(--ink)" {...haloed}>
            {overdue.words ?? `${sayDays(overdue.days)} overdue`}
          </text>
        </>
      )}
      {due !== null && due.at >= now && due.at < to && (isTall || dueRoom) && (
        <>
          <path d={`M${n(x(due.at))} ${isTall ? 30 : 12}v${isTall ? 32 : 24}`} stroke="var(--ink)" stroke-width={2} />
          {dueRoom && (
            <Words left={x(due.at)} right={x(due.at)} width={width} y={isTall ? 51 : 28} fill="var(--ink)">
              {due.words}
            </Words>
          )}
        </>
      )}
    </svg>
  );
}

type Span = readonly [number, number];
/** As much of it as finds room beside the slot without covering another one. */
function shortened(slot: SlotView, left: number, right: number, width: number, taken: readonly Span[]): string {
  const days = `${sayDays(slot.daysTooLate)} too late`;
  const all = [...(slot.name === '' ? [] : [`${slot.name}, ${days}`]), days, 'too late'];
  const fits = (text: string): boolean => {
    const long = wide(text, 13);
    const spans: Span[] = [
      [right + 5, right + 5 + long],
      [left - 5 - long, left - 5],
    ];
    const span = spans[0]![1] <= width ? spans[0]! : spans[1]!;
    return span[0] >= 0 && taken.every(([a, b]) => b < span[0] || a > span[1]);
  };
  return all.find(fits) ?? all.at(-1)!;
}

export function slotWords(slot: Pick<SlotView, 'from' | 'name'>, zone: string): string {
  const day = plainDate(slot.from, zone);
  return slot.name === '' ? fullDate(slot.from, zone) : `${day}, ${slot.name.charAt(0).toLowerCase()}${slot.name.slice(1)}`;
}

function Slot(props: { slot: SlotView; left: number; right: number; height: number; isTall: boolean }) {
  const { slot, left, height, isTall } = props;
  const width = Math.max(9, props.right - left);
  if (slot.kind === 'late')
    return (
      <rect
        x={n(left)}
        y={isTall ? 26 : 8}
        width={n(width)}
        height={height - (isTall ? 32 : 16)}
        fill="none"
        stroke="var(--act-edge)"
        stroke-width={1.2}
        stroke-dasharray="3 3"
      />
    );
  const isFilled = slot.kind === 'last' || slot.kind === 'chosen';
  return (
    <rect
      x={n(left)}
      y={6}
      width={n(width)}
      height={height - 12}
      fill={isFilled ? 'var(--act-fill)' : 'var(--paper)'}
      stroke="var(--act)"
      stroke-width={1.2}
    />
  );
}

/** Words beside something, on the side that has room. */
function Words(props: {
  left: number;
  right: number;
  width: number;
  y: number;
  fill: string;
  isBold?: boolean;
  children: string;
}) {
  const { left, right, width, y, fill, isBold = false, children } = props;
  const size = 13;
  const long = wide(children, size, isBold);
  const isRight = right + 5 + long <= width;
  const isLeft = !isRight && left - 5 - long >= 0;
  const at = isRight ? right + 5 : isLeft ? left - 5 : width - 1;
  return (
    <text
      x={n(at)}
      y={y}
      font-size={size}
      font-weight={isBold ? 700 : 400}
      fill={fill}
      text-anchor={isRight ? 'start' : 'end'}
      {...haloed}
    >
      {children}
    </text>
  );
}

/** Earliest to latest with end strokes, a dot at likely, on the limit that counts. */
function ReachBar(props: {
  reach: Reach;
  x: (at: number) => number;
  width: number;
  y: number;
  to: number;
  now: number;
  taken: readonly Span[];
}) {
  const { reach, x, width, y, to, now, taken } = props;
  const begin = x(Math.max(reach.earliest, now));
  const isOpen = reach.latest === null || reach.latest > to;
  const end = isOpen ? width - 1 : x(Math.max(reach.latest as number, reach.earliest));
  const likely = reach.likely !== null && reach.likely <= to ? x(Math.max(reach.likely, now)) : null;
  const long = wide(reach.words, 13, true);
  const isFree = taken.every(([left, right]) => right < end + 8 || left > end + 8 + long);
  const isBeside = !isOpen && end + 8 + long <= width && isFree;
  const at = isBeside ? end + 8 : Math.min(width - long / 2 - 1, Math.max(long / 2, likely ?? (begin + end) / 2));
  return (
    <g>
      <path d={`M${n(begin)} ${y}H${n(end)}`} stroke="var(--fan)" stroke-width={7} stroke-opacity={0.45} />
      <path
        d={`M${n(begin)} ${y - 8}v16${isOpen ? '' : `M${n(end)} ${y - 8}v16`}`}
        stroke="var(--dot)"
        stroke-width={2}
        fill="none"
      />
      {likely !== null && <circle cx={n(likely)} cy={y} r={5.5} fill="var(--dot)" stroke="var(--paper)" stroke-width={1.5} />}
      <text
        x={n(at)}
        y={isBeside ? y + 4.5 : y + 20}
        font-size={13}
        font-weight={600}
        fill="var(--ink)"
        text-anchor={isBeside ? 'start' : 'middle'}
        {...haloed}
      >
        {reach.words}
      </text>
    </g>
  );
}

/** Dotted to the end date, where a bar says that it opens again. */
function Living(props: {
  living: { until: number; words: string };
  x: (at: number) => number;
  width: number;
  y: number;
  now: number;
  to: number;
}) {
  const { living, x, width, y, now, to } = props;
  const isBeyond = living.until > to;
  const end = isBeyond ? width - 1 : x(Math.max(living.until, now));
  const long = wide(living.words, 13);
  return (
    <g>
      <path d={`M${n(x(now))} ${y}H${n(end)}`} stroke="var(--ink-2)" stroke-width={2} stroke-dasharray="2 5" />
      {!isBeyond && <path d={`M${n(end)} ${y - 10}v20`} stroke="var(--ink)" stroke-width={2.4} />}
      <text
        x={n(isBeyond || end + 6 + long > width ? Math.max(end - 6, x(now) + 8 + long) : end + 6)}
        y={y + (isBeyond || end + 6 + long > width ? 18 : 4.5)}
        font-size={13}
        fill="var(--ink-2)"
        text-anchor={isBeyond || end + 6 + long > width ? 'end' : 'start'}
        {...haloed}
      >
        {living.words}
      </text>
    </g>
  );
}
