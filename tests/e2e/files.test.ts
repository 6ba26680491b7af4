/** Files in and out, as somebody with a spreadsheet: a workbook with a title, merged cells and two sheets; tables taken out. */
import { readFileSync } from 'node:fs';
import { parse } from 'csv-parse/sync';
import { afterAll, beforeAll, expect, test } from 'vitest';
import writeWorkbook from 'write-excel-file/node';
import { faults } from './faults.ts';
import { LAPTOP, openWorld, type World } from './world.ts';

let world: World;
beforeAll(async () => {
  world = await openWorld();
}, 120_000);
afterAll(() => world?.close());

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
  expect(await faults(page, 'files-sheet')).toEqual([]);
  await page.getByRole('button', { name: 'Read the file' }).click();
  await page.getByRole('button', { name: 'Try all 2 rows' }).click();
  await page.getByRole('button', { name: 'Bring in 2 rows' }).click();
  await page.getByText('Brought in:', { exact: false }).waitFor();
  const { assets } = (await world.people.planner.call('listAssets', { query: { search: 'X-' } })).body;
  expect(assets.map(({ tag }: { tag: string }) => tag).sort()).toEqual(['X-1', 'X-2']);

  const renamed = assets.find(({ tag }: { tag: string }) => tag === 'X-2');
  await world.people.planner.call('changeAsset', {
    params: { assetId: renamed.id },
    body: { version: 1, name: 'Lift pump, north' },
  });
  await page.getByRole('button', { name: 'Take it back', exact: true }).click();
  await page.getByText('Goes: 1 asset. Stays: 1 asset.').waitFor();
  await page.getByText('X-2 stays: somebody changed it since.').waitFor();
  expect(await faults(page, 'files-take-back')).toEqual([]);
  // With the keyboard alone: what is asked has the focus, the key that does it comes next.
  await page.keyboard.press('Tab');
  expect(await page.evaluate(() => document.activeElement?.textContent)).toBe('Take it back now');
  await page.keyboard.press('Enter');
  await page.getByRole('heading', { level: 1, name: 'Taken back, except for what was built on since.' }).waitFor();
  await page.getByText('Went: 1 asset. Stayed: 1 asset.').waitFor();
  expect(await faults(page, 'files-taken-back')).toEqual([]);
  const left = (await world.people.planner.call('listAssets', { query: { search: 'X-' } })).body.assets;
  expect(left.map(({ tag }: { tag: string }) => tag)).toEqual(['X-2']);
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
  expect(await faults(page, 'files-take-out')).toEqual([]);
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
