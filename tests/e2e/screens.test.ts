import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { faultsAt, shoot } from './faults.ts';
import { LAPTOP, openWorld, PHONE, type World } from './world.ts';

let world: World;
let rounds: { rt5: string; rt1: string };
beforeAll(async () => {
  world = await openWorld();
  rounds = { rt5: await world.roundOf(world.routes.rt5), rt1: await world.roundOf(world.routes.rt1) };
}, 120_000);
afterAll(() => world?.close());

interface Visit {
  readonly name: string;
  readonly who: 'technician' | 'planner' | 'contractor';
  readonly path: () => string;
  readonly act?: (page: Page) => Promise<void>;
}
const seen = async (page: Page): Promise<void> => {
  const key = page.getByRole('button', { name: 'Seen, go on' });
  await Promise.race([key.waitFor(), page.getByRole('button', { name: /Could not read it/ }).waitFor()]);
  if (await key.isVisible()) await key.click();
};
/** Digits typed at a stop are kept over visits, so a visit that needs an empty stop forgets them. */
const forget = (page: Page): Promise<void> =>
  page.evaluate(async () => {
    for (const { name } of await indexedDB.databases()) {
      if (!name?.startsWith('heatround:')) continue;
      await new Promise<void>((done) => {
        const opening = indexedDB.open(name);
        opening.onsuccess = () => {
          const clearing = opening.result.transaction('drafts', 'readwrite');
          clearing.objectStore('drafts').clear();
          clearing.oncomplete = () => {
            opening.result.close();
            done();
          };
        };
      });
    }
  });
/** Walks lie on the device once My walk was open. */
const pack = async (page: Page, who: Visit['who']): Promise<void> => {
  if (who !== 'technician') return;
  await page.goto('/walk');
  await page.getByText(/^Everything for this walk is on the (phone|computer)/).waitFor({ timeout: 15_000 });
};
const read = async (page: Page, ...texts: string[]): Promise<void> => {
  await seen(page);
  for (const [index, text] of texts.entries()) {
    await page.keyboard.type(text);
    if (index < texts.length) await page.locator('.entrykeys .main').click();
  }
};
const VISITS: readonly Visit[] = [
  { name: 'register', who: 'planner', path: () => '/register' },
  { name: 'register-client', who: 'contractor', path: () => '/register' },
  {
    name: 'my-walk',
    who: 'technician',
    path: () => '/walk',
    act: (page) =>
      page
        .getByRole('button', { name: /^(Take|Go on)/ })
        .first()
        .waitFor(),
  },
  { name: 'my-walk-client', who: 'contractor', path: () => '/walk' },
  { name: 'stops', who: 'technician', path: () => `/walk/${rounds.rt5}` },
  {
    name: 'walk-entry',
    who: 'technician',
    path: () => `/stop/${world.panel.id}/${world.panel.pointIds[0]}?walk=${rounds.rt5}`,
    act: seen,
  },
  {
    name: 'walk-plan',
    who: 'technician',
    path: () => `/stop/${world.ironer.id}/${world.ironer.pointIds[0]}?walk=${rounds.rt5}`,
    act: (page) => read(page, '87', '96', '31'),
  },
  {
    name: 'walk-put-right',
    who: 'technician',
    path: () => `/stop/${world.ironer.id}/${world.ironer.pointIds[0]}?walk=${rounds.rt5}`,
    act: async (page) => {
      await read(page, '87', '96', '31');
      await page.getByRole('button', { name: 'Put right on the spot' }).click();
      await page.getByRole('button', { name: 'Kept, now read again' }).click();
    },
  },
  {
    name: 'walk-saw',
    who: 'technician',
    path: () => `/stop/${world.ironer.id}/${world.ironer.pointIds[1]}?walk=${rounds.rt5}`,
    act: async (page) => {
      await seen(page);
      await page.getByRole('button', { name: 'Could not read it' }).click();
      await page.getByRole('button', { name: 'Saw something else' }).click();
      await page.getByRole('button', { name: 'Report it' }).click();
    },
  },
  {
    name: 'walk-could-not',
    who: 'technician',
    path: () => `/stop/${world.pumps[0]!.id}/${world.pumps[0]!.pointIds[0]}?walk=${rounds.rt1}`,
    act: (page) => page.getByRole('button', { name: 'Could not read it' }).click(),
  },
  { name: 'hand-in-round', who: 'technician', path: () => `/hand-in/${rounds.rt5}` },
  {
    name: 'hand-in-asks',
    who: 'technician',
    path: () => `/hand-in/${rounds.rt5}`,
    act: async (page) => {
      await page.getByRole('button', { name: 'Give the rest to somebody' }).click();
      await page.getByRole('button', { name: 'Hand in', exact: true }).click();
      await page.getByRole('heading', { name: /open stops\?/ }).waitFor();
    },
  },
  { name: 'due', who: 'technician', path: () => '/due' },
  { name: 'due-all', who: 'planner', path: () => '/due?whose=all' },
  {
    name: 'round',
    who: 'planner',
    path: () => `/round/${rounds.rt5}`,
    act: async (page) => {
      await page.getByRole('button', { name: 'Call this round off' }).click();
      await page.getByRole('button', { name: 'Call it off' }).click();
    },
  },
  { name: 'rounds', who: 'planner', path: () => '/rounds', act: (page) => page.getByRole('link', { name: /RT5/ }).waitFor() },
  {
    name: 'route',
    who: 'planner',
    path: () => `/routes/${world.routes.rt5}`,
    act: (page) => page.locator('.nextfive li').first().waitFor(),
  },
  {
    name: 'route-new',
    who: 'planner',
    path: () => '/routes/new',
    act: async (page) => {
      await page.getByLabel('How often').selectOption('month-day');
      await page.locator('.nextfive li').first().waitFor();
      await page.getByRole('button', { name: 'Save this route' }).click();
    },
  },
  {
    name: 'windows',
    who: 'planner',
    path: () => '/windows',
    act: (page) => page.getByRole('button', { name: 'Save this window' }).click(),
  },
  { name: 'rights', who: 'planner', path: () => '/rights' },
  { name: 'new-asset', who: 'planner', path: () => '/new-asset' },
  { name: 'asset', who: 'planner', path: () => `/assets/${world.ironer.id}` },
  {
    name: 'asset-limits',
    who: 'planner',
    path: () => `/assets/${world.ironer.id}`,
    act: async (page) => {
      await page.getByRole('button', { name: 'Change limits of point a' }).click();
      await page.getByRole('heading', { name: /New limits/ }).waitFor();
      await page.getByRole('button', { name: 'Try on the history' }).click();
      await page.locator('.trial').waitFor();
    },
  },
  {
    name: 'asset-change-point',
    who: 'planner',
    path: () => `/assets/${world.ironer.id}`,
    act: async (page) => {
      await page.getByRole('button', { name: 'Change point a' }).click();
      await page.getByLabel('Or by its surface').waitFor();
    },
  },
  {
    name: 'asset-diary',
    who: 'planner',
    path: () => `/assets/${world.ironer.id}`,
    act: async (page) => {
      await page.getByText('Forecasts of point a as they were given').click();
      await page.getByText('No forecast of this organisation has run out yet.').waitFor();
    },
  },
  { name: 'asset-blank', who: 'planner', path: () => `/assets/${world.blank.id}` },
  { name: 'stop-cautions', who: 'technician', path: () => `/stop/${world.ironer.id}/${world.ironer.pointIds[0]}` },
  {
    name: 'stop-entry',
    who: 'technician',
    path: () => `/stop/${world.ironer.id}/${world.ironer.pointIds[0]}`,
    act: async (page) => {
      await seen(page);
      await page.keyboard.type('87');
    },
  },
  {
    name: 'stop-plan',
    who: 'technician',
    path: () => `/stop/${world.ironer.id}/${world.ironer.pointIds[0]}`,
    act: (page) => read(page, '87', '96', '31'),
  },
  {
    name: 'stop-question',
    who: 'technician',
    path: () => `/stop/${world.ironer.id}/${world.ironer.pointIds[0]}`,
    act: (page) => read(page, '870', '96', '31'),
  },
  {
    name: 'stop-not-judged',
    who: 'technician',
    path: () => `/stop/${world.ironer.id}/${world.ironer.pointIds[0]}`,
    act: (page) => read(page, '61', '20', '31'),
  },
  {
    name: 'stop-parts',
    who: 'technician',
    path: () => `/stop/${world.panel.id}/${world.panel.pointIds[0]}`,
    act: (page) => read(page, '41', '52,5'),
  },
  {
    name: 'stop-now',
    who: 'technician',
    path: () => `/stop/${world.firePump.id}/${world.firePump.pointIds[0]}`,
    act: (page) => read(page, '78'),
  },
  {
    name: 'stop-could-not',
    who: 'technician',
    path: () => `/stop/${world.ironer.id}/${world.ironer.pointIds[1]}`,
    act: async (page) => {
      await seen(page);
      await page.getByRole('button', { name: 'Could not read it' }).click();
    },
  },
  { name: 'hand-in', who: 'technician', path: () => '/hand-in' },
  { name: 'bring-in', who: 'planner', path: () => '/bring-in' },
  {
    name: 'import',
    who: 'planner',
    path: () => '/bring-in',
    act: async (page) => {
      await page
        .getByLabel('Or paste rows here')
        .fill('tag,letter,takenAt,value,unit\nB-IRO-01,a,2026-01-02 08:00,61,°C\nB-IRO-01,a,2026-01-09 08:00,hot,°C');
      await page.getByRole('button', { name: 'Read the file' }).click();
      await page.getByRole('heading', { name: /Say what each column means/ }).waitFor();
    },
  },
  {
    name: 'import-checked',
    who: 'planner',
    path: () => '/bring-in',
    act: async (page) => {
      await page
        .getByRole('link', { name: /pasted readings/ })
        .first()
        .click();
      await page.getByRole('button', { name: /Try all/ }).click();
      await page.getByRole('heading', { name: /can be brought in/ }).waitFor({ timeout: 20_000 });
    },
  },
];

for (const [size, viewport] of [
  ['phone', PHONE],
  ['laptop', LAPTOP],
] as const) {
  test(`every screen is free of accessibility findings and of sideways scroll (${size})`, { timeout: 300_000 }, async () => {
    const problems: string[] = [];
    for (const who of ['planner', 'technician', 'contractor'] as const) {
      const { page, context, errors } = await world.enter(world.people[who], { viewport });
      await pack(page, who);
      for (const visit of VISITS.filter((one) => one.who === who)) {
        await forget(page);
        await page.goto(visit.path());
        await page.locator('h1').first().waitFor();
        await visit.act?.(page);
        await page.waitForTimeout(250);
        await shoot(page, `${visit.name}-${size}`, !visit.name.startsWith('stop'));
        problems.push(...(await faultsAt(page, visit.name, viewport)));
      }
      problems.push(...errors);
      await context.close();
    }
    expect(problems).toEqual([]);
  });
}
