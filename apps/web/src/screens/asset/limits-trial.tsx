/** What other limits would have said of the readings there are, drawn beside what was said: one bar a reading, as high as its grade. */
import type { PointPage, TriedOnHistory } from '@heatround/contract';
import { type Conclusion, GRADES, type Grade, sayProjection } from '@heatround/domain';
import { sayCount } from '../../ui/format.ts';
import { GRADE_WORDS } from '../../ui/marks.tsx';

const WIDTH = 600;
const STEP = 7;
const HEIGHT = GRADES.length * STEP + 4;

const countsOf = (grades: readonly (Grade | null)[]): string =>
  [...GRADES, null]
    .map((grade) => ({ grade, count: grades.filter((one) => one === grade).length }))
    .filter(({ count }) => count > 0)
    .map(({ grade, count }) => `${grade === null ? 'Not judged' : GRADE_WORDS[grade]} ${count}`)
    .join(', ');

function Row({ label, grades }: { label: string; grades: readonly (Grade | null)[] }) {
  const wide = WIDTH / Math.max(grades.length, 12);
  return (
    <figure class="trialrow">
      <figcaption>{label}</figcaption>
      <svg viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={`${label}: ${countsOf(grades)}`} preserveAspectRatio="none">
        {grades.map((grade, at) => {
          const high = grade === null ? 2 : (GRADES.indexOf(grade) + 1) * STEP;
          return (
            <rect
              key={`${at}`}
              class={grade ?? 'none'}
              x={at * wide}
              y={HEIGHT - high}
              width={Math.max(wide * 0.8, 0.6)}
              height={high}
            />
          );
        })}
      </svg>
      <p class="quiet">{countsOf(grades)}</p>
    </figure>
  );
}

const expected = (conclusion: Conclusion, { point }: PointPage, zone: string, now: number): string => {
  const counting = conclusion.projections.find(({ grade }) => grade === conclusion.countsGrade);
  return counting === undefined
    ? 'No limit is ahead.'
    : sayProjection(counting, point.unit, zone, now, conclusion.latest?.takenAt);
};
const stands = ({ standing }: Conclusion): string => (standing === null ? 'not judged' : GRADE_WORDS[standing.grade]);

export function LimitsTrial({ trial, at, zone, now }: { trial: TriedOnHistory; at: PointPage; zone: string; now: number }) {
  const changed = trial.readings.filter(({ before, after }) => before !== after).length;
  if (trial.readings.length === 0)
    return <p class="trial">There are no readings yet to try these figures on. They hold for the first one.</p>;
  return (
    <div class="trial" aria-live="polite">
      <p>
        <strong>
          {changed === 0
            ? `None of the ${sayCount(trial.readings.length, 'reading')} would have another grade.`
            : `${changed} of ${sayCount(trial.readings.length, 'reading')} would have another grade.`}
        </strong>{' '}
        The point stands at {stands(trial.before)}; with these figures, had they held all the while, at {stands(trial.after)}.
      </p>
      <Row label="As judged" grades={trial.readings.map(({ before }) => before)} />
      <Row label="With these figures" grades={trial.readings.map(({ after }) => after)} />
      <dl class="trialahead">
        <dt>Ahead as it is</dt>
        <dd>{expected(trial.before, at, zone, now)}</dd>
        <dt>Ahead with these figures</dt>
        <dd>{expected(trial.after, at, zone, now)}</dd>
      </dl>
    </div>
  );
}
