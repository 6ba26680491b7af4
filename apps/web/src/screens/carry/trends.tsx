import { type LimitGrade, sayProjection } from '@heatround/domain';
import { type Sounding, type Stretch, scaleFor } from '../../ui/chart/model.ts';
import { axisOf, Bands, Dots, type Frame, MonthAxis, useWidth } from '../../ui/chart/parts.tsx';
import { sayValue, withSign } from '../../ui/format.ts';
import { GradeMark, Tag } from '../../ui/marks.tsx';
import { aheadOf, type Carry, countingIn } from './words.ts';

type TrendLine = Carry['trends']['lines'][number];
const WEEK = 7 * 86_400_000;
/** All plots share this time, and what lies ahead. */
const BEHIND = 26 * WEEK;
const HEIGHT = 132;

/** The points whose date comes soonest, as small plots on one time scale; the sentence below each says it first. */
export function Trends({ lines, now }: { lines: readonly TrendLine[]; now: number }) {
  const to = now + aheadOf(lines, now);
  return (
    <ol class="trends">
      {lines.map((line) => (
        <Trend key={line.pointId} line={line} now={now} to={to} />
      ))}
    </ol>
  );
}

function Trend({ line, now, to }: { line: TrendLine; now: number; to: number }) {
  const { box, width } = useWidth<HTMLDivElement>(328);
  const { conclusion, place } = line;
  const counting = countingIn(conclusion);
  const from = now - BEHIND;
  const soundings = line.values
    .map(
      ({ at, value, comparability }): Sounding => ({
        id: at,
        at: Date.parse(at),
        value,
        kind: comparability as Sounding['kind'],
      }),
    )
    .filter(({ at }) => at >= from);
  const last = soundings.at(-1);
  const limits = line.limits.map(({ grade, value }) => ({ grade: grade as LimitGrade, value }));
  const direction = counting?.direction ?? 'high';
  const stretch: Stretch = { from, to, direction, lines: limits };
  const [top, bottom] = [6, HEIGHT - 32];
  const scale = scaleFor(
    soundings,
    limits.length === 0 ? [] : [stretch],
    counting === null ? [] : [counting.limit],
    top,
    bottom,
    1,
  );
  const x = (at: number): number => ((at - from) / (to - from)) * (width - 1) + 0.5;
  const frame: Frame = { left: 0, right: width, top, bottom, x, scale };
  // The limit it is on its way to, and the last one behind it.
  const goal = limits.findIndex(({ grade }) => grade === counting?.grade);
  const named = limits.slice(Math.max(0, goal - 1), goal + 1).map(({ grade }) => grade);
  const isPast = counting?.latestAt != null && counting.latestAt <= now;
  const sentence = counting === null ? '' : sayProjection(counting, conclusion.unit, place.zone, now, conclusion.latest?.takenAt);
  return (
    <li aria-label={`${line.assetName}, ${line.pointName}`}>
      <h3>
        <a class="carryname" href={`/assets/${line.assetId}?point=${encodeURIComponent(line.letter)}`}>
          {line.assetName}
        </a>{' '}
        <Tag tag={line.tag} letter={line.letter} />
      </h3>
      <p class="small pointline">
        <GradeMark grade={line.grade} />
        <span class="soft">
          {line.pointName}
          {last !== undefined && <>, {withSign(sayValue(last.value, line.decimals), line.unit)}</>}
        </span>
      </p>
      <div ref={box}>
        <svg width={width} height={HEIGHT} viewBox={`0 0 ${width} ${HEIGHT}`} aria-hidden="true" class="multiple">
          <Bands frame={frame} stretches={limits.length === 0 ? [] : [stretch]} named={named} dots={soundings} />
          <path d={`M${x(now).toFixed(1)} ${top}V${axisOf(frame)}`} stroke="var(--ink)" stroke-width={1.2} />
          <Dots frame={frame} soundings={soundings.slice(0, -1)} r={3} />
          {last !== undefined && <Dots frame={frame} soundings={[last]} r={5} />}
          {counting?.show === 'range' && !isPast && counting.earliestAt !== null && counting.earliestAt < to && (
            <Reach counting={counting} y={scale.y(counting.limit)} x={x} now={now} to={to} />
          )}
          <MonthAxis frame={frame} from={from} to={to} hasYears={false} />
        </svg>
      </div>
      <p class="note">{sentence}</p>
    </li>
  );
}

/** A shorter bar is all that can be seen of a range; a dot would cover it. */
const ROOM_FOR_DOT = 18;
/** Earliest to latest on the contour of the limit that counts, with a dot at likely. */
function Reach(props: {
  counting: { earliestAt: number | null; likelyAt: number | null; latestAt: number | null };
  y: number;
  x: (at: number) => number;
  now: number;
  to: number;
}) {
  const { counting, y, x, now, to } = props;
  const inside = (at: number): number => x(Math.min(to, Math.max(now, at)));
  const begin = inside(counting.earliestAt as number);
  const isOpen = counting.latestAt === null || counting.latestAt > to;
  const end = isOpen ? x(to) : inside(counting.latestAt as number);
  const likely = counting.likelyAt !== null && counting.likelyAt <= to ? inside(counting.likelyAt) : null;
  return (
    <g stroke="var(--dot)" fill="none">
      <path d={`M${begin.toFixed(1)} ${y.toFixed(1)}H${end.toFixed(1)}`} stroke-width={4} />
      <path
        d={`M${begin.toFixed(1)} ${(y - 6).toFixed(1)}v12${isOpen ? '' : `M${end.toFixed(1)} ${(y - 6).toFixed(1)}v12`}`}
        stroke-width={1.6}
      />
      {likely !== null && end - begin >= ROOM_FOR_DOT && (
        <circle cx={likely} cy={y} r={4.5} fill="var(--dot)" stroke="var(--paper)" stroke-width={1.4} />
      )}
    </g>
  );
}
