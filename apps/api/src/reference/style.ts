/** The page's style, in the client's ink and paper; without its tokens, since the API also runs where no client is built. */
export const REFERENCE_STYLE = `
:root { color-scheme: light dark; --paper: #fafcfd; --wash: #edf2f5; --rule: #c2cdd5; --ink: #0f161c; --ink-2: #3d4a55; --act: #85195e; }
@media (prefers-color-scheme: dark) {
  :root { --paper: #0b1115; --wash: #17222a; --rule: #32414c; --ink: #e8eef2; --ink-2: #b4c1cb; --act: #e79ac6; }
}
* { box-sizing: border-box; }
html { scroll-behavior: auto; scroll-padding-top: 16px; }
body { margin: 0 auto; padding: 16px 16px 64px; max-width: 1200px; background: var(--paper); color: var(--ink);
  font: 1rem/1.45 -apple-system, "Segoe UI Variable Text", "Segoe UI", Roboto, "Liberation Sans", system-ui, sans-serif; }
h1 { font-size: 1.75rem; line-height: 1.2; margin: 16px 0 8px; }
h2 { font-size: 1.375rem; line-height: 1.2; margin: 48px 0 8px; padding-top: 8px; border-top: 4px solid var(--ink); }
h3 { font-size: 1rem; line-height: 1.45; margin: 0 0 4px; overflow-wrap: anywhere; }
h4 { font-size: 0.875rem; margin: 12px 0 4px; color: var(--ink-2); }
p { margin: 4px 0; max-width: 62ch; }
a { color: var(--act); text-underline-offset: 0.2em; }
:focus-visible { outline: 3px solid var(--act); outline-offset: 2px; }
.skip { position: absolute; left: -999px; }
.skip:focus { position: static; }
code { font: 0.9375em ui-monospace, "Liberation Mono", Menlo, Consolas, monospace; overflow-wrap: anywhere; }
.method { display: inline-block; min-width: 4em; letter-spacing: 0.04em; }
.name { font-weight: 600; }
.who, .answer, em { color: var(--ink-2); }
em { font-style: normal; font-size: 0.875rem; }
article { padding: 16px 0; border-bottom: 1px solid var(--rule); }
ul { margin: 4px 0; padding-left: 20px; }
li { margin: 4px 0; overflow-wrap: anywhere; }
li > ul { border-left: 2px solid var(--rule); padding-left: 24px; list-style-position: outside; }
summary { display: block; min-height: 48px; padding: 12px 0; color: var(--act); cursor: pointer; overflow-wrap: anywhere; }
summary::before { content: "+ "; font-weight: 700; }
details[open] > summary::before { content: "− "; }
details > ul, details > p { background: var(--wash); padding: 8px 12px 8px 32px; }
nav ul { list-style: none; padding: 0; display: flex; flex-wrap: wrap; gap: 0 20px; }
nav a { display: inline-block; padding: 12px 0; min-height: 48px; }
@media (min-width: 1000px) {
  body { display: grid; grid-template-columns: 220px minmax(0, 1fr); column-gap: 40px; padding: 16px 40px 64px; }
  header, .skip { grid-column: 1 / -1; }
  nav { position: sticky; top: 16px; align-self: start; }
  nav ul { display: block; }
  nav a { padding: 6px 0; min-height: 0; }
  main > section:first-child h2 { margin-top: 8px; }
}
`;
