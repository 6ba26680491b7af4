import { useEffect, useState } from 'preact/hooks';
import { call } from '../client/index.ts';
import { clockTime, fullDate, thisZone, yearOf } from '../ui/format.ts';
import { useSession } from './session.tsx';

const KEY = 'heatround-zone:';
const asked = new Map<string, Promise<string | null>>();

/** Zone of the organisation's first site, asked once and kept for a start without signal; the device's until it is known. */
export function useSiteZone(): string {
  const { organisationId } = useSession().membership;
  const [zone, setZone] = useState(() => localStorage.getItem(KEY + organisationId));
  useEffect(() => {
    let isHere = true;
    let asking = asked.get(organisationId);
    if (asking === undefined) {
      asking = call('listSites', {}, { organisationId }).then(
        ({ sites }) => sites[0]?.zone ?? null,
        () => {
          asked.delete(organisationId);
          return null;
        },
      );
      asked.set(organisationId, asking);
    }
    void asking.then((found) => {
      if (found === null) return;
      localStorage.setItem(KEY + organisationId, found);
      if (isHere) setZone(found);
    });
    return () => {
      isHere = false;
    };
  }, [organisationId]);
  return zone ?? thisZone();
}

const TICK_MS = 10_000;
/** In the demo the clock is the demo's: said plainly, by the clock of the site. */
export function DemoClock() {
  const { membership, outbox } = useSession();
  const zone = useSiteZone();
  const [, tick] = useState(0);
  useEffect(() => {
    if (!membership.isDemo) return;
    const timer = setInterval(() => tick((count) => count + 1), TICK_MS);
    return () => clearInterval(timer);
  }, [membership.isDemo]);
  if (!membership.isDemo) return null;
  const now = outbox.now();
  return (
    <span class="democlock">
      demo, {fullDate(now, zone)}
      <span class="year"> {yearOf(now, zone)}</span>, {clockTime(now, zone)}
    </span>
  );
}
