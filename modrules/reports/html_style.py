"""How the sheet looks: black on white, on A4 paper as on a phone. No script, nothing fetched."""

STYLE = """
:root { color: #000; background: #fff; font: 16px/1.45 system-ui, sans-serif; }
body { max-width: 48rem; margin: 0 auto; padding: 1rem; overflow-wrap: anywhere; }
header, section { margin: 0 0 1.5rem; }
h1 { font-size: 1.5rem; line-height: 1.2; margin: 0 0 .5rem; }
h2 { font-size: 1.2rem; border-bottom: 2px solid #000; margin: 1.5rem 0 .5rem; }
h3 { font-size: 1rem; margin: 1.25rem 0 .25rem; }
p { margin: .25rem 0 .5rem; }
.answer { border: 3px solid #000; padding: .5rem .75rem; font-size: 1.25rem; font-weight: 700; }
.strong { font-weight: 700; }
.finding + .finding { border-top: 1px solid #000; padding-top: .25rem; }
.shape { display: inline-block; min-width: 1.2em; }
dl { display: grid; grid-template-columns: minmax(6rem, max-content) minmax(0, 1fr);
  gap: .15rem .75rem; margin: .25rem 0 .5rem; }
dt { font-weight: 700; max-width: 17rem; break-after: avoid; }
dd { margin: 0; min-width: 0; }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; margin: .25rem 0 .75rem; }
caption { text-align: left; font-weight: 700; padding: .25rem 0; }
th, td { border: 1px solid #000; padding: .25rem .4rem; text-align: left; vertical-align: top; }
td { min-width: 4.5em; }
.room { width: 22%; }
.tick { white-space: nowrap; overflow-wrap: normal; }
.steps { font-family: ui-monospace, monospace; font-size: .9rem; padding: .25rem .5rem;
  border: 1px dashed #000; margin: .25rem 0 .5rem; }
.steps span { display: block; white-space: pre-wrap; }
blockquote { margin: .25rem 0 .75rem; padding: 0 0 0 .75rem; border-left: 4px solid #000; }
blockquote p { margin: .1rem 0; }
svg { display: block; width: 100%; max-width: 34rem; height: auto; margin: .25rem 0 .5rem; }
figure { margin: .75rem 0; }
figure svg { margin: 0; }
.hidden { position: absolute; width: 0; height: 0; }
a { color: #000; }
/* Room for a finger: nothing to tap is lower than 24 px. */
li a { display: inline-block; max-width: 100%; padding: .2rem 0; }
.task { border: 1px solid #000; padding: .4rem .6rem; margin: .5rem 0; }
.box { display: inline-block; width: .9em; height: .9em; border: 2px solid #000;
  vertical-align: -.1em; margin: 0 .4em 0 0; }
.full { background: #000; print-color-adjust: exact; -webkit-print-color-adjust: exact; }
.choice { margin-right: 1.5em; white-space: nowrap; }
.line { display: block; border-bottom: 1px solid #000; height: 1.8rem; }
@media screen and (max-width: 30rem) {
  table, caption, tbody, tr, tbody th, td { display: block; }
  thead { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }
  tr { border: 1px solid #000; margin: 0 0 .5rem; }
  tbody th, td { border: 0; }
  td { padding-top: 0; min-height: 1.5rem; }
  td::before { content: attr(data-label) ": "; font-weight: 700; }
  dl { grid-template-columns: minmax(0, 1fr); }
  dt { max-width: none; }
  dd { margin: 0 0 .3rem; }
}
@page { size: A4; margin: 15mm; }
@media print {
  :root { font-size: 9.5pt; line-height: 1.35; }
  body { max-width: none; padding: 0; }
  h2, h3 { break-inside: avoid; break-after: avoid; }
  .task, tr, figure { break-inside: avoid; }
  .steps, blockquote { font-size: 8.5pt; line-height: 1.25; }
  li a { display: inline; text-decoration: none; }
  .scroll { overflow: visible; }
}
"""
