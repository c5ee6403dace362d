"""The style of a site's own pages: a notice on paper, like the pages of the service."""

STYLE = """
:root {
  color-scheme: light dark;
  --desk: #ddd4bd; --paper: #fbf7ea; --card: #fffdf5; --ink: #1d1a16; --faint: #5a5244;
  --rule: #8d8269; --thin: #cfc5aa; --red: #9b1c14; --amber: #7a4b00; --green: #1f5c2e;
  --blue: #1c4a74; --shade: #efe7d0; --sheet: #fff;
  --sans: "Liberation Sans", Helvetica, Arial, "DejaVu Sans", sans-serif;
}
@media (prefers-color-scheme: dark) {
  :root {
    --desk: #11100d; --paper: #1d1b16; --card: #24211b; --ink: #eee7d4; --faint: #b8ae97;
    --rule: #857b64; --thin: #454033; --red: #ff9a8c; --amber: #f0c069; --green: #93d3a0;
    --blue: #9cc7ee; --shade: #2c2820; --sheet: #e9e3d2;
  }
}
* { box-sizing: border-box; }
html { background: var(--desk); }
body {
  max-width: 72rem; min-height: 100vh; margin: 0 auto; padding: 0.8rem clamp(1rem, 4vw, 3rem) 2rem;
  color: var(--ink); background: var(--paper); border: solid var(--rule); border-width: 0 1px;
  font: 1.0625rem/1.5 Georgia, "Liberation Serif", "DejaVu Serif", "Times New Roman", serif;
  overflow-wrap: anywhere;
}
a { color: var(--blue); text-underline-offset: 0.15em; }
a:focus-visible, summary:focus-visible, [tabindex]:focus-visible {
  outline: 3px solid var(--blue); outline-offset: 2px;
}
nav a { display: inline-block; padding: 0.4rem 0; }
h1, h2, h3, h4 { line-height: 1.2; }
h1 { font-size: clamp(1.7rem, 5vw, 2.6rem); margin: 0.3em 0 0.1em; }
h2 {
  font-size: 1.3rem; margin: 2rem 0 0.8rem; padding-top: 0.6rem;
  border-top: 3px double var(--rule);
}
h3 { font-size: 1.05rem; margin: 1.2rem 0 0.4rem; }
h4 { font-size: 1rem; font-style: italic; margin: 0.7rem 0 0.2rem; }
p { margin: 0 0 0.6rem; }
ul { margin: 0 0 0.6rem; padding-left: 1.3rem; }
code, pre, .file { font-family: "Liberation Mono", "DejaVu Sans Mono", Menlo, Consolas, monospace; }
code, .file { font-size: 0.875rem; }
.file, time, .counts { color: var(--faint); }
.verdict {
  margin: 1rem 0 1.4rem; padding: 0.8rem 1.1rem 0.4rem; background: var(--card);
  border: 2px solid; outline: 1px solid; outline-offset: 3px;
}
.verdict > * { color: var(--ink); }
.verdict .caution, .verdict .counts { color: var(--faint); }
.stamp {
  font-family: var(--sans); font-weight: 700; text-transform: uppercase; letter-spacing: 0.08em;
}
.verdict .stamp { font-size: clamp(1.3rem, 5vw, 2rem); line-height: 1.2; margin-bottom: 0.3rem; }
.holds, .holds > .stamp { color: var(--green); }
.fails, .fails > .stamp { color: var(--red); }
.unjudged, .unjudged > .stamp { color: var(--amber); }
.links { display: flex; flex-wrap: wrap; gap: 0.5rem; list-style: none; padding: 0; }
.links a {
  display: block; padding: 0.55rem 0.9rem; color: var(--ink); background: var(--card);
  border: 1px solid var(--ink); font: 700 0.95rem/1.3 var(--sans); text-decoration: none;
}
.links a:hover { background: var(--shade); text-decoration: underline; }
.diagram { margin: 0; overflow-x: auto; background: var(--sheet); border: 1px solid var(--rule); }
.diagram img { display: block; margin: 0 auto; max-width: max(100%, 46rem); height: auto; }
.diagram img, .picture img { mix-blend-mode: multiply; }
.plans {
  display: grid; grid-template-columns: repeat(auto-fill, minmax(min(100%, 19rem), 1fr));
  gap: 1.1rem; list-style: none; padding: 0; margin: 0;
}
.plans li { background: var(--card); border: 1px solid var(--rule); }
.plans .picture {
  display: flex; align-items: center; justify-content: center; height: 10rem; padding: 0.3rem;
  background: var(--sheet); border-bottom: 1px solid var(--rule); color: #5a5244;
  font-style: italic;
}
.plans .picture img { max-width: 100%; max-height: 100%; height: auto; }
.plans .about { padding: 0.5rem 0.8rem 0.3rem; }
.plans h3 { margin: 0; font-size: 1.15rem; }
.plans h3 a { display: inline-block; padding: 0.2rem 0; }
.plans p { margin: 0 0 0.2rem; }
.plans .stamp { font-size: 0.9rem; }
.level {
  font: 700 0.8rem var(--sans); text-transform: uppercase; letter-spacing: 0.06em;
  color: var(--blue); border-bottom: 2px dotted;
}
.level.error { color: var(--red); border-bottom-style: solid; }
.level.warning { color: var(--amber); border-bottom-style: dashed; }
.finding { margin: 0.4rem 0 0.9rem; padding-left: 0.8rem; border-left: 3px solid var(--thin); }
.finding p { margin: 0 0 0.3rem; }
.finding .message { font-weight: 700; }
.finding pre {
  margin: 0.3rem 0 0.5rem; padding: 0.5rem 0.6rem; overflow-x: auto; background: var(--shade);
  font-size: 0.8125rem; line-height: 1.35;
}
.source-mark { color: var(--red); font-weight: 700; }
details { border-bottom: 1px solid var(--thin); padding: 0.3rem 0; }
summary { cursor: pointer; font-weight: 700; padding: 0.4rem 0; }
summary time { font-weight: 400; margin-right: 0.4rem; }
.commit code { color: var(--faint); font-weight: 400; }
.rows ul { margin-bottom: 0.2rem; }
.caution { color: var(--faint); font-style: italic; font-size: 0.95rem; }
main > .caution { margin-top: 2.5rem; padding-top: 0.8rem; border-top: 3px double var(--rule); }
@media (max-width: 46rem) { body { border: 0; font-size: 1rem; } }
@media print {
  :root {
    color-scheme: light; --desk: #fff; --paper: #fff; --card: #fff; --ink: #000; --faint: #333;
    --rule: #555; --thin: #aaa; --red: #000; --amber: #000; --green: #000; --blue: #000;
    --shade: #eee; --sheet: #fff;
  }
  body { border: 0; padding: 0; max-width: none; font-size: 10.5pt; }
  .links { display: none; }
  .diagram img { max-width: 100%; }
  .finding, .plans li, .verdict { break-inside: avoid; }
}
"""
"""Style rules for the index and for the page of a plan."""
