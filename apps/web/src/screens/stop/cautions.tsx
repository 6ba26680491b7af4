import type { AssetPage } from '@heatround/contract';
import { cautionsFor } from '@heatround/domain';
import { useOpening } from '../../shell/title.ts';
import { Tag } from '../../ui/marks.tsx';

/** A visit is this long: after it the cautions of an asset are shown again. */
const VISIT_MS = 8 * 3_600_000;
const keyOf = (assetId: string): string => `heatround-seen:${assetId}`;

export function mustSeeCautions(page: AssetPage): boolean {
  if (cautionsFor(page.hazards).length === 0) return false;
  const seen = Number(sessionStorage.getItem(keyOf(page.id)) ?? 0);
  return Date.now() - seen > VISIT_MS;
}

/** The asset's own cautions, once a visit, before the first reading. */
export function Cautions({ page, letter, onSeen }: { page: AssetPage; letter: string; onSeen: () => void }) {
  const heading = useOpening(`${page.tag} ${letter}, before you read`, `${page.id} cautions`);
  return (
    <>
      <div class="pad idb plain">
        <Tag tag={page.tag} letter={letter} />
        <h1 tabIndex={-1} ref={heading}>
          Before you read {page.name}
        </h1>
      </div>
      <ul class="pad cautions">
        {cautionsFor(page.hazards).map((caution) => (
          <li key={caution.hazard}>
            <b>{caution.title}.</b> {caution.text}
          </li>
        ))}
      </ul>
      <div class="grow" />
      <div class="foot">
        <div class="pad keys">
          <button
            type="button"
            class="key main round"
            onClick={() => {
              sessionStorage.setItem(keyOf(page.id), String(Date.now()));
              onSeen();
            }}
          >
            Seen, go on
          </button>
        </div>
      </div>
    </>
  );
}
