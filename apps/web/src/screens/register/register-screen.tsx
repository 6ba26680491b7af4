import type { AssetRow } from '@heatround/contract';
import { GRADES, type Grade } from '@heatround/domain';
import { useEffect, useRef, useState } from 'preact/hooks';
import { call, NoSignal, sayTrouble } from '../../client/index.ts';
import type { OnlyHere } from '../../outbox/index.ts';
import { go, useWhere } from '../../shell/router.tsx';
import { useOnlyHere, useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { THIS_DEVICE } from '../../ui/device.ts';
import { Told } from '../../ui/field.tsx';
import { sayCount, whenRead } from '../../ui/format.ts';
import { GRADE_WORDS, GradeMark, Tag } from '../../ui/marks.tsx';
import { OnlyHereMark } from '../../ui/only-here.tsx';
import './register.css';

const PAGE = 100;
const DEBOUNCE_MS = 220;

interface Found {
  readonly search: string;
  readonly assets: readonly AssetRow[];
  readonly next: string | null;
  /** True: no signal, what this device kept of visited assets. */
  readonly isKept: boolean;
}

export function RegisterScreen() {
  const { outbox, may } = useSession();
  const { search: query } = useWhere();
  const [text, setText] = useState(query.get('search') ?? '');
  const isOut = query.has('out');
  const [found, setFound] = useState<Found | null>(null);
  const [trouble, setTrouble] = useState<unknown>(null);
  const [isSlow, setSlow] = useState(false);
  const asked = useRef(0);

  useEffect(() => {
    const search = text.trim();
    const turn = ++asked.current;
    const stop = new AbortController();
    const wait = setTimeout(
      async () => {
        const slow = setTimeout(() => setSlow(true), 1000);
        try {
          const answer = await call(
            'listAssets',
            { query: { search, pageSize: PAGE, outOfService: isOut } },
            { signal: stop.signal },
          );
          if (turn !== asked.current) return;
          setFound({ search, assets: answer.assets, next: answer.next, isKept: false });
          setTrouble(null);
          const words = [...(search === '' ? [] : [`search=${encodeURIComponent(search)}`]), ...(isOut ? ['out'] : [])];
          const address = words.length === 0 ? '/register' : `/register?${words.join('&')}`;
          if (location.pathname === '/register' && location.pathname + location.search !== address) go(address, 'replace');
        } catch (failed) {
          if (turn !== asked.current || stop.signal.aborted) return;
          if (failed instanceof NoSignal) {
            const words = search.toLowerCase().split(/\s+/).filter(Boolean);
            const packs = (await outbox.packs()).map(({ page }) => rowOf(page)).sort((a, b) => a.tag.localeCompare(b.tag));
            const assets = packs.filter((row) =>
              words.every((word) => `${row.tag} ${row.name} ${row.place.room}`.toLowerCase().includes(word)),
            );
            setFound({ search, assets, next: null, isKept: true });
          }
          setTrouble(failed);
        } finally {
          clearTimeout(slow);
          setSlow(false);
        }
      },
      found === null ? 0 : DEBOUNCE_MS,
    );
    return () => {
      clearTimeout(wait);
      stop.abort();
    };
  }, [text, outbox, isOut]);

  const more = async (): Promise<void> => {
    if (found?.next == null) return;
    try {
      const answer = await call('listAssets', {
        query: { search: found.search, pageSize: PAGE, after: found.next, outOfService: isOut },
      });
      setFound({ ...found, assets: [...found.assets, ...answer.assets], next: answer.next });
    } catch (failed) {
      setTrouble(failed);
    }
  };

  const here = useOnlyHere();
  const heading = useOpening(found === null || found.search === '' ? 'Register' : `${found.search}, register`, 'register');
  return (
    <>
      <div class="open reghead">
        <h1 class="say" tabIndex={-1} ref={heading} aria-live="polite">
          {found === null ? 'The register' : isOut ? sayOut(found) : opening(found, here)}
        </h1>
        {may('edit-register') && (
          <a class="key" href="/new-asset">
            Add an asset
          </a>
        )}
      </div>
      <div class="field find">
        <label for="find">Find</label>
        <input
          id="find"
          class="entry"
          type="search"
          autocomplete="off"
          placeholder="Tag, old tag, name or place"
          value={text}
          onInput={(event) => setText(event.currentTarget.value)}
        />
      </div>
      {isSlow && <p class="note">fetching the register</p>}
      {trouble !== null && (
        <Told>
          {sayTrouble(trouble)}
          {trouble instanceof NoSignal && found?.isKept && ' Below is what this device kept of the assets you looked at.'}
        </Told>
      )}
      {found !== null && found.assets.length > 0 && <List assets={found.assets} />}
      {found?.next != null && (
        <div class="keyrow">
          <button type="button" class="key" onClick={() => void more()}>
            Show the next {PAGE}
          </button>
        </div>
      )}
      <p class="note otherlist">
        {isOut ? <a href="/register">Assets in service</a> : <a href="/register?out">Assets out of service</a>}
      </p>
      {found !== null && found.assets.length === 0 && found.search === '' && !found.isKept && !isOut && (
        <p class="told">
          {may('edit-register') ? (
            <>
              <a href="/new-asset">Add the first asset</a> from a template, or <a href="/bring-in">bring in</a> a list you already
              have.
            </>
          ) : (
            'A planner or an administrator can add assets. They show here as soon as they are there.'
          )}
        </p>
      )}
    </>
  );
}

function sayOut({ search, assets, next, isKept }: Found): string {
  if (isKept) return 'What is out of service is not kept on this device.';
  const named = search === '' ? '' : ` that ${assets.length === 1 ? 'goes' : 'go'} by “${search}”`;
  if (assets.length === 0) return `No asset${search === '' ? '' : ` that goes by “${search}”`} is out of service.`;
  return `${next === null ? sayCount(assets.length, 'asset') : `The first ${assets.length} assets`}${named} out of service.`;
}

function opening({ search, assets, next, isKept }: Found, here: ReadonlyMap<string, OnlyHere>): string {
  const count = next === null ? sayCount(assets.length, 'asset') : `The first ${assets.length} assets`;
  if (search !== '') {
    if (assets.length === 0) return `Nothing here goes by “${search}”.`;
    return next === null ? `${count} ${assets.length === 1 ? 'goes' : 'go'} by “${search}”.` : `${count} that go by “${search}”.`;
  }
  if (assets.length === 0) return isKept ? 'No asset is kept on this device.' : 'There is no asset in the register yet.';
  const bad: readonly Grade[] = [...GRADES].reverse().filter((grade) => grade !== 'fine' && grade !== 'watch');
  const told = bad
    .map((grade) => ({ grade, many: assets.filter((asset) => asset.grade === grade).length }))
    .filter(({ many }) => many > 0)
    .map(({ grade, many }) => `${many} at ${GRADE_WORDS[grade]}`);
  // What only this device knows is said before the sentence could claim the opposite.
  const own = assets.flatMap(({ id, tag }) => {
    const grade = here.get(id) ?? null;
    return grade !== null && bad.includes(grade) ? [`${tag} at ${GRADE_WORDS[grade]}, only on this ${THIS_DEVICE}`] : [];
  });
  const said =
    told.length > 0 ? told.join(', ') : own.length > 0 ? 'none of them worse than Watch on the server' : 'none worse than Watch';
  return `${count}, ${said}.${own.map((words) => ` ${words}.`).join('')}`;
}

function List({ assets }: { assets: readonly AssetRow[] }) {
  const { outbox } = useSession();
  const now = outbox.now();
  const here = useOnlyHere();
  return (
    <div class="reglist">
      <div class="regrow heads" aria-hidden="true">
        <span>State</span>
        <span>Asset, sorted by tag</span>
        <span>Place</span>
        <span>Last read</span>
      </div>
      <ul>
        {assets.map((asset) => (
          <li key={asset.id}>
            <a class="regrow" href={`/assets/${asset.id}`}>
              <span class="state">
                <State asset={asset} here={here.get(asset.id)} />
              </span>
              <span class="what">
                <b>{asset.name}</b> <Tag tag={asset.tag} />
                {asset.foundByOldTag !== null && <span class="note"> formerly {asset.foundByOldTag}</span>}
              </span>
              <span class="where">
                {asset.place.building}, {asset.place.room}
              </span>
              <span class="when">
                {asset.lastReadAt === null ? 'never read' : whenRead(asset.lastReadAt, asset.place.zone, now)}
              </span>
            </a>
          </li>
        ))}
      </ul>
    </div>
  );
}

/** The grade the service knows, beside it what only this device knows; "being worked out" as long as nothing is concluded yet. */
function State({ asset, here }: { asset: AssetRow; here: OnlyHere | undefined }) {
  const own = here === undefined ? null : <OnlyHereMark grade={here} />;
  if (asset.grade === null && asset.lastReadAt === null) return own ?? <span class="soft">never read</span>;
  if (asset.isProofAwaited && (asset.grade === null || asset.grade === 'fine'))
    return (
      <>
        <span class="soft">work to be proved</span>
        {own}
      </>
    );
  return (
    <>
      {asset.grade === null && asset.isBehind ? <span class="soft">being worked out</span> : <GradeMark grade={asset.grade} />}
      {own}
    </>
  );
}

function rowOf(page: import('@heatround/contract').AssetPage): AssetRow {
  const grades = page.points.map((point) => point.readings.find((reading) => reading.counts)?.grade ?? null);
  const worst = [...GRADES].reverse().find((grade) => grades.includes(grade)) ?? null;
  const last = page.points.flatMap((point) => point.readings[0]?.takenAt ?? []).sort();
  return {
    id: page.id,
    tag: page.tag,
    name: page.name,
    place: page.place,
    criticality: page.criticality,
    pointCount: page.points.length,
    grade: worst,
    lastReadAt: last.at(-1) ?? null,
    isProofAwaited: page.points.some(({ conclusion }) => conclusion?.isProofAwaited ?? false),
    isBehind: page.points.some((point) => point.isBehind),
    foundByOldTag: null,
  };
}
