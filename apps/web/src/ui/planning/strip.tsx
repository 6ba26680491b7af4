import { wallTime } from '@heatround/domain';
import { fullDate, monthStarts, plainDate } from '../format.ts';
import { type Box, type Said, type Spot, sayIn, wide } from './say-in.ts';
import { mondayOf, type SlotView, sayTooLate, WEEK } from './view.ts';
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
  /** Dotted to the end date. */
  readonly living?: { readonly until: number; readonly words: string } | null;
}

const n = (value: number): string => value.toFixed(1);
const haloed = { 'paint-order': 'stroke', stroke: 'var(--paper)', 'stroke-width': 4, 'stroke-linejoin': 'round' } as const;

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
  const { slots = [], reach = null, overdue = null, due = null, living = null } = content;
  const seen = slots
    .filter((slot) => slot.to > from && slot.from < to && slot.kind !== 'short')
    .map((slot) => ({ slot, box: slotBox(slot, inside(slot.from), inside(slot.to), height, isTall) }));
  const named =
    seen.find(({ slot: { kind } }) => kind === 'last' || kind === 'chosen') ?? seen.find(({ slot: { kind } }) => kind === 'open');
  const late = seen.find(({ slot: { kind } }) => kind === 'late');
  const bar =
    overdue === null ? null : { left: inside(overdue.since), right: x(now), top: middle - 8, bottom: middle + (isTall ? 8 : 5) };
  const range = reach === null || reach.earliest >= to ? null : rangeOf(reach, x, width, to, now);
  const dueX = due === null || due.at < now || due.at >= to ? null : x(due.at);
  const say = sayIn(width, [
    ...seen.map(({ box }) => box),
    { left: x(now) - 1, right: x(now) + 1, top: 0, bottom: height },
    ...(bar === null ? [] : [bar]),
    ...(range === null ? [] : [{ left: range.begin, right: range.end, top: middle - 8, bottom: middle + 8 }]),
    ...(dueX === null ? [] : [{ left: dueX - 1, right: dueX + 1, top: middle - 16, bottom: middle + 16 }]),
  ]);
  // What matters most finds its place first.
  const overdueWords =
    overdue === null || bar === null
      ? null
      : say(
          [overdue.words ?? `${sayDays(overdue.days)} overdue`],
          [
            { x: bar.right + 7, y: middle + 5, anchor: 'start' },
            { x: bar.left - 6, y: middle + 5, anchor: 'end' },
            { x: bar.right - 5, y: isTall ? middle + 23 : 42, anchor: 'end' },
            ...seen.map(({ box }): Spot => ({ x: box.right + 6, y: isTall ? middle + 5 : 40, anchor: 'start' })),
          ],
          true,
        );
  const reachWords =
    reach === null || range === null
      ? null
      : say(
          [reach.words],
          [
            ...(range.isOpen ? [] : [{ x: range.end + 8, y: middle + 4.5, anchor: 'start' } as const]),
            ...[20, -13].flatMap((shift): Spot[] => [
              { x: range.likely ?? (range.begin + range.end) / 2, y: middle + shift, anchor: 'middle' },
              { x: range.begin, y: middle + shift, anchor: 'start' },
              { x: range.end, y: middle + shift, anchor: 'end' },
            ]),
            { x: range.begin - 6, y: middle + 4.5, anchor: 'end' },
          ],
          true,
        );
  const slotSaid =
    named === undefined
      ? null
      : say([slotWords(named.slot, zone), plainDate(named.slot.from, zone)], besides(named.box, isTall ? [19] : [29, 18]), true);
  const lateSaid =
    late === undefined || !isTall
      ? null
      : say(
          [
            ...(late.slot.name === '' ? [] : [`${late.slot.name}, ${sayTooLate(late.slot, zone)}`]),
            sayTooLate(late.slot, zone),
            'too late',
          ],
          besides(late.box, [82]),
        );
  const dueWords =
    due === null || dueX === null
      ? null
      : say(
          [due.words],
          [
            ...besides({ left: dueX, right: dueX }, isTall ? [middle + 4, 74] : [28]),
            // Where a slot follows at once, on the other side of today.
            ...(dueX - x(now) < NEAR ? [{ x: x(now) - 6, y: isTall ? middle + 4 : 28, anchor: 'end' } as const] : []),
          ],
        );
  return (
    <svg width={width} height={height} viewBox={`0 0 ${width} ${height}`} role="img" aria-label={label} class="strip">
      {mondays(frame).map((at) => (
        <path key={at} d={`M${n(x(at))} 0V${height}`} stroke="var(--rule)" stroke-width={0.8} />
      ))}
      <path d={`M${n(x(now))} 0V${height}`} stroke="var(--ink)" stroke-width={1.2} />
      {seen.map(({ slot, box }) => (
        <Slot key={slot.id} kind={slot.kind} box={box} />
      ))}
      {range !== null && <ReachBar range={range} y={middle} />}
      {living !== null && <Living living={living} x={x} width={width} y={isTall ? middle : 20} now={now} to={to} />}
      {bar !== null && (
        <rect
          x={n(bar.left)}
          y={bar.top}
          width={n(Math.max(4, bar.right - bar.left))}
          height={bar.bottom - bar.top}
          fill="var(--ink)"
        />
      )}
      {dueX !== null && dueWords !== null && (
        <path d={`M${n(dueX)} ${isTall ? 30 : 12}v${isTall ? 32 : 24}`} stroke="var(--ink)" stroke-width={2} />
      )}
      <Words said={overdueWords} fill="var(--ink)" weight={700} />
      <Words said={reachWords} fill="var(--ink)" weight={600} />
      <Words said={slotSaid} fill="var(--act)" weight={700} />
      <Words said={lateSaid} fill="var(--ink-2)" />
      <Words said={dueWords} fill="var(--ink)" />
    </svg>
  );
}

const NEAR = 32;
/** Right of something, else left of it. */
const besides = ({ left, right }: Pick<Box, 'left' | 'right'>, lines: readonly number[]): Spot[] =>
  lines.flatMap((y): Spot[] => [
    { x: right + 5, y, anchor: 'start' },
    { x: left - 5, y, anchor: 'end' },
  ]);

export function slotWords(slot: Pick<SlotView, 'from' | 'name'>, zone: string): string {
  const day = plainDate(slot.from, zone);
  return slot.name === '' ? fullDate(slot.from, zone) : `${day}, ${slot.name.charAt(0).toLowerCase()}${slot.name.slice(1)}`;
}

function slotBox({ kind }: SlotView, left: number, right: number, height: number, isTall: boolean): Box {
  const sides = { left, right: Math.max(right, left + 9) };
  return kind === 'late'
    ? { ...sides, top: isTall ? 26 : 8, bottom: height - (isTall ? 6 : 8) }
    : { ...sides, top: 6, bottom: height - 6 };
}

function Slot({ kind, box }: { kind: SlotView['kind']; box: Box }) {
  const isFilled = kind === 'last' || kind === 'chosen';
  return (
    <rect
      x={n(box.left)}
      y={box.top}
      width={n(box.right - box.left)}
      height={box.bottom - box.top}
      fill={isFilled ? 'var(--act-fill)' : kind === 'late' ? 'none' : 'var(--paper)'}
      stroke={kind === 'late' ? 'var(--act-edge)' : 'var(--act)'}
      stroke-width={1.2}
      {...(kind === 'late' ? { 'stroke-dasharray': '3 3' } : {})}
    />
  );
}

function Words({ said, fill, weight = 400 }: { said: Said | null; fill: string; weight?: number }) {
  if (said === null) return null;
  return (
    <text x={n(said.x)} y={said.y} font-size={13} font-weight={weight} fill={fill} text-anchor={said.anchor} {...haloed}>
      {said.text}
    </text>
  );
}

interface Range {
  readonly begin: number;
  readonly end: number;
  readonly likely: number | null;
  /** It goes on beyond the strip, or nothing says when it ends. */
  readonly isOpen: boolean;
}
function rangeOf(reach: Reach, x: (at: number) => number, width: number, to: number, now: number): Range {
  const isOpen = reach.latest === null || reach.latest > to;
  return {
    begin: x(Math.max(reach.earliest, now)),
    end: isOpen ? width - 1 : x(Math.max(reach.latest as number, reach.earliest)),
    likely: reach.likely !== null && reach.likely <= to ? x(Math.max(reach.likely, now)) : null,
    isOpen,
  };
}

/** Earliest to latest with end strokes, a dot at likely, on the limit that counts. */
function ReachBar({ range: { begin, end, likely, isOpen }, y }: { range: Range; y: number }) {
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
