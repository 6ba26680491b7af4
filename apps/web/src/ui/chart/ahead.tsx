import type { LimitGrade } from '@heatround/domain';
import { plainDate, sayLimit, tableDate } from '../format.ts';
import { PLOT_BOTTOM, PLOT_TOP } from './behind.tsx';
import type { Scale, Sounding, Stretch } from './model.ts';
import { axisOf, Bands, Dots, type Frame, MonthAxis, useWidth, ValueScale, valueScale } from './parts.tsx';

export interface FanSpot {
  readonly at: number;
  readonly low: number;
  readonly mid: number;
  readonly high: number;
}
/** The limit that counts, with the dates it is reached. */
export interface Reaching {
  readonly grade: LimitGrade;
  readonly limit: number;
  readonly earliest: number;
  readonly likely: number | null;
  readonly latest: number | null;
}

/** A shutdown window as an upright slot: filled is the last that fits, dashed comes too late. */
export interface Slot {
  readonly id: string;
  readonly from: number;
  readonly to: number;
  readonly kind: 'last' | 'fits' | 'late';
  /** Two lines above the plot; empty: none. */
  readonly title: string;
  readonly detail: string;
}

const WEEK = 7 * 86_400_000;
const n = (value: number): string => value.toFixed(1);

/** The coming weeks: fan, likely dashed, and on the limit that counts a bar from earliest to latest. */
export function Ahead(props: {
  label: string;
  title: string;
  now: number;
  from: number;
  to: number;
  zone: string;
  stretches: readonly Stretch[];
  soundings: readonly Sounding[];
  fan: readonly FanSpot[];
  reaching: Reaching | null;
  slots?: readonly Slot[];
  scale: Scale;
  unit: string;
  last: string | null;
}) {
  const { box, width } = useWidth<HTMLElement>(400);
  const { figures, margin } = valueScale(props.scale, props.unit);
  const left = margin;
  const right = width - 1;
  const { now, from, to, zone, scale, reaching } = props;
  const x = (at: number): number => left + ((at - from) / (to - from)) * (right - left);
  const frame: Frame = { left, right, top: PLOT_TOP, bottom: PLOT_BOTTOM, x, scale };
  const y = axisOf(frame);
  const inFan = props.fan.filter((spot) => spot.at <= to + WEEK);
  const edge = (which: 'low' | 'mid' | 'high'): string =>
    inFan.map((spot, index) => `${index === 0 ? 'M' : 'L'}${n(x(spot.at))} ${n(scale.y(spot[which]))}`).join('');
  const area =
    inFan.length > 1
      ? `${edge('high')}${[...inFan]
          .reverse()
          .map((spot) => `L${n(x(spot.at))} ${n(scale.y(spot.low))}`)
          .join('')}Z`
      : '';
  const last = props.soundings.at(-1);
  const weeks: number[] = [];
  const isWeekly = (to - from) / WEEK <= 13;
  if (isWeekly) for (let at = mondayAfter(from); at < to; at += WEEK) weeks.push(at);
  const clip = `plot${Math.round(from / 1000)}${Math.round(to / 1000)}`;
  return (
    <figure ref={box}>
      <svg
        width={width}
        height={PLOT_BOTTOM + 66}
        viewBox={`0 0 ${width} ${PLOT_BOTTOM + 66}`}
        role="img"
        aria-label={props.label}
      >
        <clipPath id={clip}>
          <rect x={left} y={PLOT_TOP} width={right - left} height={PLOT_BOTTOM - PLOT_TOP} />
        </clipPath>
        <text x={1} y={24} font-size={14} font-weight={700} fill="var(--ink)">
          {props.title}
        </text>
        <ValueScale frame={frame} figures={figures} />
        <Bands frame={frame} stretches={props.stretches} labels="right" />
        <g clip-path={`url(#${clip})`}>
          {area !== '' && <path d={area} fill="var(--fan-fill)" />}
          {area !== '' && <path d={edge('low') + edge('high')} fill="none" stroke="var(--fan)" stroke-width={1} />}
          {area !== '' && <path d={edge('mid')} fill="none" stroke="var(--fan)" stroke-width={2.4} stroke-dasharray="7 4" />}
        </g>
        <Slots frame={frame} slots={(props.slots ?? []).filter((slot) => slot.to > from && slot.from < to)} title={props.title} />
        <Dots frame={frame} soundings={props.soundings} />
        {last !== undefined && last.kind !== 'not-judged' && (
          <>
            <Dots frame={frame} soundings={[last]} r={6} />
            {props.last !== null && (
              <text
                x={x(last.at) + 8}
                y={Math.min(PLOT_BOTTOM - 4, scale.y(last.value) + 20)}
                font-size={15}
                font-weight={700}
                fill="var(--ink)"
              >
                {props.last}
              </text>
            )}
          </>
        )}
        {reaching !== null && <Bar frame={frame} reaching={reaching} zone={zone} to={to} now={now} />}
        {isWeekly ? (
          <g>
            <path d={`M${left} ${y}H${right}`} stroke="var(--ink)" stroke-width={1} />
            {weeks.map((at, index) => {
              const p = tableDate(at, 'UTC');
              const isFirst = index === 0 || Number(p.split(' ')[0]) <= 7;
              const isRoom = x(at) + (isFirst ? 46 : 18) < right + 2;
              const nextFits = (weeks[1] ?? at + WEEK) - (weeks[0] ?? at) > 0 && x(at + WEEK) - x(at) > (isFirst ? 44 : 22);
              return (
                <g key={at}>
                  <path d={`M${n(x(at))} ${y}v8`} stroke="var(--ink)" stroke-width={1} />
                  {isRoom && (nextFits || index % 2 === 0) && (
                    <text x={n(x(at) + 3)} y={y + 17.5} font-size={13} fill="var(--ink-2)">
                      {isFirst && x(at + WEEK) - x(at) > 40 ? p : p.split(' ')[0]}
                    </text>
                  )}
                </g>
              );
            })}
          </g>
        ) : (
          <MonthAxis frame={frame} from={from} to={to} />
        )}
        <path d={`M${n(x(now))} ${y - 6}v52`} stroke="var(--ink)" stroke-width={1.2} />
        <text x={n(x(now) + 5)} y={y + 46} font-size={13} font-weight={700} fill="var(--ink)">
          today
        </text>
      </svg>
    </figure>
  );
}

const TITLE_PX = 7.4;
function Slots({ frame, slots, title }: { frame: Frame; slots: readonly Slot[]; title: string }) {
  const { x, left, right, top, bottom } = frame;
  // Words stand above the plot, beside its title; what finds no room is told in the timetable.
  let free = 1 + title.length * TITLE_PX + 10;
  return (
    <g>
      {slots.map((slot) => {
        const from = Math.max(left, x(slot.from));
        const wide = Math.max(7, Math.min(right, x(slot.to)) - from);
        const long = Math.max(slot.title.length * (slot.kind === 'last' ? TITLE_PX : 6.9), slot.detail.length * 6.7);
        const at = Math.max(free, Math.min(right - long, from + wide / 2 - (slot.kind === 'last' ? long / 2 : 0)));
        const isSaid = slot.kind !== 'fits' && slot.title !== '' && at + long <= right + 1 && Math.abs(at - from) < long + 24;
        if (isSaid) free = at + long + 12;
        const isLate = slot.kind === 'late';
        return (
          <g key={slot.id}>
            <rect
              x={n(from)}
              y={top - 2}
              width={n(wide)}
              height={bottom - top + 4}
              fill={slot.kind === 'last' ? 'var(--act)' : 'none'}
              fill-opacity={0.28}
              stroke={isLate ? 'var(--act-edge)' : 'var(--act)'}
              stroke-width={isLate ? 1.2 : 1.8}
              {...(isLate ? { 'stroke-dasharray': '3 3' } : {})}
            />
            {isSaid && (
              <g font-size={13} fill={isLate ? 'var(--ink-2)' : 'var(--act)'}>
                <text x={n(at)} y={13} font-weight={isLate ? 400 : 700}>
                  {slot.title}
                </text>
                <text x={n(at)} y={27}>
                  {slot.detail}
                </text>
              </g>
            )}
          </g>
        );
      })}
    </g>
  );
}

/** Only what lies ahead is drawn: a date that has passed leaves the bar beginning today, without its end stroke and word. */
function Bar(props: { frame: Frame; reaching: Reaching; zone: string; to: number; now: number }) {
  const { frame, reaching, zone, to, now } = props;
  const { x, scale, right, left, top } = frame;
  const y = scale.y(reaching.limit);
  if (y < top - 2 || (reaching.latest !== null && reaching.latest <= now)) return null;
  const hasBegun = reaching.earliest < now;
  const begin = Math.max(left, x(Math.max(now, reaching.earliest)));
  const isOpen = reaching.latest === null || reaching.latest > to;
  const end = isOpen ? right : x(reaching.latest as number);
  const likely = reaching.likely !== null && reaching.likely >= now && reaching.likely <= to ? x(reaching.likely) : null;
  const below = y - 34 < top;
  const wordY = below ? y + 20 : y - 26;
  const dateY = below ? y + 34 : y - 12;
  const labels = [
    ...(hasBegun ? [] : [{ word: 'earliest', at: reaching.earliest, x: begin }]),
    ...(likely === null ? [] : [{ word: 'likely', at: reaching.likely as number, x: likely }]),
    ...(isOpen ? [] : [{ word: 'latest', at: reaching.latest as number, x: end }]),
  ];
  // Three dates need room: likely gives way first, it stands in the timetable too.
  const apart = (a: number, b: number): boolean => Math.abs(a - b) >= 56;
  const shown = labels.filter(
    (label) => label.word !== 'likely' || labels.every((other) => other === label || apart(other.x, label.x)),
  );
  const isTight = shown.length === 2 && !apart(shown[0]!.x, shown[1]!.x);
  const halo = {
    'paint-order': 'stroke',
    stroke: `var(--band-${reaching.grade})`,
    'stroke-width': 3,
    'stroke-linejoin': 'round',
  } as const;
  return (
    <g>
      <path d={`M${n(begin)} ${n(y)}H${n(end)}`} stroke="var(--ink)" stroke-width={4} />
      <path
        d={`${hasBegun ? '' : `M${n(begin)} ${n(y - 8)}v16`}${isOpen ? '' : `M${n(end)} ${n(y - 8)}v16`}`}
        stroke="var(--ink)"
        stroke-width={2}
      />
      {likely !== null && <circle cx={likely} cy={y} r={6} fill="var(--ink)" stroke="var(--paper)" stroke-width={1.5} />}
      {shown.map((label, index) => {
        const anchor = isTight
          ? index === 0
            ? 'end'
            : 'start'
          : label.x < left + 28
            ? 'start'
            : label.x > right - 28
              ? 'end'
              : 'middle';
        return (
          <g key={label.word} text-anchor={anchor} fill="var(--ink)" font-size={13}>
            <text x={n(label.x)} y={n(wordY)} {...halo}>
              {label.word}
            </text>
            <text x={n(label.x)} y={n(dateY)} font-weight={700} {...halo}>
              {tableDate(label.at, zone)}
            </text>
          </g>
        );
      })}
    </g>
  );
}

function mondayAfter(at: number): number {
  const day = Math.ceil(at / 86_400_000);
  // 1 January 1970 was a Thursday.
  return (day + ((11 - (day % 7)) % 7)) * 86_400_000;
}

export const sayReaching = (reaching: Reaching, zone: string, now: number): string =>
  reaching.latest === null
    ? `${sayLimit(reaching.limit)} not before ${plainDate(reaching.earliest, zone, now)}`
    : `${sayLimit(reaching.limit)} between ${plainDate(reaching.earliest, zone, now)} and ${plainDate(reaching.latest, zone, now)}`;
