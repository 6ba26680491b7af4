import type { Site, WindowView } from '@heatround/contract';
import { parseLocal, placeLocal } from '@heatround/domain';
import { useEffect, useState } from 'preact/hooks';
import { call, sayTrouble } from '../../client/index.ts';
import { useSession } from '../../shell/session.tsx';
import { useOpening } from '../../shell/title.ts';
import { Field, Told } from '../../ui/field.tsx';
import { fullDate, sayCount } from '../../ui/format.ts';
import { sayWindow } from '../due/words.ts';
import './rounds.css';

/** Shutdown windows: when work can be done that needs a machine to stand still. */
export function WindowsScreen() {
  const { outbox, may } = useSession();
  const [windows, setWindows] = useState<readonly WindowView[] | null>(null);
  const [sites, setSites] = useState<readonly Site[]>([]);
  const [trouble, setTrouble] = useState<unknown>(null);
  const [told, setTold] = useState<string | null>(null);
  const [asks, setAsks] = useState<string | null>(null);
  const load = async (): Promise<void> => setWindows((await call('listWindows', {})).windows);
  useEffect(() => {
    let isHere = true;
    Promise.all([call('listWindows', {}), call('listSites', {})]).then(
      ([answer, where]) => {
        if (!isHere) return;
        setWindows(answer.windows);
        setSites(where.sites);
      },
      (failed) => isHere && setTrouble(failed),
    );
    return () => {
      isHere = false;
    };
  }, []);
  const heading = useOpening('Shutdown windows');
  const now = outbox.now();
  const zoneOf = (siteId: string): string => sites.find((site) => site.id === siteId)?.zone ?? 'UTC';
  const cancel = async (one: WindowView): Promise<void> => {
    try {
      const { slottedOrders } = await call('changeWindow', {
        params: { windowId: one.id },
        body: { version: one.version, cancel: true },
      });
      setTold(
        slottedOrders.length === 0
          ? `${one.name} is cancelled. No order was slotted into it.`
          : `${one.name} is cancelled. ${sayCount(slottedOrders.length, 'order')} slotted into it need another slot: ${slottedOrders.join(', ')}.`,
      );
      await load();
      setTrouble(null);
    } catch (failed) {
      setTrouble(failed);
    }
    setAsks(null);
  };
  const open = windows?.filter((one) => one.cancelledAt === null) ?? [];
  return (
    <>
      <h1 class="say open" tabIndex={-1} ref={heading}>
        {windows === null
          ? 'Shutdown windows'
          : open[0] === undefined
            ? 'No shutdown window is known. Work that needs one cannot be slotted.'
            : `${sayCount(open.length, 'shutdown window')} ahead, the next on ${fullDate(open[0].fromAt, zoneOf(open[0].siteId), now)}.`}
      </h1>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      {told !== null && (
        <p class="told" role="status">
          {told}
        </p>
      )}
      <ul class="windows">
        {windows?.map((one) => (
          <li key={one.id}>
            <div>
              <b>{one.name}</b>
              <p class="small soft">{one.place}</p>
            </div>
            <div>
              {sayWindow(one.fromAt, one.toAt, zoneOf(one.siteId), now)}
              {one.cancelledAt !== null && <p class="small">cancelled</p>}
            </div>
            {may('edit-register') && one.cancelledAt === null && (
              <div class="stopkeys">
                {asks === one.id ? (
                  <>
                    <button type="button" class="key" onClick={() => void cancel(one)}>
                      Yes, cancel {one.name}
                    </button>
                    <button type="button" class="key" onClick={() => setAsks(null)}>
                      Leave it
                    </button>
                  </>
                ) : (
                  <button type="button" class="key" aria-label={`Cancel ${one.name}`} onClick={() => setAsks(one.id)}>
                    Cancel it
                  </button>
                )}
              </div>
            )}
          </li>
        ))}
      </ul>
      {may('edit-register') && sites.length > 0 && <NewWindow sites={sites} onDone={load} />}
    </>
  );
}

function NewWindow({ sites, onDone }: { sites: readonly Site[]; onDone: () => Promise<void> }) {
  const [siteId, setSiteId] = useState(sites[0]!.id);
  const [buildingId, setBuildingId] = useState('');
  const [name, setName] = useState('');
  const [from, setFrom] = useState('');
  const [to, setTo] = useState('');
  const [wrong, setWrong] = useState<Readonly<Record<string, string>>>({});
  const [trouble, setTrouble] = useState<unknown>(null);
  const site = sites.find((one) => one.id === siteId) ?? sites[0]!;
  const at = (text: string): number | null => {
    const clock = parseLocal(text);
    return clock === null ? null : placeLocal(clock, site.zone).at;
  };
  const save = async (): Promise<void> => {
    const found: Record<string, string> = {};
    const [begin, end] = [at(from), at(to)];
    if (name.trim() === '') found.name = 'A name people know it by, such as Laundry shutdown.';
    if (begin === null) found.from = 'A day and a time, such as 2 May 2026, 06:00.';
    if (end === null) found.to = 'A day and a time, such as 2 May 2026, 12:00.';
    if (begin !== null && end !== null && end <= begin) found.to = 'The end comes after the beginning.';
    setWrong(found);
    if (Object.keys(found).length > 0 || begin === null || end === null) {
      setTimeout(() => (document.querySelector('[aria-invalid="true"]') as HTMLElement | null)?.focus());
      return;
    }
    try {
      await call('createWindow', {
        body: {
          siteId,
          name: name.trim(),
          buildingId: buildingId === '' ? null : buildingId,
          fromAt: new Date(begin).toISOString(),
          toAt: new Date(end).toISOString(),
        },
      });
      setName('');
      setFrom('');
      setTo('');
      setTrouble(null);
      await onDone();
    } catch (failed) {
      setTrouble(failed);
    }
  };
  return (
    <section class="sec">
      <h2>A new shutdown window</h2>
      {trouble !== null && <Told>{sayTrouble(trouble)}</Told>}
      <Field label="Name" wrong={wrong.name}>
        {(aria) => (
          <input
            {...aria}
            class="entry"
            type="text"
            maxLength={200}
            value={name}
            onInput={(event) => setName(event.currentTarget.value)}
          />
        )}
      </Field>
      <div class="row2 formwide">
        <Field label="From" hint={`Time at ${site.name}`} wrong={wrong.from}>
          {(aria) => (
            <input
              {...aria}
              class="entry"
              type="datetime-local"
              value={from}
              onInput={(event) => setFrom(event.currentTarget.value)}
            />
          )}
        </Field>
        <Field label="To" wrong={wrong.to}>
          {(aria) => (
            <input
              {...aria}
              class="entry"
              type="datetime-local"
              value={to}
              onInput={(event) => setTo(event.currentTarget.value)}
            />
          )}
        </Field>
        {sites.length > 1 && (
          <Field label="Site">
            {(aria) => (
              <select
                {...aria}
                class="entry"
                value={siteId}
                onChange={(event) => {
                  setSiteId(event.currentTarget.value);
                  setBuildingId('');
                }}
              >
                {sites.map((one) => (
                  <option key={one.id} value={one.id}>
                    {one.name}
                  </option>
                ))}
              </select>
            )}
          </Field>
        )}
        <Field label="Where">
          {(aria) => (
            <select {...aria} class="entry" value={buildingId} onChange={(event) => setBuildingId(event.currentTarget.value)}>
              <option value="">the whole of {site.name}</option>
              {site.buildings.map((building) => (
                <option key={building.id} value={building.id}>
                  {building.name}
                </option>
              ))}
            </select>
          )}
        </Field>
      </div>
      <div class="keyrow">
        <button type="button" class="key main" onClick={() => void save()}>
          Save this window
        </button>
      </div>
    </section>
  );
}
