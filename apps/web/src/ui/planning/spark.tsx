import type { FindingLine } from '@heatround/contract';
import type { LimitGrade } from '@heatround/domain';
import { type Sounding, type Stretch, scaleFor } from '../chart/model.ts';
import { Dots, type Frame } from '../chart/parts.tsx';
import { sayLimit, sayUnit, sayValue } from '../format.ts';
import { GRADE_WORDS } from '../marks.tsx';

const WIDTH = 92;
const HEIGHT = 40;
type Values = Pick<FindingLine, 'lastValues' | 'limits' | 'unit' | 'decimals'>;

function soundingsOf({ lastValues }: Values): Sounding[] {
  return lastValues
    .map(({ at, value, comparability }) => ({
      id: at,
      at: Date.parse(at),
      value,
      kind: comparability as Sounding['kind'],
    }))
    .sort((a, b) => a.at - b.at);
}

/** The last readings with a contour line for each limit near them, no words: the figure stands above, the limits below. */
export function Spark(line: Values) {
  const soundings = soundingsOf(line);
  const first = soundings[0];
  const last = soundings.at(-1);
  if (first === undefined || last === undefined) return null;
  const lines = line.limits.map(({ grade, value }) => ({ grade: grade as LimitGrade, value }));
  const direction = lines.length > 1 && lines.at(-1)!.value < lines[0]!.value ? 'low' : 'high';
  const stretch: Stretch = { from: first.at, to: last.at, direction, lines };
  const scale = scaleFor(soundings, lines.length === 0 ? [] : [stretch], [], 2, HEIGHT - 2, 1);
  const x = (at: number): number => 5 + ((at - first.at) / Math.max(1, last.at - first.at)) * (WIDTH - 12);
  const frame: Frame = { left: 0, right: WIDTH, top: 2, bottom: HEIGHT - 2, x, scale };
  return (
    <svg class="spark" width={WIDTH} height={HEIGHT} viewBox={`0 0 ${WIDTH} ${HEIGHT}`} aria-hidden="true">
      {lines.map(({ grade, value }) => {
        const y = scale.y(value);
        return y < 1 || y > HEIGHT - 1 ? null : (
          <path key={grade} d={`M0 ${y.toFixed(1)}H${WIDTH}`} stroke={`var(--${grade})`} stroke-width={1} />
        );
      })}
      <Dots frame={frame} soundings={soundings.slice(0, -1)} r={2.6} />
      <Dots frame={frame} soundings={[last]} r={4} />
    </svg>
  );
}

/** The last figure; in square brackets where it was not judged. */
export function LastValue(line: Values) {
  const last = soundingsOf(line).at(-1);
  if (last === undefined) return <span class="soft">not read yet</span>;
  const value = sayValue(last.value, line.decimals);
  return (
    <span class="lastvalue">
      <b>{last.kind === 'not-judged' ? `[${value}]` : value}</b>
      {sayUnit(line.unit)}
    </span>
  );
}

/** The worst limit reached and the next one, such as "Plan 80, Soon 90". */
export function sayLimitsNear(line: Values): string {
  const last = soundingsOf(line).at(-1);
  const { limits } = line;
  if (limits.length === 0) return 'no limits';
  const isLow = limits.length > 1 && limits.at(-1)!.value < limits[0]!.value;
  const reached =
    last === undefined ? -1 : limits.findLastIndex(({ value }) => (isLow ? last.value <= value : last.value >= value));
  const near = limits.slice(Math.max(0, reached), Math.max(0, reached) + 2);
  return near.map(({ grade, value }) => `${GRADE_WORDS[grade as LimitGrade] ?? grade} ${sayLimit(value)}`).join(', ');
}
