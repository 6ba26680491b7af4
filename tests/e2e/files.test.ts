/** Files in and out, as somebody with a spreadsheet: a workbook with a title, merged cells and two sheets; tables taken out. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { parse } from 'csv-parse/sync';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import writeWorkbook from 'write-excel-file/node';
import { LAPTOP, openWorld, PHONE, type World } from './world.ts';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const SHOTS = process.env.HEATROUND_SHOTS;

let world: World;
beforeAll(async () => {
  world = await openWorld();
}, 120_000);
afterAll(() => world?.close());

/** Findings of axe and sideways scroll, at a phone's width and at a laptop's. */
async function faults(page: Page, name: string): Promise<string[]> {
  const found: string[] = [];
  await page.evaluate(axe);
  for (const width of [PHONE.width, LAPTOP.width]) {
    await page.setViewportSize({ width, height: 900 });
    await page.waitForTimeout(200);
    if (SHOTS) await page.screenshot({ path: join(SHOTS, `files-${name}-${width}.png`), fullPage: true });
    // What sticks to an edge covers something at any moment; people scroll, so all of it is looked at.
    const height = await page.evaluate(() => document.documentElement.scrollHeight);
    await page.setViewportSize({ width, height: height + 80 });
    const violations = await page.evaluate(async () => {
      const { axe: run } = window as unknown as {
        axe: { run(on: Document, options: unknown): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> };
      };
      const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
      const { violations: all } = await run.run(document, { runOnly: tags });
      return all.flatMap(({ id, nodes }) => nodes.map(({ html }) => `${id}: ${html.slice(0, 160)}`));
    });
    found.push(...violations.map((words) => `${name} at ${width}: ${words}`));
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    if (wide > 0) found.push(`${name} at ${width}: ${wide} px too wide`);
  }
  await page.setViewportSize(LAPTOP);
  return found;
}

test('a planner brings in a register from one sheet of a workbook', { timeout: 90_000 }, async () => {
  const words = (cells: readonly (string | null)[]) => cells.map((value) => (value === null ? null : { value }));
  const buffer = await writeWorkbook([
    { sheet: 'Notes', data: [words(['who', 'what']), words(['Jun', 'ask the boiler man'])] },
    {
      sheet: 'Register',
      data: [
        [{ value: 'Pumps of the annexe, spring', columnSpan: 8 }, ...Array.from({ length: 7 }, () => null)],
        words(['site', 'building', 'room', 'tag', 'name', 'template', 'criticality', 'criticalityReason']),
        [
          { value: 'Mill', rowSpan: 2 },
          { value: 'Engine house', rowSpan: 2 },
          { value: 'Pump room', rowSpan: 2 },
          ...words(['X-1', 'Sump pump', 'pump', 'C', 'stands by']),
        ],
        [null, null, null, ...words(['X-2', 'Lift pump', 'pump', 'B', 'one of two'])],
      ],
    },
  ]).toBuffer();
  const { page, errors } = await world.enter(world.people.planner, { viewport: LAPTOP });
  await page.goto('/bring-in');
  await page.getByLabel('Assets.', { exact: false }).check();
  await page.getByLabel('File').setInputFiles({
    name: 'register.xlsx',
    mimeType: 'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet',
    buffer,
  });
  await page.getByLabel('Sheet').selectOption({ label: 'Register (2 rows)' });
  expect(await faults(page, 'sheet')).toEqual([]);
  await page.getByRole('button', { name: 'Read the file' }).click();
  await page.getByRole('button', { name: 'Try all 2 rows' }).click();
  await page.getByRole('button', { name: 'Bring in 2 rows' }).click();
  await page.getByText('Brought in:', { exact: false }).waitFor();
  const { assets } = (await world.people.planner.call('listAssets', { query: { search: 'X-' } })).body;
  expect(assets.map(({ tag }: { tag: string }) => tag).sort()).toEqual(['X-1', 'X-2']);
  expect(errors).toEqual([]);
});

test('a broken workbook is refused with a sentence', { timeout: 60_000 }, async () => {
  const { page } = await world.enter(world.people.planner, { viewport: LAPTOP });
  await page.goto('/bring-in');
  await page
    .getByLabel('File')
    .setInputFiles({ name: 'a.xlsx', mimeType: 'application/zip', buffer: Buffer.from('PK\u0003\u0004nothing') });
  await page.getByText('This file could not be read as a workbook.', { exact: false }).waitFor();
});

test('whoever may see takes out tables, from the places under their name', { timeout: 60_000 }, async () => {
  const { page, errors } = await world.enter(world.people.technician, { viewport: LAPTOP });
  await page.goto('/take-out');
  await page.getByRole('heading', { level: 1, name: /yours to take out, as 14 tables/ }).waitFor();
  expect(await faults(page, 'take-out')).toEqual([]);
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: 'Assets as CSV' }).click(),
  ]);
  expect(download.suggestedFilename()).toBe('assets.csv');
  const rows = parse(readFileSync(await download.path()), { bom: true, columns: true }) as Record<string, string>[];
  expect(rows.map(({ tag }) => tag)).toContain('B-IRO-01');
  await page.getByText('assets.csv was handed to your browser.').waitFor();
  expect(errors).toEqual([]);
});
