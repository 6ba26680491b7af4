import type { AssetPage, FindingLine, OrderLine, PointPage, WindowView } from '@heatround/contract';
import { type LastWindow, lastSensibleWindow, type TimetableRow, uuidV7 } from '@heatround/domain';
import { useCallback, useEffect, useState } from 'preact/hooks';
import { call } from '../../client/index.ts';
import type { ChartEvent } from '../../ui/chart/model.ts';
import { fullDate, plainDate, tableRange } from '../../ui/format.ts';
import { saySituation } from '../../ui/planning/situation.ts';
import { concerns, type SlotView, sayTooLate, slotsOf } from '../../ui/planning/view.ts';
import { FINDING_STATE_WORDS, limitWord, ORDER_STATE_WORDS } from '../../ui/planning/words.ts';

/** Findings and orders of one point, and the shutdown windows that concern its asset. */
export interface Repairs {
  readonly findings: readonly FindingLine[];
  readonly open: readonly OrderLine[];
  readonly ended: readonly OrderLine[];
  readonly windows: readonly WindowView[];
}
/** Points of an asset whose state is fetched beside the large one. */
const MOST_OTHERS = 5;

/** Without signal, or where somebody may not see them, the page stands without its repairs. */
export function useRepairs(page: AssetPage | null, main: PointPage | null) {
  const [found, setFound] = useState<Readonly<Record<string, Repairs>>>({});
  const mainId = main?.point.id ?? null;
  const ids = page === null ? [] : page.points.map((one) => one.point.id).slice(0, MOST_OTHERS + 1);
  const all = mainId === null || ids.includes(mainId) ? ids : [mainId, ...ids];
  const key = all.join();
  const siteId = page?.place.siteId ?? null;
  const look = useCallback(async (): Promise<void> => {
    if (siteId === null || mainId === null) return;
    const { windows } = await call('listWindows', { query: { siteId } });
    const each = await Promise.all(
      all.map(async (pointId): Promise<[string, Repairs]> => {
        const [findings, open, ended] = await Promise.all([
          call('listFindings', { query: { which: 'all', pointId, pageSize: 50 } }),
          call('listOrders', { query: { which: 'open', pointId, pageSize: 10 } }),
          pointId === mainId ? call('listOrders', { query: { which: 'ended', pointId, pageSize: 50 } }) : null,
        ]);
        return [pointId, { findings: findings.findings, open: open.orders, ended: ended?.orders ?? [], windows }];
      }),
    );
    setFound(Object.fromEntries(each));
  }, [siteId, mainId, key]);
  useEffect(() => void look().catch(() => undefined), [look, page]);
  return { repairs: found, lookAtRepairs: look };
}

/** The last sensible window of a point, from its own forecast. */
export function lastWindowOf(page: AssetPage, at: PointPage, windows: readonly WindowView[], now: number): LastWindow {
  return lastSensibleWindow({
    windows: windows
      .filter((window) => concerns(window, { assetId: page.id, place: page.place }))
      .map(({ id, fromAt, toAt, name }) => ({ id, from: Date.parse(fromAt), to: Date.parse(toAt), words: name })),
    projections: at.conclusion?.projections ?? [],
    jobMs: 0,
    now,
    zone: page.place.zone,
  });
}

export interface PointSlots {
  readonly lastWindow: LastWindow;
  readonly slots: readonly SlotView[];
}
export function pointSlots(page: AssetPage, at: PointPage, windows: readonly WindowView[], now: number): PointSlots {
  const lastWindow = lastWindowOf(page, at, windows, now);
  return {
    lastWindow,
    slots: slotsOf(
      { assetId: page.id, place: page.place, conclusion: at.conclusion, lastWindow, unit: at.point.unit },
      windows,
      now,
    ),
  };
}

export interface PlannedRow extends TimetableRow {
  readonly kind: 'forecast' | 'last' | 'late' | 'fits';
}

/** The timetable with the windows among the dates of the forecast. */
export function withWindows(
  rows: readonly TimetableRow[],
  slots: readonly SlotView[],
  until: number,
  zone: string,
  now: number,
): PlannedRow[] {
  // The first that comes too late is always said.
  const firstLate = slots.find(({ kind }) => kind === 'late');
  const planned = slots
    .filter(
      (slot) =>
        slot.kind === 'last' || slot.kind === 'fits' || slot === firstLate || (slot.kind === 'late' && slot.from <= until),
    )
    .map((slot): PlannedRow => {
      const isDay = slot.to - slot.from < 26 * 3_600_000;
      const date = isDay ? fullDate(slot.from, zone, now) : tableRange(slot.from, slot.to, zone, now);
      const detail =
        slot.kind === 'last' ? 'last window that fits' : slot.kind === 'late' ? sayTooLate(slot, zone) : 'fits as well';
      return {
        at: slot.from,
        date,
        title: slot.name,
        detail,
        kind: slot.kind === 'late' ? 'late' : slot.kind === 'last' ? 'last' : 'fits',
      };
    });
  return [...rows.map((row): PlannedRow => ({ ...row, kind: 'forecast' })), ...planned].sort((a, b) => a.at - b.at);
}

/** The second half of the opening sentence; empty where no window is known to be the last one. */
export function sayWindow({ lastWindow }: PointSlots, counts: string | null, zone: string, now: number): string {
  const { window, before, earliestAt } = lastWindow;
  if (before === null || earliestAt === null || earliestAt <= now) return '';
  if (window === null) return `No window lies before ${plainDate(earliestAt, zone, now)}.`;
  const day = fullDate(window.from, zone, now);
  return before === counts
    ? `${day} is the last window before that.`
    : `No window lies before that; ${day} is the last one before ${limitWord(before)}.`;
}

/** Findings and ends of orders as ticks on the axis. */
export function repairEvents(repairs: Repairs | undefined): ChartEvent[] {
  if (repairs === undefined) return [];
  return [
    ...repairs.findings.map((line) => ({ at: Date.parse(line.reportedAt), words: `finding ${line.number}` })),
    ...repairs.ended.flatMap((line) =>
      line.endedAt === null
        ? []
        : [{ at: Date.parse(line.endedAt), words: `order ${line.number} ${ORDER_STATE_WORDS[line.state].toLowerCase()}` }],
    ),
  ];
}

export interface OpenThing {
  readonly href: string;
  readonly link: string;
  readonly words: string;
}
/** What is open on a point: its orders, and findings that have none. */
export function openThings(repairs: Repairs | undefined, now: number): OpenThing[] {
  if (repairs === undefined) return [];
  const orders = repairs.open.map((line) => ({
    href: `/orders/${line.id}`,
    link: `Order ${line.number}`,
    words: `${ORDER_STATE_WORDS[line.state]}. ${saySituation(line, now)}`,
  }));
  const findings = repairs.findings
    .filter(({ finding, state, orderNumber }) => finding.ended === null && orderNumber === null && state !== 'same-as')
    .map((line) => ({
      href: '/answers',
      link: `Finding ${line.number}`,
      words: line.state === 'reported' ? 'Waits for an answer.' : `${FINDING_STATE_WORDS[line.state]}.`,
    }));
  return [...orders, ...findings];
}

/** What "Ask for that window" would move: a finding that may be agreed to, or an order that may be slotted. */
export type Askable = { readonly finding: FindingLine } | { readonly order: OrderLine };
export function askable(repairs: Repairs | undefined): Askable | null {
  const order = repairs?.open.find((line) => line.state === 'agreed' && line.allowed.includes('slot'));
  if (order !== undefined) return { order };
  const finding = repairs?.findings.find((line) => line.state === 'reported' && line.allowed.includes('agree'));
  return finding === undefined ? null : { finding };
}

/** Agrees where that is still owed, then takes the window. @returns what happened, in words. */
export async function askFor(what: Askable, windowId: string, day: string): Promise<string> {
  if ('order' in what) {
    await call('moveOrder', {
      params: { orderId: what.order.id },
      body: { version: what.order.order.version, move: { kind: 'slot', windowId } },
    });
    return `Order ${what.order.number} is slotted for ${day}.`;
  }
  const made = await call('answerFinding', {
    params: { findingId: what.finding.id },
    body: {
      version: what.finding.finding.version,
      answer: { kind: 'agree', orderId: uuidV7(Date.now(), crypto.getRandomValues(new Uint8Array(10))), ownerId: null },
    },
  });
  if (made.orderId !== null)
    await call('moveOrder', { params: { orderId: made.orderId }, body: { move: { kind: 'slot', windowId } } });
  return `Agreed as order ${made.orderNumber ?? ''}, slotted for ${day}.`.replace('  ', ' ');
}
