import type { AssetPage, PointPage } from '@heatround/contract';
import { GRADES } from '@heatround/domain';
import { useCallback, useEffect, useRef, useState } from 'preact/hooks';
import { call, NoSignal, Refusal, sayTrouble } from '../../client/index.ts';
import type { Kept } from '../../outbox/index.ts';
import { useWhere } from '../../shell/router.tsx';
import { useOnlyHere, useOutboxState, useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { THIS_DEVICE } from '../../ui/device.ts';
import { Told } from '../../ui/field.tsx';
import { clockTime, plainDate, sayCount } from '../../ui/format.ts';
import { Tag } from '../../ui/marks.tsx';
import { OnlyHereMark } from '../../ui/only-here.tsx';
import { Aside } from './aside.tsx';
import { sayOpening } from './conclusion-view.ts';
import { Other, PointSheet } from './point-sheet.tsx';
import { ReadingsTable } from './readings-table.tsx';
import { pointSlots, sayWindow, useRepairs } from './repairs.ts';
import { WorkList } from './work-list.tsx';
import './asset.css';

const BEHIND_MS = 1500;
const BEHIND_TRIES = 20;

/** One asset: what it says, where it goes, what was read and done. */
export function AssetScreen({ parameters }: { parameters: Record<string, string> }) {
  const assetId = parameters.assetId ?? '';
  const { outbox } = useSession();
  const { waiting } = useOutboxState();
  const [page, setPage] = useState<AssetPage | null>(null);
  const [keptAt, setKeptAt] = useState<number | null>(null);
  const [trouble, setTrouble] = useState<unknown>(null);
  const [isSlow, setSlow] = useState(false);
  const [unsent, setUnsent] = useState<readonly Kept[]>([]);
  const tries = useRef(0);

  const fetchPage = useCallback(async (): Promise<void> => {
    const slow = setTimeout(() => setSlow(true), 1000);
    try {
      const fresh = await call('getAsset', { params: { assetId }, query: { readings: 300 } });
      setPage(fresh);
      setKeptAt(null);
      setTrouble(null);
      await outbox.keepPack({
        ...fresh,
        points: fresh.points.map((point) => ({ ...point, readings: point.readings.slice(0, 60) })),
      });
    } catch (failed) {
      setTrouble(failed);
      if (failed instanceof NoSignal) {
        const pack = await outbox.pack(assetId);
        if (pack !== undefined) {
          setPage((before) => before ?? pack.page);
          setKeptAt(pack.keptAt);
        }
      }
    } finally {
      clearTimeout(slow);
      setSlow(false);
    }
  }, [assetId, outbox]);

  // After the last waiting fact of this asset went up, and as long as a conclusion is being drawn, look again.
  useEffect(() => {
    tries.current = 0;
    void fetchPage();
    void outbox.pending().then((all) => setUnsent(all.filter((kept) => kept.assetId === assetId)));
  }, [fetchPage, waiting, outbox, assetId]);
  const isBehind = page?.points.some((point) => point.isBehind) ?? false;
  useEffect(() => {
    if (!isBehind || keptAt !== null || tries.current >= BEHIND_TRIES) return;
    tries.current++;
    const timer = setTimeout(() => void fetchPage(), BEHIND_MS);
    return () => clearTimeout(timer);
  }, [page, isBehind, keptAt, fetchPage]);

  const { search } = useWhere();
  if (page === null) {
    return (
      <Waiting
        words={
          trouble === null
            ? 'The asset'
            : trouble instanceof Refusal && trouble.status === 404
              ? 'There is no such asset in this organisation.'
              : 'The asset cannot be shown now.'
        }
        note={isSlow ? 'fetching its readings' : null}
        trouble={trouble}
      />
    );
  }
  const main = page.points.find((one) => one.point.letter === search.get('point')) ?? worstOf(page.points);
  return <Shown page={page} main={main} keptAt={keptAt} trouble={trouble} unsent={unsent} refresh={fetchPage} />;
}

function Waiting({ words, note, trouble }: { words: string; note: string | null; trouble: unknown }) {
  const heading = useOpening('Asset', words);
  return (
    <>
      <h1 class="say open" tabIndex={-1} ref={heading}>
        {words}
      </h1>
      {note !== null && <p class="note">{note}</p>}
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
    </>
  );
}

/** The point that the page opens with: worst grade, then the nearest forecast, then the first. */
function worstOf(points: readonly PointPage[]): PointPage | null {
  const rank = ({ conclusion, readings }: PointPage): number => {
    const grade = conclusion?.standing?.grade ?? readings.find((row) => row.counts)?.grade ?? null;
    const soonest = Math.min(
      ...(conclusion?.projections ?? []).map((one) =>
        one.show === 'range' && one.earliestAt !== null ? one.earliestAt : Number.POSITIVE_INFINITY,
      ),
    );
    return (grade === null ? 0 : GRADES.indexOf(grade) + 1) * 10 + (Number.isFinite(soonest) ? 5 : 0);
  };
  return [...points].sort((a, b) => rank(b) - rank(a))[0] ?? null;
}

interface ShownProps {
  readonly page: AssetPage;
  readonly main: PointPage | null;
  readonly keptAt: number | null;
  readonly trouble: unknown;
  readonly unsent: readonly Kept[];
  readonly refresh: () => Promise<void>;
}

function Shown({ page, main, keptAt, trouble, unsent, refresh }: ShownProps) {
  const { outbox, may } = useSession();
  const here = useOnlyHere().get(page.id);
  const now = outbox.now();
  const zone = page.place.zone;
  const { repairs, lookAtRepairs } = useRepairs(page, main);
  const own = main === null ? undefined : repairs[main.point.id];
  const opening = [sayOpening(page, now), sayOwnWindow()].filter((words) => words !== '').join(' ');
  /** Said where the sentence is about the large point and its forecast. */
  function sayOwnWindow(): string {
    const conclusion = main?.conclusion ?? null;
    if (main === null || own === undefined || conclusion === null) return '';
    const counting = conclusion.projections.find((one) => one.grade === conclusion.countsGrade);
    if (counting?.show !== 'range' || sayOpening({ ...page, points: [main] }, now) !== sayOpening(page, now)) return '';
    return sayWindow(pointSlots(page, main, own.windows, now), conclusion.countsGrade, zone, now);
  }
  const heading = useOpening(`${page.tag} ${page.name}`, page.id);
  const [all, setAll] = useState<Record<string, PointPage['readings']>>({});
  const mainAll = main === null ? null : (all[main.point.id] ?? null);
  const shownMain = main === null || mainAll === null ? main : { ...main, readings: mainAll, olderReadings: null };
  return (
    <>
      <div class="assettop">
        <div class="idl">
          <Tag tag={page.tag} />
          <p class="note">
            {page.place.building}, {page.place.room}
            <br />
            {page.place.site}
          </p>
          <p class="note">
            Criticality {page.criticality}: {page.criticalityReason}
          </p>
          {page.lifeSafety && <p class="note">Protects lives: Plan and worse count one grade higher.</p>}
          {page.oldTags.length > 0 && <p class="note">Formerly {page.oldTags.join(', ')}.</p>}
        </div>
        <div class="lead">
          <p class="leadname">{page.name}</p>
          <h1 class="say2" tabIndex={-1} ref={heading}>
            {opening}
          </h1>
          {here !== undefined && (
            <p class="herenow">
              <OnlyHereMark grade={here} />
            </p>
          )}
        </div>
      </div>
      {page.outOfService != null && (
        <p class="told">
          Out of service since {plainDate(Date.parse(page.outOfService.at), zone, now)}: {page.outOfService.reason}
          {page.outOfService.byName === null ? '' : ` (${page.outOfService.byName})`}. It is on no round; what was read stays
          here.
        </p>
      )}
      {keptAt !== null && (
        <p class="told">
          No signal: this is as of {plainDate(keptAt, zone, now)}, {clockTime(keptAt, zone)}, kept on this device.
        </p>
      )}
      {trouble !== null && keptAt === null && <Told>{sayTrouble(trouble)}</Told>}
      {unsent.length > 0 && (
        <p class="told">
          {sayCount(unsent.length, 'entry', 'entries')} of this asset {unsent.length === 1 ? 'is' : 'are'} only on this{' '}
          {THIS_DEVICE}: {unsent.map((kept) => kept.label).join('; ')}.{' '}
          <a href="/hand-in">Look at {unsent.length === 1 ? 'it' : 'them'}</a>
        </p>
      )}
      {shownMain === null ? (
        <p class="told">
          It has no point to read yet. {may('edit-register') ? 'Add the first one below.' : 'A planner can add one.'}
        </p>
      ) : (
        <PointSheet
          key={shownMain.point.id}
          page={page}
          at={shownMain}
          now={now}
          repairs={own}
          onAsked={lookAtRepairs}
          onAll={(readings) => setAll({ ...all, [shownMain.point.id]: readings })}
        />
      )}
      <div class="lower">
        {shownMain !== null && (
          <ReadingsTable
            page={page}
            at={shownMain}
            now={now}
            onAll={(readings) => setAll({ ...all, [shownMain.point.id]: readings })}
            isAll={mainAll !== null}
          />
        )}
        {page.points
          .filter((one) => one.point.id !== main?.point.id)
          .map((one) => (
            <Other key={one.point.id} page={page} at={one} now={now} repairs={repairs[one.point.id]} />
          ))}
      </div>
      <div class="lower two">
        <WorkList page={page} now={now} />
        <Aside page={page} at={shownMain} now={now} refresh={refresh} />
      </div>
    </>
  );
}
