import type { AssetPage, PointPage } from '@heatround/contract';
import { CRITERION_OF } from '@heatround/domain';
import { useEffect, useMemo, useRef, useState } from 'preact/hooks';
import { sayTrouble } from '../../client/index.ts';
import { useSession } from '../../shell/session.tsx';
import { Ahead, type Reaching, type Slot } from '../../ui/chart/ahead.tsx';
import { Behind, PLOT_BOTTOM, PLOT_TOP, Small } from '../../ui/chart/behind.tsx';
import { type ChartEvent, figureOfRow, scaleFor, soundingsOf, stretchesOf } from '../../ui/chart/model.ts';
import { Told } from '../../ui/field.tsx';
import { fullDate, sayCount, sayUnit, sayValue, tableDate, whenRead } from '../../ui/format.ts';
import { GradeMark, Mark, VerdictMark } from '../../ui/marks.tsx';
import { lookAhead, sayTrend, trendWords } from './conclusion-view.ts';
import type { Drawn } from './draw.ts';
import {
  askable,
  askFor,
  openThings,
  type PlannedRow,
  type PointSlots,
  pointSlots,
  type Repairs,
  repairEvents,
  withWindows,
} from './repairs.ts';
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
export function PointSheet({
  page,
  at,
  now,
  repairs,
  onAsked,
}: {
  page: AssetPage;
  at: PointPage;
  now: number;
  repairs?: Repairs | undefined;
  onAsked: () => Promise<void>;
}) {
  const { may } = useSession();
  const { point } = at;
  const zone = page.place.zone;
  const criterion = usedCriterion(at);
  const last = at.readings.find((row) => row.counts && row.value !== null) ?? null;
  const ahead = useMemo(() => lookAhead(at, zone, now), [at, zone, now]);
  const planned = useMemo(() => pointSlots(page, at, repairs?.windows ?? [], now), [page, at, repairs?.windows, now]);
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
    const repaired = repairEvents(repairs).filter((event) => event.at >= from && event.at <= now);
    return { soundings, from, stretches, scale, events: [...eventsOf(page, at, from, now), ...repaired] };
  }, [page, at, criterion, now, reaching?.limit, repairs]);
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
      <Open repairs={repairs} now={now} />
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
              slots={slotsAhead(planned, zone, now)}
              scale={scale}
              last={lastWords}
            />
          </div>
        )}
        <aside aria-label="What lies ahead">
          <h2>{ahead.isDrawn || ahead.rows.length > 0 ? 'Timetable ahead' : 'Ahead'}</h2>
          {(ahead.isDrawn || ahead.rows.length > 0) && (
            <Timetable rows={withWindows(ahead.rows, planned.slots, ahead.to, zone, now)} />
          )}
          <p class="small forewords">{ahead.words}</p>
          <Keys
            page={page}
            at={at}
            planned={planned}
            repairs={repairs}
            now={now}
            onAsked={onAsked}
            mayRead={may('submit-facts')}
          />
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

function Timetable({ rows }: { rows: readonly PlannedRow[] }) {
  return (
    <ol class="ttable">
      {rows.map((row) => (
        <li key={`${row.at} ${row.title}`} class={`tt-${row.kind}`}>
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

/** The windows as the panel ahead draws them. */
function slotsAhead({ slots }: PointSlots, zone: string, now: number): Slot[] {
  const late = slots.find(({ kind }) => kind === 'late');
  return slots.flatMap((slot): Slot[] => {
    if (slot.kind === 'last')
      return [{ ...slot, kind: 'last', title: fullDate(slot.from, zone, now), detail: `${lower(slot.name)}, fits` }];
    if (slot.kind === 'fits') return [{ ...slot, kind: 'fits', title: '', detail: '' }];
    if (slot.kind !== 'late') return [];
    const isFirst = slot === late;
    return [
      {
        ...slot,
        kind: 'late',
        title: isFirst ? tableDate(slot.from, zone, now) : '',
        detail: isFirst ? `${lower(slot.name)}, too late` : '',
      },
    ];
  });
}
const lower = (text: string): string => text.charAt(0).toLowerCase() + text.slice(1);

/** Findings and orders that are open on this point. */
function Open({ repairs, now }: { repairs: Repairs | undefined; now: number }) {
  const things = openThings(repairs, now);
  if (things.length === 0) return null;
  return (
    <ul class="openthings">
      {things.map((one) => (
        <li key={one.link}>
          <a href={one.href}>{one.link}</a> {one.words}
        </li>
      ))}
    </ul>
  );
}

/** Ask for the last window that fits, where a finding or an order waits for it; read the point. */
function Keys(props: {
  page: AssetPage;
  at: PointPage;
  planned: PointSlots;
  repairs: Repairs | undefined;
  now: number;
  mayRead: boolean;
  onAsked: () => Promise<void>;
}) {
  const { page, at, planned, repairs, now, mayRead } = props;
  const [isBusy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<unknown>(null);
  const [said, setSaid] = useState<string | null>(null);
  const saidLine = useRef<HTMLParagraphElement>(null);
  useEffect(() => {
    if (said !== null) saidLine.current?.focus();
  }, [said]);
  const what = askable(repairs);
  const { window } = planned.lastWindow;
  const day = window === null ? null : fullDate(window.from, page.place.zone, now);
  const ask = async (): Promise<void> => {
    if (isBusy || what === null || window === null || day === null) return;
    setBusy(true);
    setTrouble(null);
    try {
      const words = await askFor(what, window.id, day);
      await props.onAsked();
      setSaid(words);
    } catch (failed) {
      setTrouble(failed);
      await props.onAsked().catch(() => undefined);
    }
    setBusy(false);
  };
  const mayAsk = what !== null && window !== null;
  return (
    <>
      {said !== null && (
        <p class="told" role="status" tabIndex={-1} ref={saidLine}>
          {said}
        </p>
      )}
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      {mayAsk && (
        <button type="button" class="key main" disabled={isBusy} onClick={() => void ask()}>
          {isBusy ? 'Asking' : `Ask for ${day}`}
        </button>
      )}
      {mayRead && (
        <a class={mayAsk ? 'key' : 'key main'} href={`/stop/${page.id}/${at.point.id}`}>
          Read point {at.point.letter}
        </a>
      )}
      {what !== null && 'finding' in what && (
        <p class="small alt2">
          <a href="/answers">Other answers</a>
        </p>
      )}
    </>
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
export function Other({
  page,
  at,
  now,
  repairs,
}: {
  page: AssetPage;
  at: PointPage;
  now: number;
  repairs?: Repairs | undefined;
}) {
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
      <Open repairs={repairs} now={now} />
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
