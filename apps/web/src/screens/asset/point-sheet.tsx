import type { AssetPage, PointPage } from '@heatround/contract';
import { CRITERION_OF, type TimetableRow } from '@heatround/domain';
import { useEffect, useMemo, useState } from 'preact/hooks';
import { useSession } from '../../shell/session.tsx';
import { Ahead, type Reaching } from '../../ui/chart/ahead.tsx';
import { Behind, PLOT_BOTTOM, PLOT_TOP, Small } from '../../ui/chart/behind.tsx';
import { type ChartEvent, figureOfRow, scaleFor, soundingsOf, stretchesOf } from '../../ui/chart/model.ts';
import { sayCount, sayUnit, sayValue, whenRead } from '../../ui/format.ts';
import { GradeMark, Mark, VerdictMark } from '../../ui/marks.tsx';
import { lookAhead, sayTrend, trendWords } from './conclusion-view.ts';
import type { Drawn } from './draw.ts';
import { WORK_WORDS } from './words.ts';

const DAY = 86_400_000;
const WEEK = 7 * DAY;

function usedCriterion(at: PointPage) {
  return CRITERION_OF[at.point.quantity];
}

/** What happened at a point, as ticks through the axis: work, limits changed, another instrument. */
function eventsOf(page: AssetPage, at: PointPage, from: number, to: number): ChartEvent[] {
  const events: ChartEvent[] = [];
  for (const work of page.work) {
    if (work.pointId !== null && work.pointId !== at.point.id) continue;
    // The first clause of what people wrote, or the plain word where that is long; all of it stands in the list of work.
    const said = (work.words ?? '').split(/[.;,]/)[0]?.trim() ?? '';
    const words = said === '' || said.length > 30 ? WORK_WORDS[work.work] : said.charAt(0).toLowerCase() + said.slice(1);
    events.push({ at: Date.parse(work.takenAt), words });
  }
  const own = at.limits.filter((set) => set.criterion === usedCriterion(at)).sort((a, b) => a.validFrom - b.validFrom);
  for (const [index, set] of own.entries()) {
    const before = own[index - 1];
    if (before === undefined) continue;
    const sum = (one: typeof set): number => (one.watch ?? 0) + (one.plan ?? 0) + (one.soon ?? 0) + (one.now ?? 0);
    const way = sum(set) < sum(before) ? 'lowered' : sum(set) > sum(before) ? 'raised' : 'changed';
    events.push({ at: set.validFrom, words: `limits ${way}` });
  }
  return events.filter((event) => event.at >= from && event.at <= to);
}

/** One point large: what was, what comes, and the same in words. */
export function PointSheet({ page, at, now }: { page: AssetPage; at: PointPage; now: number }) {
  const { may } = useSession();
  const { point } = at;
  const zone = page.place.zone;
  const criterion = usedCriterion(at);
  const last = at.readings.find((row) => row.counts && row.value !== null) ?? null;
  const ahead = useMemo(() => lookAhead(at, zone, now), [at, zone, now]);
  const [drawn, setDrawn] = useState<Drawn | null>(null);
  useEffect(() => {
    let isHere = true;
    setDrawn(null);
    if (ahead.isDrawn) {
      void import('./draw.ts').then(({ drawPoint }) => {
        if (isHere) setDrawn(drawPoint(page, at));
      });
    }
    return () => {
      isHere = false;
    };
  }, [page, at, ahead.isDrawn]);
  const fan = drawn?.fan ?? [];
  const curve = drawn?.curve ?? [];
  const reaching: Reaching | null =
    ahead.isDrawn && ahead.counting !== null && ahead.counting.earliestAt !== null
      ? {
          grade: ahead.counting.grade,
          limit: ahead.counting.limit,
          earliest: ahead.counting.earliestAt,
          likely: ahead.counting.likelyAt,
          latest: ahead.counting.latestAt,
        }
      : null;
  const { soundings, from, stretches, scale, events } = useMemo(() => {
    const soundings = soundingsOf(at.readings, criterion);
    const from = Math.min(soundings[0]?.at ?? now - 12 * WEEK, now - 12 * WEEK);
    const stretches = stretchesOf(at.limits, criterion, from, now);
    const judged = soundings.filter((one) => one.kind !== 'not-judged');
    const scale = scaleFor(
      judged.length > 0 ? judged : soundings,
      stretches,
      reaching === null ? [] : [reaching.limit],
      PLOT_TOP,
      PLOT_BOTTOM,
    );
    return { soundings, from, stretches, scale, events: eventsOf(page, at, from, now) };
  }, [page, at, criterion, now, reaching?.limit]);
  const present = stretches.at(-1);
  // The last reading is seen in both panels, unless it is long ago.
  const lastAt = soundings.at(-1)?.at ?? now;
  const aheadFrom = Math.max(now - 28 * DAY, Math.min(now - 8 * DAY, lastAt - 3 * DAY));
  const lastWords =
    last?.value == null || soundings.length === 0 ? null : sayValue(soundings.at(-1)!.value, point.decimals).replace(/\.0$/, '');
  const weeksBehind = Math.max(1, Math.round((now - from) / WEEK));
  const weeksAhead = Math.max(1, Math.round((ahead.to - now) / WEEK));
  const name = point.name.charAt(0).toLowerCase() + point.name.slice(1);
  const label = `${sayCount(soundings.length, 'reading')} of ${name} in ${weeksBehind} weeks${lastWords === null ? '' : `, the last ${lastWords} ${point.unit}`}. The table below gives them all.`;
  return (
    <section class="pt" aria-label={`Point ${point.letter}`}>
      <div class="secrow ptrow">
        <h2>
          Point {point.letter}, {name}, {point.unit}
        </h2>
        <StandingMark at={at} />
        <span class="small">{sayTrend(page, at, now)}</span>
      </div>
      <div class={`sheet${ahead.isDrawn ? '' : ' noahead'}`}>
        <div class="behind">
          <Behind
            title={weeksBehind >= 104 ? `${Math.round(weeksBehind / 52)} years behind` : `${weeksBehind} weeks behind`}
            label={label}
            from={from}
            to={now}
            soundings={soundings}
            stretches={stretches}
            events={events}
            curve={curve}
            scale={scale}
            last={lastWords}
          />
        </div>
        {ahead.isDrawn && (
          <div class="ahead">
            <Ahead
              title={`${weeksAhead} weeks ahead`}
              label={`Forecast: ${ahead.rows.map((one) => `${one.date} ${one.title}`).join(', ')}. The timetable beside it says the same.`}
              now={now}
              from={aheadFrom}
              to={ahead.to}
              zone={zone}
              stretches={present === undefined ? [] : [{ ...present, from: aheadFrom, to: ahead.to }]}
              soundings={soundings.filter((one) => one.at >= aheadFrom)}
              fan={fan}
              reaching={reaching}
              scale={scale}
              last={lastWords}
            />
          </div>
        )}
        <aside aria-label="What lies ahead">
          <h2>{ahead.isDrawn || ahead.rows.length > 0 ? 'Timetable ahead' : 'Ahead'}</h2>
          {(ahead.isDrawn || ahead.rows.length > 0) && <Timetable rows={ahead.rows} />}
          <p class="small forewords">{ahead.words}</p>
          {may('submit-facts') && (
            <a class="key main" href={`/stop/${page.id}/${point.id}`}>
              Read point {point.letter}
            </a>
          )}
        </aside>
      </div>
      <p class="legend note">
        <span class="kind">
          <Mark name="r-like" />
          like-for-like
        </span>
        <span class="kind">
          <Mark name="r-corrected" />
          corrected to the reference load
        </span>
        <span class="kind">
          <Mark name="r-none" />
          not judged
        </span>
        {ahead.isDrawn && (
          <span class="kind">
            <svg style="width:20px" viewBox="0 0 20 12" aria-hidden="true">
              <path d="M0 6h20" stroke="var(--fan)" stroke-width="2.4" stroke-dasharray="7 4" />
            </svg>
            forecast, 8 of 10 end inside
          </span>
        )}
      </p>
    </section>
  );
}

function Timetable({ rows }: { rows: readonly TimetableRow[] }) {
  return (
    <ol class="ttable">
      {rows.map((row) => (
        <li key={`${row.at} ${row.title}`}>
          <span class="d">{row.date}</span>
          <span>
            {row.title}
            {row.detail !== '' && (
              <>
                <br />
                <span class="soft">{row.detail}</span>
              </>
            )}
          </span>
        </li>
      ))}
    </ol>
  );
}

/** The grade a point stands at, with the reservations of the reading that brought it there. */
function StandingMark({ at }: { at: PointPage }) {
  const { conclusion } = at;
  const latest = conclusion?.latest?.verdict ?? at.readings.find((row) => row.counts)?.verdict ?? null;
  if (conclusion?.standing != null && latest?.grade !== conclusion.standing.grade)
    return <GradeMark grade={conclusion.standing.grade} />;
  return latest === null ? <GradeMark grade={null} /> : <VerdictMark verdict={latest} />;
}

/** Another point of the asset, small; its name makes it the large one. */
export function Other({ page, at, now }: { page: AssetPage; at: PointPage; now: number }) {
  const { may } = useSession();
  const { point } = at;
  const criterion = usedCriterion(at);
  const zone = page.place.zone;
  const soundings = useMemo(() => soundingsOf(at.readings, criterion), [at.readings, criterion]);
  const from = Math.min(soundings[0]?.at ?? now - 12 * WEEK, now - 12 * WEEK);
  const stretches = stretchesOf(at.limits, criterion, from, now);
  const last = at.readings.find((row) => row.counts && row.value !== null) ?? null;
  const name = point.name.charAt(0).toLowerCase() + point.name.slice(1);
  return (
    <section class="sec other">
      <div class="secrow">
        <h2>
          <a href={`/assets/${page.id}?point=${encodeURIComponent(point.letter)}`}>
            {point.letter}, {name}, {point.unit}
          </a>
        </h2>
        <StandingMark at={at} />
      </div>
      {soundings.length > 0 && (
        <Small
          label={`${sayCount(soundings.length, 'reading')} of ${name}`}
          from={from}
          to={now}
          soundings={soundings}
          stretches={stretches}
          scaleOf={(top, bottom) => scaleFor(soundings, stretches, [], top, bottom)}
        />
      )}
      <p class="small soft">
        {last?.value == null
          ? 'Not read yet.'
          : `${sayValue(figureOfRow(last, criterion) ?? last.value, point.decimals)}${sayUnit(point.unit)}, ${whenRead(last.takenAt, zone, now)}. ${trendWords(at).join(' ')}`}
      </p>
      {may('submit-facts') && (
        <a class="small readlink" href={`/stop/${page.id}/${point.id}`}>
          Read point {point.letter}
        </a>
      )}
    </section>
  );
}
