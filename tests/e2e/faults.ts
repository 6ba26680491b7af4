/** What no screen may have: findings of axe, sideways scroll, any number of opening sentences but one. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { LAPTOP, PHONE } from './world.ts';

/** Set to a folder to look at the screens with one's own eyes. */
export const SHOTS = process.env.HEATROUND_SHOTS;
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const RULES = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
type Size = { readonly width: number; readonly height: number };
/** 200 % of a laptop, and what 400 % leave. */
const NARROWER: readonly Size[] = [
  { width: 640, height: 450 },
  { width: 320, height: 640 },
];

/** A picture into the folder for pictures, if one is asked for. */
export async function shoot(page: Page, name: string, fullPage = true): Promise<void> {
  if (SHOTS) await page.screenshot({ path: join(SHOTS, `${name}.png`), fullPage });
}

async function violations(page: Page, runOnly: unknown): Promise<string[]> {
  return page.evaluate(async (asked) => {
    const { axe: run } = window as unknown as {
      axe: {
        run(
          on: Document,
          options: unknown,
        ): Promise<{ violations: { id: string; nodes: { html: string; failureSummary?: string }[] }[] }>;
      };
    };
    const found = await run.run(document, { runOnly: asked, resultTypes: ['violations'] });
    return found.violations.flatMap((one) =>
      one.nodes.map((node) => `${one.id}: ${node.html.slice(0, 160)} ${node.failureSummary?.slice(0, 200) ?? ''}`),
    );
  }, runOnly);
}
const overflow = (page: Page): Promise<number> =>
  page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);

/** Makes the page as high as what is on it, again if that has grown meanwhile: lists may still be coming in. */
async function uncover(page: Page, { width, height }: Size): Promise<void> {
  for (let shown = height, tries = 0; tries < 5; tries++) {
    const needed = await page.evaluate(() => document.documentElement.scrollHeight);
    if (tries > 0 && needed <= shown) return;
    shown = Math.max(height, needed + 80);
    await page.setViewportSize({ width, height: shown });
    await page.waitForTimeout(50);
  }
}

/**
 * Looks at a page as it stands, once, in everything that the device of this size can show: on light paper by all rules, on dark
 * paper for contrast (nothing else depends on the paper), and with a phone's page also narrower for sideways scroll.
 */
export async function faultsAt(page: Page, name: string, size: Size): Promise<string[]> {
  const found: string[] = [];
  const tooWide = async (width: number): Promise<void> => {
    const by = await overflow(page);
    if (by > 0) found.push(`${name} at ${width}: ${by} px too wide`);
  };
  await page.setViewportSize(size);
  if (!(await page.evaluate(() => 'axe' in window))) await page.evaluate(axe);
  // What sticks to an edge covers something at any moment; people scroll, so all of the page is looked at uncovered.
  await uncover(page, size);
  for (const paper of ['light', 'dark'] as const) {
    await page.emulateMedia({ colorScheme: paper });
    // Colours may fade over; whatever is under way is brought to its end.
    await page.evaluate(() => {
      for (const one of document.getAnimations()) if (one.effect?.getComputedTiming().iterations !== Infinity) one.finish();
    });
    await shoot(page, `${name}-${size.width}-${paper}`);
    const rules = paper === 'light' ? RULES : { type: 'rule', values: ['color-contrast'] };
    found.push(...(await violations(page, rules)).map((words) => `${name} at ${size.width}, ${paper}: ${words}`));
  }
  await page.emulateMedia({ colorScheme: 'light' });
  await tooWide(size.width);
  const headings = await page.locator('h1').count();
  if (headings !== 1) found.push(`${name}: ${headings} opening sentences`);
  for (const narrower of size.width === PHONE.width ? NARROWER : []) {
    await page.setViewportSize(narrower);
    await page.waitForTimeout(50);
    await shoot(page, `${name}-${narrower.width}`, false);
    await tooWide(narrower.width);
  }
  await page.setViewportSize(size);
  return found;
}

/** The same at a phone's width and at a laptop's, of one page. */
export async function faults(page: Page, name: string): Promise<string[]> {
  const before = page.viewportSize() ?? LAPTOP;
  const found: string[] = [];
  for (const size of [PHONE, LAPTOP]) {
    await page.setViewportSize(size);
    await page.waitForTimeout(200);
    found.push(...(await faultsAt(page, name, size)));
  }
  await page.setViewportSize(before);
  return found;
}
