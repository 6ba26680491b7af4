import type { Grade, StopState } from '@heatround/domain';

/** What the line needs to know of a stop. */
export interface LineStop {
  readonly state: StopState;
  readonly grade: Grade | null;
  readonly isJudged: boolean;
  /** Asked for beside the route: an extra or a proof stop. */
  readonly extra: unknown;
}

/** More stops than this do not fit one beside the other; then the line shows those around where you are. */
const MOST = 30;
const LEFT = 8;
const RIGHT = 320;
const couldNotRead = (stop: LineStop): boolean => stop.state !== 'to-read' && stop.state !== 'read';
const MARK: Readonly<Record<Grade, string | null>> = {
  fine: null,
  watch: 'g-watch',
  plan: 'g-plan',
  soon: 'g-soon',
  now: 'g-now',
};

/**
 * The line of a walk: solid as far as walked, dotted ahead, a tick for every stop, a gap where it could not be read, brackets
 * where it was not judged, the grade's mark from Watch on, a ring where you are, a ring outline where an extra stop waits.
 */
export function WalkLine({
  stops,
  here,
  isClosed = false,
  label,
}: {
  stops: readonly LineStop[];
  here: number | null;
  isClosed?: boolean;
  label: string;
}) {
  const from = stops.length <= MOST ? 0 : Math.max(0, Math.min((here ?? 0) - MOST / 2, stops.length - MOST));
  const shown = stops.slice(from, from + MOST);
  // The plate begins where the widest mark of the last stop, or its gap, has ended.
  const end = isClosed ? RIGHT - 18 : RIGHT;
  const x = (index: number): number => (shown.length < 2 ? (LEFT + end) / 2 : LEFT + (index / (shown.length - 1)) * (end - LEFT));
  const pitch = shown.length < 2 ? 60 : (end - LEFT) / (shown.length - 1);
  const size = Math.min(16, Math.max(9, pitch - 1));
  const isWalked = (stop: LineStop | undefined): boolean => stop !== undefined && stop.state !== 'to-read';
  return (
    <svg class="walkline" viewBox="0 0 328 30" role="img" aria-label={label}>
      {from > 0 && <path d="M0 15H8" stroke="var(--ink)" stroke-width={2.5} />}
      {shown.slice(1).map((stop, index) => {
        const before = shown[index]!;
        const solid = isClosed || (isWalked(before) && (isWalked(stop) || from + index + 1 === here));
        return (
          <path
            key={index}
            d={`M${x(index)} 15H${x(index + 1)}`}
            stroke="var(--ink)"
            stroke-width={2.5}
            stroke-dasharray={solid ? undefined : '2 4'}
          />
        );
      })}
      {from + shown.length < stops.length && (
        <path d="M320 15H328" stroke="var(--ink)" stroke-width={2.5} stroke-dasharray="2 4" />
      )}
      {isClosed && (
        <>
          <path d={`M${end} 15H316`} stroke="var(--ink)" stroke-width={2.5} />
          <path d="M313 8h14v14h-14z" fill="var(--ink)" />
        </>
      )}
      {shown.map((stop, index) => {
        if (from + index === here) return null;
        const at = x(index);
        const mark =
          stop.state !== 'read'
            ? null
            : !stop.isJudged && stop.grade === null
              ? 'g-none'
              : stop.grade === null
                ? null
                : MARK[stop.grade];
        if (couldNotRead(stop)) {
          const gap = Math.min(7, pitch * 0.6);
          return <path key={index} d={`M${at - gap} 15H${at + gap}`} stroke="var(--paper)" stroke-width={6} />;
        }
        if (mark !== null) {
          const name = mark === 'g-none' ? 'ink' : mark.slice(2);
          return (
            <g key={index}>
              <path d={`M${at - size / 2} 15H${at + size / 2}`} stroke="var(--paper)" stroke-width={18} />
              <use
                href={`#${mark}`}
                x={at - size / 2}
                y={15 - size / 2}
                width={size}
                height={size}
                style={`color:var(--${name})`}
              />
            </g>
          );
        }
        if (stop.extra !== null && stop.state === 'to-read') {
          return (
            <circle
              key={index}
              cx={at}
              cy={15}
              r={Math.min(6, size / 2)}
              fill="var(--paper)"
              stroke="var(--act)"
              stroke-width={2.5}
            />
          );
        }
        return <path key={index} d={`M${at} 10v10`} stroke="var(--ink)" stroke-width={2} />;
      })}
      {here !== null && here >= from && (
        <g class="here" style={`transform:translateX(${x(here - from)}px)`}>
          <circle cx={0} cy={15} r={8} fill="var(--paper)" stroke="var(--act)" stroke-width={3} />
          <circle cx={0} cy={15} r={3} fill="var(--act)" />
        </g>
      )}
    </svg>
  );
}
