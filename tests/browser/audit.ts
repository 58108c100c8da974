import axe, { type AxeResults } from 'axe-core';
import { PHONE, type Visitor } from './browser.ts';

/** The narrowest phone, a tablet on the wall, a desktop; nothing may stick out on any. */
const WIDTHS = [320, 768, 1280];
const STANDARDS = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];
/** By theme: only its colours differ, so that the second is not asked for all the rest again. */
const RULES = {
  light: { type: 'tag', values: STANDARDS },
  dark: { type: 'rule', values: ['color-contrast', 'link-in-text-block'] },
} as const;
/** For wet hands, in px. A link inside a sentence is exempt. */
const LEAST_TARGET = 44;
const TARGETS =
  'button, summary, select, textarea, nav a, a.do, a.plain, .acts a, .choice label, .check label, ' +
  'input:not([type=hidden], [type=radio], [type=checkbox])';

/** What is wrong with the page that is open: by the guidelines in both themes, its targets and its width. */
export async function audit({ page }: Visitor): Promise<string[]> {
  if (!(await page.evaluate(unfold))) {
    await page.evaluate(axe.source);
    // The window brings it to whatever it opens next: sent anew it takes as long as the look itself.
    await page.addInitScript(axe.source);
  }
  const complaints: string[] = [];
  for (const colorScheme of ['light', 'dark'] as const) {
    await page.emulateMedia({ colorScheme, reducedMotion: 'reduce' });
    // No rule here reads the style sheets' own text, which it would otherwise fetch first.
    const options = { runOnly: RULES[colorScheme], resultTypes: ['violations'], preload: false };
    const results = (await page.evaluate(`axe.run(document, ${JSON.stringify(options)})`)) as AxeResults;
    for (const { id, nodes } of results.violations)
      complaints.push(
        `${colorScheme} ${id}: ${nodes.map((n) => `${n.target} ${n.failureSummary}`).join('\n')}`,
      );
  }
  complaints.push(...(await page.evaluate(smallTargets, { selector: TARGETS, least: LEAST_TARGET })));
  for (const width of WIDTHS) {
    await page.setViewportSize({ width, height: PHONE.height });
    complaints.push(...(await page.evaluate(sticksOut)));
  }
  await page.setViewportSize(PHONE);
  return complaints;
}

/** Opens what is folded; whether axe is here. */
function unfold(): boolean {
  for (const details of document.querySelectorAll('details')) details.open = true;
  return 'axe' in window;
}

function smallTargets({ selector, least }: { selector: string; least: number }): string[] {
  return [...document.querySelectorAll(selector)].flatMap((element) => {
    const { width, height } = element.getBoundingClientRect();
    if (width === 0 || (width >= least && height >= least)) return [];
    const name = element.textContent?.trim() || element.getAttribute('name');
    return [`target ${element.tagName} ${name}: ${Math.round(width)} × ${Math.round(height)} px`];
  });
}

function sticksOut(): string[] {
  const { scrollWidth, clientWidth } = document.documentElement;
  if (scrollWidth <= clientWidth) return [];
  const out = [...document.querySelectorAll(':is(main, header) :not(svg *)')].filter(
    (element) => element.getBoundingClientRect().right > clientWidth + 1,
  );
  const names = out
    .slice(0, 3)
    .map((e) => `${e.tagName}.${e.getAttribute('class')} ${e.textContent?.slice(0, 40)}`);
  return [`scrolls sideways at ${clientWidth} px: ${scrollWidth} px, ${names.join('; ')}`];
}
