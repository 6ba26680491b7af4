import type { EXPORT_TABLES } from '@heatround/contract';
import { useState } from 'preact/hooks';
import { sayTrouble, takeFile } from '../../client/index.ts';
import { useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { Told } from '../../ui/field.tsx';
import './take-out.css';

type Table = (typeof EXPORT_TABLES)[number];

const WORDS: Readonly<Record<Table, readonly [name: string, what: string]>> = {
  places: ['Places', 'sites, buildings, rooms'],
  assets: ['Assets', 'tag, name, place, criticality with its reason, older tags'],
  points: ['Points', 'what is read where, emissivity, reference load, base'],
  limits: ['Limits', 'every version with source, reason, author and first day'],
  readings: ['Readings', 'as entered and as judged, with load, air and emissivity'],
  answers: ['Answers and work', 'could not read it, work recorded, rounds taken and handed in'],
  forecasts: ['Forecasts', 'every date that was ever given, with its method'],
  routes: ['Routes', 'rule, window, who walks'],
  stops: ['Stops', 'the points of each route in walking order'],
  rounds: ['Rounds', 'planned, taken, handed in, what was read'],
  windows: ['Shutdown windows', 'from, to, which place'],
  findings: ['Findings', 'what was found, by whom, how it ended'],
  orders: ['Orders', 'every repair with its due date and its evidence'],
  moves: ['Moves', 'who moved a finding or an order, when and why'],
  people: ['People', 'names, roles, sites, end dates'],
};

/** Everything the organisation has, table by table, to be saved as a file. */
export function TakeOutScreen() {
  const { may, membership } = useSession();
  const [busy, setBusy] = useState<string | null>(null);
  const [told, setTold] = useState<{ readonly trouble: unknown } | { readonly saved: string } | null>(null);
  const heading = useOpening('Take out');
  const tables = (Object.keys(WORDS) as Table[]).filter((table) => table !== 'people' || may('administer'));
  const take = async (table: Table, format: 'csv' | 'xlsx'): Promise<void> => {
    if (busy !== null) return;
    setBusy(`${table}.${format}`);
    setTold(null);
    try {
      const { fileName, content } = await takeFile('exportTable', { params: { table }, query: { format } });
      const address = URL.createObjectURL(content);
      Object.assign(document.createElement('a'), { href: address, download: fileName }).click();
      setTimeout(() => URL.revokeObjectURL(address), 10_000);
      setTold({ saved: fileName });
    } catch (trouble) {
      setTold({ trouble });
    }
    setBusy(null);
  };
  return (
    <div class="takeout">
      <h1 class="say open" tabIndex={-1} ref={heading}>
        What {membership.organisationName} has is yours to take out, as {tables.length} tables.
      </h1>
      <p class="soft first">
        Times are in UTC. Assets, readings and limits have the column names that Bring in knows. A text that a spreadsheet would
        compute has an apostrophe before it.
      </p>
      <div aria-live="polite">
        {told !== null &&
          ('saved' in told ? <p>{told.saved} was handed to your browser.</p> : <Told>{sayTrouble(told.trouble)}</Told>)}
      </div>
      <ul>
        {tables.map((table) => {
          const [name, what] = WORDS[table];
          return (
            <li key={table} class="handrow">
              <span>
                <b>{name}</b> <span class="soft">{what}</span>
              </span>
              <span class="formats">
                {(['csv', 'xlsx'] as const).map((format) => (
                  <button
                    key={format}
                    type="button"
                    class="key"
                    aria-label={`${name} as ${format === 'csv' ? 'CSV' : 'a workbook'}`}
                    disabled={busy !== null}
                    onClick={() => void take(table, format)}
                  >
                    {busy === `${table}.${format}` ? 'Taking …' : format === 'csv' ? 'CSV' : 'Workbook'}
                  </button>
                ))}
              </span>
            </li>
          );
        })}
      </ul>
    </div>
  );
}
