import type { ReadingRow } from '@heatround/contract';
import type { LimitGrade } from '@heatround/domain';
import type { ComponentChildren } from 'preact';
import { useWidth } from '../../ui/chart/parts.tsx';
import { clockTime, fullDate, sayLimit, sayUnit, sayValue } from '../../ui/format.ts';
import { GRADE_WORDS, Kind, VerdictMark } from '../../ui/marks.tsx';
import type { OrderPage } from './stations.ts';

const figureOf = (row: ReadingRow | null): number | null => row?.verdict?.because?.value ?? row?.value ?? null;
const rawOf = (row: ReadingRow | null): number | null => row?.verdict?.because?.rawValue ?? row?.value ?? null;

/** The reading that showed it beside the one that proves it, or will. */
export function BeforeAfter({ page, now, children }: { page: OrderPage; now: number; children: ComponentChildren }) {
  const { before, after, decimals, unit } = page;
  const zone = page.place.zone;
  const figures = (row: ReadingRow | null): Record<string, number> => ({ ...row?.figures.inputs, ...row?.figures.conditions });
  const cell = (value: number | null | undefined, digits: number | null, word: string): string =>
    value === null || value === undefined
      ? '–'
      : `${digits === null ? sayLimit(value) : sayValue(value, digits)}${sayUnit(word)}`;
  const isCorrected = [before, after].some((row) => row?.verdict?.because?.band != null);
  const both = (name: string): boolean => [before, after].some((row) => figures(row)[name] !== undefined);
  const air = (row: ReadingRow | null): number | undefined => figures(row).air ?? figures(row).ambient;
  const bracket = (row: ReadingRow | null, said: string): string =>
    row?.comparability === 'not-judged' && said !== '–' ? `[${said}]` : said;
  return (
    <div class="pair">
      <div class="scales">
        {before === null && after === null ? (
          <p class="small">No reading belongs to this order yet.</p>
        ) : (
          <Difference page={page} />
        )}
        {children}
      </div>
      <table class="kv">
        <thead>
          <tr>
            <th scope="col">
              <span class="unseen">What</span>
            </th>
            <th scope="col" class="num">
              before
            </th>
            <th scope="col" class="num">
              after
            </th>
          </tr>
        </thead>
        <tbody>
          <tr>
            <th scope="row">Read</th>
            <td class="num">
              {before === null ? '–' : `${fullDate(before.takenAt, zone, now)}, ${clockTime(before.takenAt, zone)}`}
            </td>
            <td class="num">
              {after === null ? 'not yet' : `${fullDate(after.takenAt, zone, now)}, ${clockTime(after.takenAt, zone)}`}
            </td>
          </tr>
          <tr class={isCorrected ? '' : 'b'}>
            <th scope="row">{page.pointName}</th>
            <td class="num">{bracket(before, cell(rawOf(before), decimals, unit))}</td>
            <td class="num">{bracket(after, cell(rawOf(after), decimals, unit))}</td>
          </tr>
          {both('load') && (
            <tr>
              <th scope="row">Load</th>
              <td class="num">{cell(figures(before).load, null, '%')}</td>
              <td class="num">{cell(figures(after).load, null, '%')}</td>
            </tr>
          )}
          {isCorrected && (
            <tr class="b">
              <th scope="row">At full load</th>
              <td class="num">{cell(figureOf(before), decimals, unit)}</td>
              <td class="num">{cell(figureOf(after), decimals, unit)}</td>
            </tr>
          )}
          <tr>
            <th scope="row">Grade</th>
            <td class="num">{before === null ? '–' : <VerdictMark verdict={before.verdict} />}</td>
            <td class="num">{after === null ? '–' : <VerdictMark verdict={after.verdict} />}</td>
          </tr>
          <tr>
            <th scope="row">Compare</th>
            <td class="num">{before === null ? '–' : <Kind of={before.comparability} />}</td>
            <td class="num">{after === null ? '–' : <Kind of={after.comparability} />}</td>
          </tr>
          {[before, after].some((row) => air(row) !== undefined) && (
            <tr>
              <th scope="row">Room</th>
              <td class="num">{cell(air(before), null, '°C')}</td>
              <td class="num">{cell(air(after), null, '°C')}</td>
            </tr>
          )}
          {both('emissivity') && (
            <tr>
              <th scope="row">Emissivity</th>
              <td class="num">{cell(figures(before).emissivity, null, '')}</td>
              <td class="num">{cell(figures(after).emissivity, null, '')}</td>
            </tr>
          )}
          {[before, after].some((row) => row?.instrument != null) && (
            <tr>
              <th scope="row">Instrument</th>
              <td class="num">{before?.instrument ?? '–'}</td>
              <td class="num">{after?.instrument ?? '–'}</td>
            </tr>
          )}
          <tr>
            <th scope="row">By</th>
            <td class="num">{before?.by ?? '–'}</td>
            <td class="num">{after?.by ?? '–'}</td>
          </tr>
        </tbody>
      </table>
    </div>
  );
}

const n = (value: number): string => value.toFixed(1);
const haloed = { 'paint-order': 'stroke', stroke: 'var(--paper)', 'stroke-width': 4, 'stroke-linejoin': 'round' } as const;

/** Names of limits in rows, so that none covers another or the line of another. */
function labelRows(limits: readonly { grade: LimitGrade; value: number; at: number }[], width: number) {
  const taken: [number, number][][] = [];
  return limits
    .filter(({ at }) => at >= 8 && at <= width - 8)
    .sort((a, b) => b.at - a.at)
    .map(({ grade, value, at }) => {
      const text = `${GRADE_WORDS[grade]} ${sayLimit(value)}`;
      const long = text.length * 7.4 + 8;
      const isEnd = at + long > width;
      const span: [number, number] = isEnd ? [at - long, at + 2] : [at - 2, at + long];
      let row = 0;
      while (taken[row]?.some(([a, b]) => span[0] < b && span[1] > a)) row++;
      for (let above = 0; above < row; above++) taken[above]!.push([at - 2, at + 2]);
      taken[row] = [...(taken[row] ?? []), span];
      return { grade, text, at, row, isEnd };
    });
}

/** Before and after on one scale with the bands of the limits and the target. */
function Difference({ page }: { page: OrderPage }) {
  const { box, width } = useWidth<HTMLElement>(700);
  const { before, after, decimals, unit, target } = page;
  const was = figureOf(before);
  const is = figureOf(after);
  const limits = page.limits as readonly { grade: LimitGrade; value: number }[];
  if (was === null && is === null) return null;
  const isLow = (target?.direction ?? (limits.length > 1 && limits.at(-1)!.value < limits[0]!.value ? 'low' : 'high')) === 'low';
  const seen = [was, is, target?.value ?? null].filter((value) => value !== null);
  const worst = isLow ? Math.min(...seen) : Math.max(...seen);
  const beyond = limits.find(({ value }) => (isLow ? value < worst : value > worst));
  const values = [...seen, ...limits.filter(({ value }) => (isLow ? value >= worst : value <= worst)).map(({ value }) => value)];
  if (beyond !== undefined) values.push(beyond.value);
  const startsAtZero = unit !== '°C' && Math.min(...values) >= 0;
  const least = startsAtZero ? 0 : Math.min(...values);
  const most = Math.max(...values);
  const span = most - least || 1;
  const [low, high] = [startsAtZero ? 0 : least - span * 0.12, most + span * 0.12];
  const x = (value: number): number => 8 + ((value - low) / (high - low)) * (width - 16);
  const bands = limits.map(({ grade, value }, index) => {
    const next = limits[index + 1]?.value ?? (isLow ? low : high);
    const [a, b] = [Math.max(8, Math.min(width - 8, x(value))), Math.max(8, Math.min(width - 8, x(next)))];
    return { grade, value, left: Math.min(a, b), wide: Math.abs(a - b) };
  });
  const labels = labelRows(
    bands.map(({ grade, value }) => ({ grade, value, at: x(value) })),
    width,
  );
  const height = 86 + 16 * Math.max(0, ...labels.map(({ row }) => row));
  const figure = (value: number): string => `${sayValue(value, decimals)}${sayUnit(unit)}`;
  const mark = (value: number, kind: string | undefined, word: string, other: number | null) => {
    const at = x(value);
    const text = `${word}: ${sayValue(value, decimals)}`;
    const half = text.length * 4.6;
    const isClose = other !== null && Math.abs(x(other) - at) < half * 2 + 10;
    const anchor = isClose ? (x(other) > at ? 'end' : 'start') : 'middle';
    const put = anchor === 'middle' ? Math.min(width - half, Math.max(half, at)) : at + (anchor === 'end' ? 6 : -6);
    return (
      <g key={word}>
        <circle
          cx={n(at)}
          cy={46}
          r={7}
          fill={kind === 'like-for-like' ? 'var(--dot)' : 'var(--paper)'}
          stroke="var(--dot)"
          stroke-width={1.4}
        />
        {kind === 'corrected' && <path d={`M${n(at)} 39a7 7 0 0 0 0 14z`} fill="var(--dot)" />}
        <text x={n(put)} y={23} font-size={16} font-weight={700} fill="var(--ink)" text-anchor={anchor} {...haloed}>
          {text}
        </text>
      </g>
    );
  };
  const wanted = target?.inWords ?? null;
  const label = [
    was === null ? null : `${figure(was)} before`,
    is === null ? 'not read after the work yet' : `${figure(is)} after`,
    wanted === null ? null : `to be proved: ${wanted}`,
  ]
    .filter((words) => words !== null)
    .join(', ');
  const arrow = was !== null && is !== null && Math.abs(x(was) - x(is)) > 40;
  const way = arrow && x(is as number) < x(was as number) ? -1 : 1;
  return (
    <figure class="difference" ref={box}>
      <figcaption>
        <b>{page.pointName}</b>
        {unit === '' || unit === '1' ? '' : `, ${unit}`}
        {wanted !== null && <span class="soft">. To be proved: {wanted}</span>}
      </figcaption>
      <svg width={width} height={height} viewBox={`0 0 ${width} ${height}`} role="img" aria-label={label}>
        {bands.map((band) => (
          <rect key={band.grade} x={n(band.left)} y={30} width={n(band.wide)} height={32} fill={`var(--band-${band.grade})`} />
        ))}
        <path d={`M8 62.5H${width - 8}`} stroke="var(--ink)" />
        {labels.map(({ grade, at, text, row, isEnd }) => (
          <g key={grade}>
            <path d={`M${n(at)} 30V${67 + row * 16}`} stroke={`var(--${grade})`} stroke-width={1.6} />
            <text
              x={n(isEnd ? at - 4 : at + 4)}
              y={80 + row * 16}
              font-size={13}
              font-weight={600}
              fill="var(--ink)"
              text-anchor={isEnd ? 'end' : 'start'}
              {...haloed}
            >
              {text}
            </text>
          </g>
        ))}
        {target !== null && x(target.value) > 8 && x(target.value) < width - 8 && (
          <path d={`M${n(x(target.value))} 26v40`} stroke="var(--act)" stroke-width={2.5} />
        )}
        {arrow && (
          <>
            <path
              d={`M${n(x(was as number) + way * 12)} 46H${n(x(is as number) - way * 17)}`}
              stroke="var(--ink)"
              stroke-width={1.4}
              stroke-dasharray="2 5"
            />
            <path
              d={`M${n(x(is as number) - way * 22)} 41l${way * 8} 5 ${-way * 8} 5`}
              fill="none"
              stroke="var(--ink)"
              stroke-width={1.6}
            />
          </>
        )}
        {was !== null && mark(was, before?.comparability, 'before', is)}
        {is !== null && mark(is, after?.comparability, 'after', was)}
        {startsAtZero && (
          <text x={8} y={80} font-size={13} fill="var(--ink-2)" {...haloed}>
            {labels.some(({ at }) => at < 68) ? '' : `0${sayUnit(unit)}`}
          </text>
        )}
      </svg>
    </figure>
  );
}
