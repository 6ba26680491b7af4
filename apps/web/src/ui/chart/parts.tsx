import type { LimitGrade } from '@heatround/domain';
import { useLayoutEffect, useRef, useState } from 'preact/hooks';
import { monthStarts, sayLimit, sayValue, withSign } from '../format.ts';
import { GRADE_WORDS } from '../marks.tsx';
import { type ChartEvent, roundFigures, type Scale, type Sounding, type Stretch } from './model.ts';

const CONTOUR: Readonly<Record<LimitGrade, number>> = { watch: 0.9, plan: 1.1, soon: 1.4, now: 1.9 };

/** Width in px of the element it is put on, so that words in charts keep their size. */
export function useWidth<E extends HTMLElement>(usual: number) {
  const box = useRef<E>(null);
  const [width, setWidth] = useState(usual);
  useLayoutEffect(() => {
    const element = box.current;
    if (element === null) return;
    const measure = (): void => setWidth(Math.max(200, Math.floor(element.clientWidth)));
    measure();
    const watch = new ResizeObserver(measure);
    watch.observe(element);
    return () => watch.disconnect();
  }, []);
  return { box, width };
}

export interface Frame {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
  readonly x: (at: number) => number;
  readonly scale: Scale;
}
const n = (value: number): string => value.toFixed(1);

/** Round figures of the value scale with their unit, in a margin left of the plot. */
export function valueScale(scale: Scale, unit: string): { figures: { value: number; words: string }[]; margin: number } {
  const { values, decimals } = roundFigures(scale);
  const figures = values.map((value) => ({ value, words: withSign(sayValue(value, decimals), unit) }));
  const longest = figures.reduce((most, { words }) => Math.max(most, words.length), 0);
  return { figures, margin: figures.length === 0 ? 1 : Math.ceil(longest * 7.3) + 9 };
}
export function ValueScale({ frame, figures }: { frame: Frame; figures: readonly { value: number; words: string }[] }) {
  const { left, top, bottom, scale } = frame;
  return (
    <g class="valuescale" font-size={13} fill="var(--ink-3)" text-anchor="end">
      {figures.map(({ value, words }) => {
        const y = scale.y(value);
        return (
          <g key={value}>
            <path d={`M${left - 5} ${n(y)}h5`} stroke="var(--ink-3)" stroke-width={1} />
            <text x={left - 8} y={n(Math.min(bottom, Math.max(top + 8, y + 4.6)))}>
              {words}
            </text>
          </g>
        );
      })}
    </g>
  );
}

/** Tints with a contour line each; the line stops for its label; a change is a step. */
export function Bands({
  frame,
  stretches,
  labels = 'left',
  size = 13,
  most = 4,
  named,
  dots = [],
}: {
  frame: Frame;
  stretches: readonly Stretch[];
  labels?: 'left' | 'right' | 'none';
  size?: number;
  most?: number;
  /** Only these carry their name; absent: all. */
  named?: readonly LimitGrade[];
  /** Names stand where none of these is. */
  dots?: readonly { readonly at: number; readonly value: number }[];
}) {
  const { top, bottom, x, scale } = frame;
  const spots = dots.map(({ at, value }) => ({ x: x(at), y: scale.y(value) }));
  const inside = (value: number): number => Math.min(bottom, Math.max(top, scale.y(value)));
  const isSeen = (value: number): boolean => scale.y(value) >= top - 0.5 && scale.y(value) <= bottom + 0.5;
  return (
    <g>
      {stretches.map((stretch, index) => {
        const from = x(stretch.from);
        const to = x(stretch.to);
        const edge = stretch.direction === 'high' ? top : bottom;
        return stretch.lines.map(({ grade, value }, step) => {
          const next = stretch.lines[step + 1];
          const a = inside(value);
          const b = next === undefined ? edge : inside(next.value);
          const height = Math.abs(a - b);
          if (height < 0.3) return null;
          return (
            <rect
              key={`${index}${grade}`}
              x={n(from)}
              y={n(Math.min(a, b))}
              width={n(Math.max(0, to - from))}
              height={n(height)}
              fill={`var(--band-${grade})`}
            />
          );
        });
      })}
      {stretches.map((stretch, index) => {
        const from = x(stretch.from);
        const to = x(stretch.to);
        const before = stretches[index - 1];
        let shown = 0;
        let lastY = Number.POSITIVE_INFINITY;
        let shift = 0;
        return stretch.lines.map(({ grade, value }) => {
          if (!isSeen(value)) return null;
          const y = scale.y(value);
          const was = before?.lines.find((line) => line.grade === grade)?.value;
          const text = `${GRADE_WORDS[grade]} ${sayLimit(value)}`;
          const wide = text.length * size * 0.56 + 8;
          const isNamed = labels !== 'none' && (named === undefined || named.includes(grade));
          const has = isNamed && was !== value && to - from > wide + 26 && shown < most;
          let gap: [number, number] | null = null;
          if (has) {
            shown++;
            shift = Math.abs(lastY - y) < size + 1 ? shift + wide + 6 : 0;
            lastY = y;
            const usual = labels === 'left' ? from + 10 + shift : to - 10 - wide - shift;
            const near = spots.filter((spot) => Math.abs(spot.y - y) < size * 0.5 + DOT);
            const start = freeStart(usual, wide, from, to, near) ?? usual;
            if (start > from - 1 && start + wide < to + 1) gap = [start, start + wide];
          }
          const line = CONTOUR[grade];
          return (
            <g key={`${index}${grade}line`} stroke={`var(--${grade})`} stroke-width={line} fill="none">
              {was !== undefined && was !== value && isSeen(was) && <path d={`M${n(from)} ${n(scale.y(was))}V${n(y)}`} />}
              <path
                d={
                  gap === null
                    ? `M${n(from)} ${n(y)}H${n(to)}`
                    : `M${n(from)} ${n(y)}H${n(gap[0] - 3)}M${n(gap[1])} ${n(y)}H${n(to)}`
                }
              />
              {gap !== null && (
                <text x={n(gap[0])} y={n(y + size * 0.36)} font-size={size} font-weight={600} fill="var(--ink)" stroke="none">
                  {text}
                </text>
              )}
            </g>
          );
        });
      })}
    </g>
  );
}

/** Half of the largest dot with some air. */
const DOT = 6;
/** Where a name of this width covers no dot: as near to its usual place as there is room; null: nowhere. */
export function freeStart(
  usual: number,
  wide: number,
  from: number,
  to: number,
  dots: readonly { readonly x: number }[],
): number | null {
  const isFree = (start: number): boolean => dots.every((dot) => dot.x < start - DOT || dot.x > start + wide + DOT);
  const beside = dots.flatMap((dot) => [dot.x + DOT + 1, dot.x - DOT - 1 - wide]);
  return (
    [usual, ...beside.sort((a, b) => Math.abs(a - usual) - Math.abs(b - usual))].find(
      (start) => start > from + 3 && start + wide < to && isFree(start),
    ) ?? null
  );
}

/** Readings as dots: filled, half filled, hollow in brackets. Thousands are three paths, not thousands of elements. */
export function Dots({ frame, soundings, r = 3.8 }: { frame: Frame; soundings: readonly Sounding[]; r?: number }) {
  const { x, scale, top, bottom, left, right } = frame;
  let like = '';
  let ring = '';
  let half = '';
  let open = '';
  const h = r * 0.92;
  const o = r * 0.72;
  for (const { at, value, kind } of soundings) {
    const cx = x(at);
    const cy = Math.min(bottom + 6, Math.max(top - 2, scale.y(value)));
    if (cx < left - 1 || cx > right + 1) continue;
    if (kind === 'like-for-like') like += `M${n(cx)} ${n(cy)}h0`;
    else if (kind === 'corrected') {
      ring += `M${n(cx - h)} ${n(cy)}a${h} ${h} 0 1 0 ${2 * h} 0a${h} ${h} 0 1 0 ${-2 * h} 0`;
      half += `M${n(cx)} ${n(cy - h)}a${h} ${h} 0 0 0 0 ${2 * h}z`;
    } else {
      open += `M${n(cx - o)} ${n(cy)}a${o} ${o} 0 1 0 ${2 * o} 0a${o} ${o} 0 1 0 ${-2 * o} 0`;
      open += `M${n(cx - r + 0.2)} ${n(cy - r * 1.45)}h${-r * 0.7}v${r * 2.9}h${r * 0.7}M${n(cx + r - 0.2)} ${n(cy - r * 1.45)}h${r * 0.7}v${r * 2.9}h${-r * 0.7}`;
    }
  }
  return (
    <g fill="none" stroke="var(--dot)">
      {open !== '' && <path class="r-none" d={open} stroke-width={1.15} />}
      {ring !== '' && <path class="r-corrected" d={ring} stroke-width={1.25} fill="var(--paper)" />}
      {half !== '' && <path d={half} fill="var(--dot)" stroke="none" />}
      {like !== '' && <path class="r-like" d={like} stroke-width={2 * r} stroke-linecap="round" />}
    </g>
  );
}

const haloed = { 'paint-order': 'stroke', stroke: 'var(--paper)', 'stroke-width': 4, 'stroke-linejoin': 'round' } as const;

/** Months as long ticks with names, weeks as small ones, the year under January and under the first name. */
export function MonthAxis({
  frame,
  from,
  to,
  size = 13,
  hasYears = true,
}: {
  frame: Frame;
  from: number;
  to: number;
  size?: number;
  hasYears?: boolean;
}) {
  const { left, right, x } = frame;
  const y = axisOf(frame);
  const months = monthStarts(from, to);
  const each = months.length > 1 ? (right - left) / ((to - from) / (30.4 * 86_400_000)) : right - left;
  const step = [1, 2, 3, 6, 12, 24, 60].find((one) => each * one >= size * 2.9) ?? 120;
  const weeks = (right - left) / ((to - from) / (7 * 86_400_000));
  let small = '';
  if (weeks >= 5) for (let at = from; at < to; at += 7 * 86_400_000) small += `M${n(x(at))} ${y}v3`;
  let lastYear = -1;
  return (
    <g>
      <path d={`M${left} ${y}H${right}`} stroke="var(--ink)" stroke-width={1} />
      {small !== '' && <path d={small} stroke="var(--ink-3)" stroke-width={0.7} />}
      {months.map(({ at, name, month, year }) => {
        if (month % step !== 0 && step <= 12)
          return each > 6 ? <path key={at} d={`M${n(x(at))} ${y}v5`} stroke="var(--ink)" stroke-width={1} /> : null;
        if (step > 12 && (month !== 0 || year % (step / 12) !== 0)) return null;
        const showsYear = hasYears && year !== lastYear && (month === 0 || lastYear === -1) && step < 12;
        if (showsYear) lastYear = year;
        const word = step >= 12 ? String(year) : name.slice(0, 3);
        const start = wordStart(x(at), word, size, right);
        if (start === null) return <path key={at} d={`M${n(x(at))} ${y}v8`} stroke="var(--ink)" stroke-width={1} />;
        return (
          <g key={at}>
            <path d={`M${n(x(at))} ${y}v8`} stroke="var(--ink)" stroke-width={1} />
            <text x={n(start)} y={y + size + 4.5} font-size={size} fill="var(--ink-2)" {...haloed}>
              {word}
            </text>
            {showsYear && (
              <text x={n(start)} y={y + 2 * size + 5} font-size={size} fill="var(--ink-2)" {...haloed}>
                {year}
              </text>
            )}
          </g>
        );
      })}
    </g>
  );
}
/** Right of its tick; at the edge so far under it that nothing is cut off; null: no room even so. */
export function wordStart(tick: number, word: string, size: number, right: number): number | null {
  const latest = right - word.length * size * 0.64;
  return latest >= tick - size * 0.6 ? Math.min(tick + 3, latest) : null;
}
export const axisOf = (frame: Frame): number => Math.round(frame.bottom) + 8.5;

const EVENT_ROW = 18;
const EVENT_ROWS = 3;
interface Placed {
  readonly x: number;
  readonly row: number | null;
  readonly words: string;
  readonly isEnd: boolean;
}

/** Events in rows below the months; one that finds no room keeps its tick and is told in the list of work. */
export function placeEvents(
  events: readonly ChartEvent[],
  x: (at: number) => number,
  left: number,
  right: number,
  size: number,
): Placed[] {
  const taken: [number, number][][] = Array.from({ length: EVENT_ROWS }, () => []);
  return [...events]
    .sort((a, b) => b.at - a.at)
    .map((event) => {
      const position = x(event.at);
      const words = event.words.length > 34 ? `${event.words.slice(0, 32).trimEnd()}…` : event.words;
      const wide = words.length * size * 0.52 + 12;
      for (let row = 0; row < EVENT_ROWS; row++) {
        for (const isEnd of position + wide > right ? [true] : [false, true]) {
          const span: [number, number] = isEnd ? [position - wide, position + 2] : [position - 2, position + wide];
          if (span[0] < left - 2 || span[1] > right + 4) continue;
          if (taken[row]!.some(([a, b]) => span[0] < b && span[1] > a)) continue;
          taken[row]!.push(span);
          // Its tick passes through the rows above.
          for (let above = 0; above < row; above++) taken[above]!.push([position - 3, position + 3]);
          return { x: position, row, words, isEnd };
        }
      }
      return { x: position, row: null, words, isEnd: false };
    });
}
export const eventRows = (placed: readonly Placed[]): number =>
  placed.reduce((most, { row }) => Math.max(most, row === null ? 0 : row + 1), 0);

export function Events({ placed, frame, size = 13 }: { placed: readonly Placed[]; frame: Frame; size?: number }) {
  const y = axisOf(frame);
  const first = y + 2 * size + 20;
  return (
    <g>
      {placed.map((event) => {
        const end = event.row === null ? y + 6 : first + event.row * EVENT_ROW + 4;
        return (
          <g key={`${event.x} ${event.words}`}>
            <path d={`M${n(event.x)} ${y - 8}V${n(end)}`} stroke="var(--ink)" stroke-width={1.2} />
            {event.row !== null && (
              <text
                x={n(event.isEnd ? event.x - 5 : event.x + 5)}
                y={n(first + event.row * EVENT_ROW)}
                font-size={size}
                fill="var(--ink)"
                text-anchor={event.isEnd ? 'end' : 'start'}
                {...haloed}
              >
                {event.words}
              </text>
            )}
          </g>
        );
      })}
    </g>
  );
}
export const eventsHeight = (rows: number, size = 13): number => 2 * size + (rows === 0 ? 10 : 12) + rows * EVENT_ROW;
