/**
 * A browser before the real service with the built client: an organisation with machines in several states, people of several
 * roles, and pages of a phone or a laptop. Signs in through the screen, as people do.
 */
import { execFileSync } from 'node:child_process';
import { randomUUID } from 'node:crypto';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { type Browser, type BrowserContext, chromium, type Page } from 'playwright-core';
import { type Harness, type Person, REPOSITORY, readingFact, startService, TEST_NOW, TEST_PASSWORD } from '../support/harness.ts';

export const PHONE = { width: 360, height: 780 };
export const LAPTOP = { width: 1280, height: 900 };
const DAY = 86_400_000;
const NOW = Date.parse(TEST_NOW);

export interface World {
  readonly service: Harness;
  readonly browser: Browser;
  readonly people: {
    readonly technician: Person;
    readonly planner: Person;
    readonly contractor: Person;
    readonly reader: Person;
  };
  readonly ironer: { readonly id: string; readonly pointIds: string[] };
  readonly panel: { readonly id: string; readonly pointIds: string[] };
  readonly firePump: { readonly id: string; readonly pointIds: string[] };
  readonly blank: { readonly id: string; readonly pointIds: string[] };
  /** RT5: panel, fire pump, then the ironer in another room; nobody by name. RT1: the sump pumps, Maren's. */
  readonly routes: { readonly rt5: string; readonly rt1: string };
  readonly pumps: readonly { readonly id: string; readonly pointIds: string[] }[];
  /** The round of a route whose window holds the present moment. */
  roundOf(routeId: string): Promise<string>;
  /** A page of somebody who signed in through the screen. */
  enter(
    person: Person,
    view?: { viewport?: { width: number; height: number }; paper?: 'light' | 'dark'; touch?: boolean },
  ): Promise<Entered>;
  close(): Promise<void>;
}
export interface Entered {
  readonly context: BrowserContext;
  readonly page: Page;
  /** Errors of scripts and of the console so far. */
  readonly errors: string[];
}

export function openBrowser(): Promise<Browser> {
  return chromium.launch({
    executablePath: process.env.HEATROUND_CHROMIUM ?? '/usr/bin/chromium',
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  });
}

/** The service as it runs, with the built client. */
export function openService(): Promise<Harness> {
  const dist = join(REPOSITORY, 'apps/web/dist/index.html');
  if (!existsSync(dist))
    execFileSync(process.execPath, ['node_modules/vite/bin/vite.js', 'build', 'apps/web'], { cwd: REPOSITORY, stdio: 'ignore' });
  return startService({ listen: true, web: true, withWorker: true });
}

export async function openWorld(): Promise<World> {
  const service = await openService();
  const own = await service.organisation('Quarrymill Estates');
  const other = await service.organisation('Lowbarrow Baths');
  const planner = await service.person(own.id, ['planner'], { name: 'Jun Okafor' });
  const technician = await service.person(own.id, ['technician'], { name: 'Maren Falk' });
  const reader = await service.person(own.id, ['guest-reader'], { name: 'Ilse Brandt' });
  const contractor = await service.person(own.id, ['contractor'], { name: 'Davi Moraes' });
  await service.join(contractor, other.id, ['contractor']);

  const weeksBefore = (weeks: number): string => new Date(NOW - weeks * 7 * DAY).toISOString();
  const ironer = await service.asset(planner, own.roomId, {
    tag: 'B-IRO-01',
    name: 'Ironer main drive',
    criticalityReason: 'one of two ironers; linen for a day in store',
    hazards: ['hot-surface', 'rotating'],
    points: [
      {
        name: 'Gearbox bearing',
        spot: 'Bearing cap, 0.5 m away, square on',
        infrared: true,
        emissivity: 0.95,
        limits: [
          {
            watch: 75,
            plan: 85,
            soon: 92,
            now: 100,
            source: 'maker’s sheet',
            reason: 'Figures of the first grease.',
            validFrom: NOW - 70 * 7 * DAY,
          },
          {
            watch: 70,
            plan: 80,
            soon: 90,
            now: 100,
            source: 'common practice',
            reason: 'Above 70 °C grease lasts half as long for every 15 K more.',
            validFrom: NOW - 38 * 7 * DAY,
          },
        ],
      },
      {
        name: 'Gearbox',
        quantity: 'vibration-velocity',
        spot: 'Magnet on the cap, radial',
        limits: [
          { watch: 1.8, plan: 2.8, soon: 4.5, now: 7.1, source: 'ISO 20816-3', reason: 'Medium machine on a rigid base.' },
        ],
      },
      {
        name: 'Motor frame',
        quantity: 'above-base',
        base: { value: 41, state: 'confirmed' },
        spot: 'Frame, drive end',
        limits: [
          {
            criterion: 'above-base',
            watch: 10,
            plan: 15,
            soon: 25,
            now: 35,
            source: 'site practice',
            reason: 'Class F machine used at the temperatures of B.',
          },
        ],
      },
    ],
  });
  const panel = await service.asset(planner, own.roomId, {
    tag: 'E-LVP-02',
    name: 'Main switchboard B',
    hazards: ['live-panel'],
    points: [
      {
        name: 'Busbar joint',
        quantity: 'like-part-difference',
        parts: ['L1', 'L2', 'L3'],
        spot: 'Lower joints behind the window',
        limits: [
          {
            criterion: 'like-part-difference',
            watch: 3,
            plan: 8,
            soon: 15,
            now: 30,
            source: 'site practice',
            reason: 'Few like-load spares at night.',
          },
        ],
      },
    ],
  });
  const firePump = await service.asset(planner, own.roomId, {
    tag: 'E-FPS-02',
    name: 'Fire pump, diesel',
    lifeSafety: true,
    points: [
      { name: 'Gland', loadFamily: 'none', needs: [], infrared: false, limits: [{ watch: 50, plan: 60, soon: 75, now: 90 }] },
    ],
  });
  const laundry = randomUUID();
  await planner.call('createRoom', { params: { buildingId: own.buildingId }, body: { id: laundry, name: 'Ironing hall' } });
  await planner.call('changeAsset', { params: { assetId: ironer.id }, body: { version: 1, roomId: laundry } });
  const pumps = [];
  for (const number of [1, 2, 3]) {
    const points = [1, 2].map((index) => ({
      name: index === 1 ? 'Motor bearing' : 'Pump bearing',
      loadFamily: 'none' as const,
      needs: ['ambient' as const],
    }));
    pumps.push(await service.asset(planner, own.roomId, { tag: `B-PMP-0${number}`, name: `Sump pump ${number}`, points }));
  }
  const route = async (body: Record<string, unknown>): Promise<string> => {
    const made = await planner.call('createRoute', {
      body: {
        siteId: own.siteId,
        startLocal: '2026-03-05T08:00',
        window: { kind: 'days', daysBefore: 1, daysAfter: 1 },
        ...body,
      },
    });
    if (made.status !== 201) throw new Error(`no route: ${JSON.stringify(made.body)}`);
    return made.body.id;
  };
  const rt5 = await route({
    code: 'RT5',
    name: 'Water and heat',
    rule: 'FREQ=WEEKLY;BYDAY=TH',
    aboutMinutes: 55,
    beforeYouLeave: 'Keys: key 7, engine house\nTake: imager TI-1\nRunning: laundry until 13:00',
    pointIds: [...panel.pointIds, ...firePump.pointIds, ...ironer.pointIds],
  });
  const rt1 = await route({
    code: 'RT1',
    name: 'Sump pumps',
    rule: 'FREQ=WEEKLY;BYDAY=FR',
    startLocal: '2026-03-06T02:30',
    walkerId: technician.personId,
    pointIds: pumps.flatMap((pump) => pump.pointIds),
  });
  const blank = await service.asset(planner, own.roomId, { tag: 'W-PMP-09', name: 'Sump pump', points: [] });

  const [bearing, gearbox, frame] = ironer.pointIds as [string, string, string];
  const noise = (seed: number): number => (Math.sin(seed * 12.9898) * 43758.5453) % 1;
  const facts: unknown[] = [];
  for (let week = 60; week >= 1; week -= 2) {
    const takenAt = weeksBefore(week);
    const at = 60 - week;
    const load = week % 14 === 0 ? '31' : week % 10 === 0 ? '82' : '97';
    const conditions = { load: { text: load, unit: '%' }, ambient: { text: String(27 + (week % 4)), unit: '°C' } };
    const value = 58 + 2 * 2 ** ((at - 40) / 5.2) + noise(week) * 0.8;
    facts.push(readingFact(bearing, value.toFixed(1), { takenAt, conditions }));
    facts.push(
      readingFact(gearbox, (1.2 + 0.003 * at + noise(week + 7) * 0.1).toFixed(2), {
        takenAt,
        inputs: { value: { text: (1.2 + 0.003 * at + noise(week + 7) * 0.1).toFixed(2), unit: 'mm/s' } },
      }),
    );
    facts.push(readingFact(frame, (45 + noise(week + 3)).toFixed(1), { takenAt, conditions }));
  }
  const clock = { deviceAt: TEST_NOW, monotonicMs: 1, offsetMs: 0 };
  facts.push({
    kind: 'work-recorded',
    id: readingFact(bearing, '1').id,
    takenAt: weeksBefore(48),
    clock,
    assetId: ironer.id,
    work: 'adjusted',
    words: 'oil changed',
  });
  const handed = await technician.submit(facts);
  const refused = handed.body.results.filter((result: { outcome: string }) => result.outcome !== 'created');
  if (refused.length > 0) throw new Error(`the world could not be made: ${JSON.stringify(refused[0])}`);
  await service.concludeAll();

  const browser = await openBrowser();
  return {
    service,
    browser,
    people: { technician, planner, contractor, reader },
    ironer,
    panel,
    firePump,
    blank,
    routes: { rt5, rt1 },
    pumps,
    async roundOf(routeId) {
      const { rounds } = (await planner.call('listDue', { query: { days: '14' } })).body;
      return rounds.find((one: { routeId: string; state: string }) => one.routeId === routeId && one.state !== 'coming').id;
    },
    async enter(person, { viewport = PHONE, paper = 'light', touch = viewport.width < 700 } = {}) {
      const context = await browser.newContext({
        baseURL: service.url,
        viewport,
        colorScheme: paper,
        hasTouch: touch,
        isMobile: touch,
        locale: 'en-GB',
        timezoneId: 'Europe/Dublin',
      });
      const page = await context.newPage();
      const errors: string[] = [];
      page.on('pageerror', (error) => errors.push(String(error)));
      // What the policy of the pages forbids is told on the console alone.
      page.on('console', (message) => /Content.Security.Policy/i.test(message.text()) && errors.push(message.text()));
      await page.goto('/');
      await page.getByLabel('E-mail').fill(person.email);
      await page.getByLabel('Password').fill(TEST_PASSWORD);
      await page.getByRole('button', { name: 'Sign in' }).click();
      await page.getByRole('navigation').first().waitFor({ state: 'attached' });
      await page.locator('h1').first().waitFor();
      return { context, page, errors };
    },
    async close() {
      await browser.close();
      await service.close();
    },
  };
}
