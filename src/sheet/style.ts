/** The sheet's looks: for paper first (A4 and Letter, readable in grey), for a screen or a phone as well. */
import { cssString } from './html.ts';

/** Narrow enough for tables on paper, and on every system. */
const FONT = 'Arial, "Liberation Sans", Helvetica, sans-serif';

export interface Running {
  /** Foot of each printed page, left. */
  readonly foot: string;
  readonly page: string;
  readonly of: string;
  readonly paper: 'A4' | 'Letter' | null;
}

export function styleOf(running: Running): string {
  const { foot, page, of, paper } = running;
  return `
@page {
  ${paper === null ? '' : `size: ${paper};`}
  margin: 11mm 14mm 13mm;
  @bottom-left { content: ${cssString(foot)}; font: 8pt ${FONT}; color: #51483b; }
  @bottom-right { content: ${cssString(`${page} `)} counter(page) ${cssString(` ${of} `)} counter(pages); font: 8pt ${FONT}; color: #51483b; }
}
* { box-sizing: border-box; }
html { -webkit-text-size-adjust: 100%; text-size-adjust: 100%; }
body { margin: 0; background: #fff; color: #211c15; font: 10.5pt/1.38 ${FONT}; font-variant-numeric: tabular-nums; overflow-wrap: break-word; }
main { max-width: 190mm; margin: 0 auto; }
h1, h2, h3, p, ul, dl, dd, figure, blockquote { margin: 0; padding: 0; }
h1, h2.title { font-size: 17pt; line-height: 1.2; }
h2 { font-size: 12pt; margin: 4.5mm 0 1.5mm; padding-bottom: .6mm; border-bottom: 1px solid #211c15; }
h2.title { border: 0; margin: 0; }
h3 { font-size: 10.5pt; margin: 0 0 1mm; }
dl + h3 { margin-top: 3mm; }
p { margin: 0 0 1.5mm; }
ul { padding-left: 5mm; margin: 0 0 1.5mm; }
li { margin: 0 0 .6mm; }
.quiet, .key, .rule, .legend, .small-print { color: #51483b; }
.key, .rule, .legend, .small-print { font-size: 8.5pt; }
.mark { width: 1em; height: 1em; vertical-align: -.12em; }
.verdict { white-space: nowrap; }
.complaints q { font-style: italic; }
code { font: 8pt ui-monospace, monospace; overflow-wrap: anywhere; }

table { width: 100%; border-collapse: collapse; margin: 0 0 2.5mm; font-size: 9pt; }
caption { text-align: left; font-weight: 600; padding: 0 0 .8mm; }
th, td { text-align: left; vertical-align: top; padding: .8mm 2mm .8mm 0; border-bottom: .5px solid #b5aa97; font-weight: 400; }
thead th { font-weight: 600; border-bottom: 1px solid #51483b; }
tbody th { min-width: 26mm; }
.when { white-space: nowrap; }
.short { white-space: nowrap; width: 1%; padding-right: 0; }
.results { font-size: 10pt; }
.results tbody th { font-weight: 600; }
.evidence tbody th, .evidence .when { width: 1%; min-width: 0; padding-right: 4mm; }
.evidence .when { white-space: normal; min-width: 34mm; }

.head { display: flex; justify-content: space-between; gap: 6mm; align-items: flex-start; border-bottom: 2px solid #211c15; padding-bottom: 2mm; margin-bottom: 2mm; }
.head h1 { white-space: nowrap; }
.who { color: #51483b; margin: 0; }
.identity { font-size: 9pt; display: grid; grid-template-columns: auto auto; column-gap: 6mm; }
.identity div { display: flex; gap: 2mm; }
dt { color: #51483b; }
dd { font-weight: 600; overflow-wrap: anywhere; }
.lead { font-size: 13pt; font-weight: 600; margin: 1.5mm 0; }
.warning { border: 2px solid #211c15; padding: 1.5mm 3mm; margin: 0 0 2mm; }
.warning p { margin: 0; }
.columns { display: grid; grid-template-columns: 1fr 1fr; gap: 6mm; }
.columns h2 { margin-top: 2mm; }
.open { columns: 2; column-gap: 6mm; }
.open li { break-inside: avoid; }
ol { padding-left: 6mm; margin: 0; }
.signs { display: grid; grid-template-columns: 1fr 1fr; gap: 10mm; margin-top: 9mm; break-inside: avoid; }
.signs p { border-top: 1px solid #211c15; padding-top: 1mm; font-size: 8.5pt; }
.customer { font-size: 9pt; line-height: 1.28; }
.customer h2 { margin-top: 2.2mm; margin-bottom: .8mm; padding-bottom: .3mm; font-size: 10.8pt; }
.customer p { margin-bottom: .9mm; }
.customer ul { margin-bottom: .5mm; }
.customer .results { font-size: 8.8pt; margin-bottom: 1mm; }
.customer .results tbody th { min-width: 28mm; }
.customer .lead { font-size: 12pt; margin: 1mm 0; }
.customer .legend, .customer .small-print { font-size: 8pt; }
.customer li { margin-bottom: .2mm; }

.technician { break-before: page; }
.technician table { font-size: 8pt; line-height: 1.25; margin-bottom: 1.4mm; }
.technician th, .technician td { padding: .45mm 2mm .45mm 0; }
.technician p, .technician li { font-size: 8pt; line-height: 1.25; margin-bottom: .8mm; }
.technician h2 { font-size: 11pt; margin: 3mm 0 1mm; }
.technician h2.title { font-size: 15pt; margin: 0; }
.by-hand { border: 1px dashed #51483b; min-height: 16mm; padding: 1mm 2mm; margin-top: 2mm; break-inside: avoid; color: #51483b; }
details.rules { font-size: 8.3pt; color: #51483b; }
summary { cursor: default; }
.finding { border-left: 1.2mm solid #b5aa97; padding: 0 0 .5mm 3mm; margin: 0 0 4mm; }
.finding.fault-shown { border-left-color: #211c15; }
.measured { display: grid; grid-template-columns: 1fr 92mm; gap: 4mm; align-items: center; break-inside: avoid; }
.measured dl div, .made div { display: flex; gap: 2mm; }
.measured { font-size: 8.3pt; }
.measured dt { min-width: 30mm; }
.made { margin-top: 1mm; font-size: 8pt; display: flex; flex-wrap: wrap; gap: 0 5mm; }
.technician h2 + p { break-after: avoid; }
table.codes th:first-child { width: 34%; }
.digests code { font-size: 7pt; }
.scale { margin: 0; }
figure { break-inside: avoid; margin: 1.5mm 0 2.5mm; }
figcaption { font-weight: 600; font-size: 9pt; margin: 0 0 .8mm; }
ol.rule, .finding > .rule, .finding > p.quiet { break-before: avoid; }
.photos { display: grid; grid-template-columns: 1fr 1fr; gap: 3mm 5mm; margin: 0 0 2.5mm; }
.photos figure { margin: 0; }
.photos.many { grid-template-columns: 1fr 1fr 1fr; }
.photos img { display: block; max-width: 100%; max-height: 56mm; border: .5px solid #b5aa97; }
.photos figcaption { font-weight: 400; margin: .8mm 0 0; }
.charts { display: grid; grid-template-columns: 1fr 1fr; gap: 0 5mm; }
figure.small { display: flex; flex-direction: column; margin: 1mm 0; }
figure.small figcaption { font-weight: 400; font-size: 8.5pt; }
svg { display: block; width: 100%; height: auto; }
svg.mark { display: inline; width: 1em; height: 1em; }
svg text { font: 11px ${FONT}; }
h2, h3, caption, thead, .finding > h3 + p { break-after: avoid; }
tr, .finding > h3 + p { break-inside: avoid; }
tbody > tr:first-child:not(:last-child) { break-after: avoid; }
tbody > tr:last-child:not(:first-child) { break-before: avoid; }
p { orphans: 3; widows: 3; }

@media print { .digests code { white-space: nowrap; font-size: 6.6pt; } .digests td:nth-child(2) { width: 1%; } }
@media screen {
  body { background: #f4f1ea; font-size: 16px; }
  main { max-width: 960px; padding: 0 16px 48px; }
  section { background: #fff; border: 1px solid #b5aa97; padding: 20px 28px 28px; margin: 20px 0; }
  .customer { font-size: 16px; }
  .digests code { font-size: 13.5px; }
  table, .identity, .made, figcaption, .customer .results { font-size: 15px; }
  .technician table, .technician p, .technician li, details.rules { font-size: 15px; }
  .technician th, .technician td { padding: 4px 10px 4px 0; }
  .by-hand { display: none; }
  .key, .rule, .legend, .small-print, figure.small figcaption, code, .signs p { font-size: 13.5px; }
  h1 { font-size: 26px; } h2, .customer h2 { font-size: 19px; margin: 26px 0 8px; } h3 { font-size: 16px; }
  h2.title { font-size: 26px; margin: 0 0 8px; }
  .lead { font-size: 20px; }
  th, td { padding: 4px 10px 4px 0; }
  .scroll { overflow-x: auto; }
  .scroll:focus-visible { outline: 3px solid #00564d; outline-offset: 2px; }
}
@media screen and (max-width: 640px) {
  main { padding: 0; }
  section { border: 0; padding: 14px; margin: 0 0 12px; }
  .head, .columns, .charts, .measured, .signs, .identity, .photos { display: block; }
  .signs p { margin-top: 44px; }
  .open { columns: 1; }
  .identity { margin-top: 8px; }
  .scroll svg { width: 640px; }
  table, .customer .results { font-size: 14px; }
  tbody th { min-width: 0; }
  .verdict, .when, .short { white-space: normal; }
  th, td { overflow-wrap: anywhere; }
  .evidence .when { min-width: 22mm; }
}`;
}
