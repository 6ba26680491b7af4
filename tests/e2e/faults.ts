import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { LAPTOP, PHONE } from './world.ts';

/** Set to a folder to look at the screens with one's own eyes. */
const SHOTS = process.env.HEATROUND_SHOTS;
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** Findings of axe and sideways scroll, at a phone's width and at a laptop's. */
export async function faults(page: Page, name: string): Promise<string[]> {
  const found: string[] = [];
  await page.evaluate(axe);
  const before = page.viewportSize() ?? LAPTOP;
  for (const width of [PHONE.width, LAPTOP.width]) {
    await page.setViewportSize({ width, height: 900 });
    await page.waitForTimeout(200);
    if (SHOTS) await page.screenshot({ path: join(SHOTS, `${name}-${width}.png`), fullPage: true });
    // What sticks to an edge covers something at any moment; people scroll, so all of it is looked at.
    const height = await page.evaluate(() => document.documentElement.scrollHeight);
    await page.setViewportSize({ width, height: height + 80 });
    const violations = await page.evaluate(async () => {
      const { axe: run } = window as unknown as {
        axe: {
          run(on: Document, options: unknown): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }>;
        };
      };
      const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
      const { violations: all } = await run.run(document, { runOnly: tags });
      return all.flatMap(({ id, nodes }) => nodes.map(({ html }) => `${id}: ${html.slice(0, 160)}`));
    });
    found.push(...violations.map((words) => `${name} at ${width}: ${words}`));
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    if (wide > 0) found.push(`${name} at ${width}: ${wide} px too wide`);
  }
  await page.setViewportSize(before);
  return found;
}
