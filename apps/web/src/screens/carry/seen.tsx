import type { ComponentChildren } from 'preact';
import { plainDate, sayCount } from '../../ui/format.ts';
import { Tag } from '../../ui/marks.tsx';
import { sayDays } from '../../ui/planning/words.ts';
import { CAUSE_WORDS, type Carry, sayCauses, sayPlain, sayShare } from './words.ts';

/** A share as a solid bar in a frame; the counts in words stand beside it. */
function ShareBar({ part, whole }: { part: number; whole: number }) {
  const width = 150;
  const filled = whole === 0 ? 0 : (part / whole) * width;
  return (
    <svg width={width} height={12} viewBox={`0 0 ${width} 12`} aria-hidden="true" class="sharebar">
      <rect x={0.5} y={0.5} width={width - 1} height={11} fill="none" stroke="var(--ink)" />
      <rect x={0} y={0} width={filled.toFixed(1)} height={12} fill="var(--dot)" />
    </svg>
  );
}

/** One figure with its counts and, just as large a part of it, what it leaves out. */
function Figure(props: {
  title: string;
  part: number;
  whole: number;
  asCount?: boolean;
  counts: ComponentChildren;
  against: ComponentChildren;
}) {
  const { title, part, whole, asCount = false } = props;
  return (
    <section class="sec">
      <h3>{title}</h3>
      <p class="fg">
        <b>{whole === 0 ? '–' : asCount ? `${sayPlain(part)} of ${sayPlain(whole)}` : sayShare(part, whole)}</b>
      </p>
      <ShareBar part={part} whole={whole} />
      <p class="note">{props.counts}</p>
      <p class="small against">{props.against}</p>
    </section>
  );
}

/** What was seen, each figure with what was not beside it. */
export function SeenFigures({ carry, zone, now }: { carry: Carry; zone: string; now: number }) {
  const { seen, ended, counts } = carry;
  const { points, rounds, stops } = seen;
  const since = `${rounds.isCut ? 'Since' : 'Twelve weeks, since'} ${plainDate(rounds.from, zone, now)}`;
  const unread = stops.due - stops.read;
  const first = points.isCut ? ' first' : '';
  return (
    <section class="sec seen" aria-labelledby="seen-title">
      <h2 id="seen-title">What was seen, and what was not</h2>
      <p class="note">
        {since}; {rounds.isCut ? 'only the newest rounds are counted. ' : ''}points: as of today.
      </p>
      <div class="figs">
        <Figure
          title="Points really seen"
          part={points.seen}
          whole={points.due}
          counts={
            points.due === 0
              ? 'No point was due yet.'
              : `${sayPlain(points.seen)} of the${first} ${sayCount(points.due, 'point')} whose last round is over have a comparable reading since it began.`
          }
          against={
            points.due === points.seen ? (
              points.due === 0 ? (
                'Points come due with the first round that is over.'
              ) : (
                'None of them was missed.'
              )
            ) : (
              <>
                <b>{sayPlain(points.due - points.seen)} not seen:</b>{' '}
                {sayCauses(points.unseen.map(({ cause, count }) => ({ words: CAUSE_WORDS[cause], count })))}.
              </>
            )
          }
        />
        <Figure
          title="Rounds walked"
          part={rounds.walked}
          whole={rounds.due}
          counts={
            rounds.due === 0
              ? 'No round is over yet.'
              : `${sayPlain(rounds.walked)} of ${sayCount(rounds.due, 'round')} handed in by the end of their grace with 95 % of the stops answered.`
          }
          against={
            <>
              <b>{sayPlain(rounds.missed)} missed</b>
              {rounds.lastMissed.length > 0 && (
                <>
                  {' '}
                  (last{' '}
                  {rounds.lastMissed
                    .slice(0, 2)
                    .map((one) => `${one.code}, ${plainDate(one.plannedAt, one.zone, now)}`)
                    .join('; ')}
                  )
                </>
              )}
              {rounds.thin > 0 && <>, {sayPlain(rounds.thin)} with too few answers</>}. Called off, not counted:{' '}
              {sayPlain(rounds.calledOff)}.
            </>
          }
        />
        <Figure
          title="Stops read"
          part={stops.read}
          whole={stops.due}
          counts={
            stops.due === 0
              ? 'No stop was due yet.'
              : `${sayPlain(stops.read)} of ${sayCount(stops.due, 'stop')} of these rounds.`
          }
          against={
            unread === 0 ? (
              'Every one was read.'
            ) : (
              <>
                <b>{sayPlain(unread)} not read:</b>{' '}
                {sayCauses([
                  ...stops.couldNotRead.map(({ answer, count }) => ({ words: CAUSE_WORDS[answer], count })),
                  ...(stops.notAnswered > 0 ? [{ words: 'not answered', count: stops.notAnswered }] : []),
                ])}
                .
              </>
            )
          }
        />
        <Figure
          title="Repairs proved"
          part={ended.proved}
          whole={ended.proved + ended.unproved}
          asCount
          counts={
            ended.proved + ended.unproved === 0
              ? 'No repair ended in this time.'
              : `${sayPlain(ended.proved)} of ${sayCount(ended.proved + ended.unproved, 'repair')} that ended in this time.`
          }
          against={
            <>
              <b>{sayPlain(ended.unproved)} closed unproved.</b> Done and waiting for proof: {sayPlain(counts.toProve)}.
            </>
          }
        />
      </div>
    </section>
  );
}

/** The points longest out of sight, weighed by how much hangs on them. */
export function NotSeen({ carry, now }: { carry: Carry; now: number }) {
  const { points } = carry.seen;
  if (points.worst.length === 0) return null;
  const unseen = points.due - points.seen;
  return (
    <section class="sec" aria-labelledby="unseen-title">
      <h2 id="unseen-title">
        Not seen{' '}
        <span class="by">
          {unseen > points.worst.length ? `${points.worst.length} of ${sayPlain(unseen)}, ` : ''}by criticality × days
        </span>
      </h2>
      <ol class="rows">
        {points.worst.map((point) => (
          <li key={point.pointId} aria-label={`${point.assetName}, ${point.pointName}`}>
            <p>
              <a class="carryname" href={`/assets/${point.assetId}?point=${encodeURIComponent(point.letter)}`}>
                {point.assetName}
              </a>{' '}
              <Tag tag={point.tag} letter={point.letter} />
            </p>
            <p class="small soft">
              {point.pointName}. Criticality {point.criticality}, {point.routeCode}, {CAUSE_WORDS[point.cause]}.{' '}
              {point.lastSeenAt === null
                ? 'No comparable reading yet.'
                : `Last seen ${plainDate(point.lastSeenAt, point.zone, now)}.`}
            </p>
            <p class="end">
              <b>{sayDays(point.days)}</b>
            </p>
          </li>
        ))}
      </ol>
    </section>
  );
}
