import type { LimitSet } from '@heatround/domain';
import type { ComponentChildren } from 'preact';
import type { ChartEvent, Scale, Sounding, Stretch } from './model.ts';
import {
  axisOf,
  Bands,
  Dots,
  Events,
  eventRows,
  eventsHeight,
  type Frame,
  MonthAxis,
  placeEvents,
  useWidth,
  ValueScale,
  valueScale,
} from './parts.tsx';

export interface Curve {
  readonly at: number;
  readonly value: number;
}

/** Bands reach the edges of the panel, a little beyond the first and the last reading. */
function toTheEdges(
  stretches: readonly Stretch[],
  from: number,
  to: number,
  pxPerMs: number,
  left: number,
  right = left,
): Stretch[] {
  return stretches.map((stretch, index) => ({
    ...stretch,
    from: stretch.from <= from ? from - left / pxPerMs : stretch.from,
    to: index === stretches.length - 1 ? to + right / pxPerMs : stretch.to,
  }));
}

export const PLOT_TOP = 34;
export const PLOT_BOTTOM = 318;
/** Between the last reading of long ago and the edge: the gap that stands for the time since. */
const GAP = 40;

/** History: soundings over bands as they were, the fitted stretch as a thin line, events below the months. */
export function Behind(props: {
  title: string;
  label: string;
  from: number;
  to: number;
  soundings: readonly Sounding[];
  stretches: readonly Stretch[];
  events: readonly ChartEvent[];
  curve: readonly Curve[];
  scale: Scale;
  unit: string;
  last: string | null;
  /** Words of a point that was not read for long: the panel ends with its last reading and says so. */
  rests?: string | null;
}) {
  const { box, width } = useWidth<HTMLElement>(506);
  const { figures, margin } = valueScale(props.scale, props.unit);
  const rests = props.rests ?? null;
  const left = margin;
  const edge = width - 1;
  const right = rests === null ? edge : edge - GAP;
  const span = Math.max(1, props.to - props.from);
  // Room for the last dot.
  const x = (at: number): number => left + 4 + ((at - props.from) / span) * (right - left - 10);
  const frame: Frame = { left, right, top: PLOT_TOP, bottom: PLOT_BOTTOM, x, scale: props.scale };
  const edges = toTheEdges(props.stretches, props.from, props.to, (right - left - 10) / span, 4, 6);
  const events = rests === null ? props.events : [...props.events, { at: props.to + 1, words: rests }];
  const placed = placeEvents(events, x, left, edge, 13);
  const axis = axisOf(frame);
  const height = PLOT_BOTTOM + 8 + eventsHeight(eventRows(placed));
  const last = props.soundings.at(-1);
  const dense = props.soundings.length > 150 ? (props.soundings.length > 900 ? 1.8 : 2.6) : 3.8;
  const line = props.curve
    .filter(({ at }) => at >= props.from && at <= props.to)
    .map(({ at, value }, index) => `${index === 0 ? 'M' : 'L'}${x(at).toFixed(1)} ${props.scale.y(value).toFixed(1)}`)
    .join('');
  return (
    <figure ref={box}>
      <svg width={width} height={height} viewBox={`0 0 ${width} ${height}`} role="img" aria-label={props.label}>
        <text x={1} y={24} font-size={14} font-weight={700} fill="var(--ink)">
          {props.title}
        </text>
        <ValueScale frame={frame} figures={figures} />
        <Bands frame={frame} stretches={edges} />
        {line !== '' && <path d={line} fill="none" stroke="var(--fan)" stroke-width={1.4} />}
        <Dots frame={frame} soundings={props.soundings} r={dense} />
        {last !== undefined && props.last !== null && last.kind !== 'not-judged' && (
          <>
            <Dots frame={frame} soundings={[last]} r={5} />
            <text
              x={x(last.at) - 9}
              y={Math.max(PLOT_TOP + 14, props.scale.y(last.value) - 9)}
              font-size={15}
              font-weight={700}
              fill="var(--ink)"
              text-anchor="end"
              paint-order="stroke"
              stroke="var(--paper)"
              stroke-width={3}
              stroke-linejoin="round"
            >
              {props.last}
            </text>
          </>
        )}
        <Events placed={placed} frame={frame} />
        <MonthAxis frame={frame} from={props.from} to={props.to} />
        {rests !== null && (
          <g class="rests" stroke="var(--ink)" fill="none">
            <path d={`M${right + 5} ${axis + 6}l6 -12m3 12l6 -12`} stroke-width={1.6} />
            <path d={`M${right + 22} ${axis}H${edge}`} stroke-width={1} stroke-dasharray="2 3" />
          </g>
        )}
      </svg>
    </figure>
  );
}

/** Small multiple of another point: same time scale, own value scale, two contour labels. */
export function Small(props: {
  label: string;
  from: number;
  to: number;
  soundings: readonly Sounding[];
  stretches: readonly Stretch[];
  scaleOf: (top: number, bottom: number) => Scale;
}) {
  const { box, width } = useWidth<HTMLElement>(280);
  const left = 1;
  const right = width - 1;
  const top = 4;
  const bottom = 96;
  const x = (at: number): number => left + 4 + ((at - props.from) / Math.max(1, props.to - props.from)) * (right - left - 8);
  const frame: Frame = { left, right, top, bottom, x, scale: props.scaleOf(top, bottom) };
  const edges = toTheEdges(props.stretches, props.from, props.to, (right - left - 8) / Math.max(1, props.to - props.from), 4);
  return (
    <figure ref={box}>
      <svg width={width} height={128} viewBox={`0 0 ${width} 128`} role="img" aria-label={props.label}>
        <Bands frame={frame} stretches={edges} most={2} dots={props.soundings} />
        <Dots frame={frame} soundings={props.soundings} r={props.soundings.length > 120 ? 1.8 : 2.7} />
        <MonthAxis frame={frame} from={props.from} to={props.to} hasYears={false} />
      </svg>
    </figure>
  );
}

/** At the stop: the last readings, today's larger and ringed. Words 14. */
export function StopPlot(props: {
  label: string;
  soundings: readonly Sounding[];
  stretches: readonly Stretch[];
  from: number;
  to: number;
  scaleOf: (top: number, bottom: number) => Scale;
  today: Sounding | null;
}) {
  const { box, width } = useWidth<HTMLElement>(328);
  const left = 1;
  const right = width - 1;
  const top = 2;
  const bottom = 124;
  const span = Math.max(1, props.to - props.from);
  const x = (at: number): number => left + 10 + ((at - props.from) / span) * (right - left - 30);
  const frame: Frame = { left, right, top, bottom, x, scale: props.scaleOf(top, bottom) };
  const edges = toTheEdges(props.stretches, props.from, props.to, (right - left - 30) / span, 10, 20);
  const today = props.today;
  return (
    <figure ref={box}>
      <svg width={width} height={158} viewBox={`0 0 ${width} 158`} role="img" aria-label={props.label}>
        <Bands frame={frame} stretches={edges} size={14} dots={today === null ? props.soundings : [...props.soundings, today]} />
        <Dots frame={frame} soundings={props.soundings} r={4.2} />
        {today !== null && (
          <>
            <Dots frame={frame} soundings={[today]} r={today.kind === 'not-judged' ? 4.4 : 5.5} />
            <circle cx={x(today.at)} cy={frame.scale.y(today.value)} r={9.5} fill="none" stroke="var(--act)" stroke-width={2.5} />
          </>
        )}
        <MonthAxis frame={frame} from={props.from} to={props.to} size={14} hasYears={false} />
      </svg>
    </figure>
  );
}

export type LimitSets = readonly LimitSet[];
export type Children = ComponentChildren;
