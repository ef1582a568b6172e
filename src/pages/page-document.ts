import type { AnalysisResult, ResultColumn } from '../analyses/analysis.ts';
import type { ShownLength } from '../analyses/lengths.ts';
import { columnTitle, formatCell, formatNumber } from '../core/format-value.ts';
import { sortedRows } from '../core/sort-rows.ts';
import { chartData } from '../plots/chart-spec.ts';
import { drawChart } from '../plots/draw-chart.ts';
import { choiceWords } from './choice-control.tsx';
import type { EntryState, TableView } from './entry-state.ts';
import type { Entry, EntryOf, Page } from './page.ts';
import { renderMarkdown, renderMethod } from './render-markdown.ts';
import { shownColumns } from './result-table.tsx';
import type { PageRuntime } from './runtime.ts';
import { chartInLengths, tableInLengths } from './shown-lengths.ts';
import { isBehindColumn } from './table-view.ts';

/** Longer tables belong into a file of their own. */
const MOST_ROWS = 500;
const WIDTH = 720;

interface DocumentSide {
  readonly runtime: PageRuntime;
  /** The cohort in words with its n. */
  readonly cohort: string;
}

interface DocumentOptions {
  readonly page: Page;
  /** One, or two side by side. */
  readonly sides: readonly DocumentSide[];
  /** Where the records come from, in words. */
  readonly records: string;
  /** The day it was made, in words. */
  readonly made: string;
  readonly cautions: readonly string[];
  /** In which lengths are given. */
  readonly lengths?: ShownLength;
  /** The text of a method, by its name; null where there is none. */
  readonly methodText?: (doc: string) => string | null;
}

type Reading = Required<Pick<DocumentOptions, 'lengths' | 'methodText'>>;

const SIGNS: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};
const safe = (text: string) => text.replaceAll(/[&<>"']/g, (sign) => SIGNS[sign]!);
const paragraph = (text: string, look = '') => `<p${look && ` class="${look}"`}>${safe(text)}</p>`;

const STYLE = `
body{margin:0 auto;max-width:62rem;padding:2rem 1.5rem 4rem;background:#fff;color:#22262b;font:1rem/1.55 system-ui,"Noto Sans",sans-serif}
body.two{max-width:92rem}
h1{margin:0;font-size:2rem;line-height:1.2}h2{margin:2.5rem 0 .5rem;padding-top:.5rem;border-top:1px solid #d9d4ca;font-size:1.3rem}
.soft,figcaption,caption,dt,summary{color:#5a626c;font-size:.9rem}.text,.findings,figcaption{max-width:75ch}
.entry{margin:1rem 0}.sides{display:grid;grid-template-columns:repeat(2,minmax(0,1fr));gap:1.5rem}
.findings{padding:0;list-style:none}.findings li{padding:.5rem 0;border-top:1px solid #d9d4ca}.findings p{margin:0 0 .25rem}
figure{margin:0}figure svg{max-width:100%;height:auto}.title{margin:0 0 .25rem;font-weight:600}
.table{overflow-x:auto}table{border-collapse:collapse;font-size:.9rem}caption{text-align:left;padding:.5rem 0}
th,td{padding:.25rem .7rem;border-bottom:1px solid #d9d4ca;text-align:left;font-weight:400;vertical-align:baseline}
thead th{color:#5a626c;font-weight:600;vertical-align:bottom}.number{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}
pre{overflow-x:auto;padding:.5rem;border:1px solid #d9d4ca;font-size:.85rem}
dl{display:grid;grid-template-columns:max-content 1fr;gap:.35rem 1rem;max-width:75ch}dd{margin:0}
.cautions{max-width:46rem;margin-top:2.5rem;padding:.5rem 1rem;border-left:3px solid #8a4b00;background:#fbf0dd}
@page{margin:16mm 14mm}
@media print{body{max-width:none;padding:0}figure,li,tr,dl{break-inside:avoid}h2,.title,caption{break-after:avoid}thead{display:table-header-group}table{font-size:.75rem}}
`;

function tableHtml(
  view: TableView,
  stated: readonly ResultColumn[],
  order: Int32Array | readonly number[],
  caption: string,
  { lengths }: Reading,
) {
  const { table, columns } = tableInLengths(view.table, stated, lengths, view.columns);
  if (table.rowCount === 0) return paragraph('No row answers to this choice of horses and settings.', 'soft');
  const look = (name: string) => (table.columns[name]?.type === 'number' ? ' class="number"' : '');
  const head = columns.map((c) => `<th scope="col"${look(c.name)}>${safe(columnTitle(c))}</th>`).join('');
  const rows = Array.from(order.slice(0, MOST_ROWS), (row) => {
    const cells = columns.map((c, at) => {
      const text = safe(formatCell(table, c, row));
      return at === 0 ? `<th scope="row"${look(c.name)}>${text}</th>` : `<td${look(c.name)}>${text}</td>`;
    });
    return `<tr>${cells.join('')}</tr>`;
  });
  const rest =
    table.rowCount > MOST_ROWS
      ? paragraph(`The first ${formatNumber(MOST_ROWS)} of ${formatNumber(table.rowCount)} rows.`, 'soft')
      : '';
  return `<div class="table"><table><caption>${safe(caption)}</caption><thead><tr>${head}</tr></thead><tbody>${rows.join('')}</tbody></table></div>${rest}`;
}

function wholeTable(view: TableView, reading: Reading): string {
  const columns = view.columns.filter(({ name }) => !isBehindColumn(name));
  return tableHtml(view, columns, sortedRows(view.table, undefined), view.title, reading);
}

function chartHtml(
  { body }: EntryOf<'chart'>,
  views: Readonly<Record<string, TableView>>,
  cohort: string,
  reading: Reading,
): string {
  const title = body.title ? `<p class="title">${safe(body.title)}</p>` : '';
  const told = chartInLengths(body, views, reading.lengths);
  const chart = drawChart(told.spec, told.views, { width: WIDTH, theme: 'light' });
  if ('sentence' in chart) return `<figure>${title}${paragraph(chart.sentence, 'soft')}</figure>`;
  const drawing = new XMLSerializer().serializeToString(chart.svg);
  const tables = chartData(body).flatMap((name) => (views[name] ? [wholeTable(views[name], reading)] : []));
  const caption = [cohort && `${cohort}.`, chart.caption].filter(Boolean).join(' ');
  return `<figure>${title}${drawing}<figcaption>${safe(caption)}</figcaption><details><summary>The same numbers as a table</summary>${tables.join('')}</details></figure>`;
}

function notesHtml(
  { method, counts, assumes, cautions, unavailable }: AnalysisResult,
  { methodText }: Reading,
): string {
  const text = methodText(method.doc);
  const wholeMethod = text
    ? `<details><summary>The method in full</summary><div class="text">${renderMethod(text)}</div></details>`
    : '';
  const part = (title: string, sentences: readonly string[]) =>
    sentences.length === 0 ? '' : `<dt>${title}</dt><dd>${sentences.map(safe).join('<br>')}</dd>`;
  const n = `${formatNumber(counts.horses)} horses, ${formatNumber(counts.feet)} feet and ${formatNumber(counts.cycles)} trim cycles`;
  return `<details><summary>How this was worked out</summary><dl>${part('Method', [method.name])}${part('Source', [method.source])}${part('Rests on', [n])}${part('Takes for granted', assumes)}${part(
    'Could not be worked out',
    unavailable.map(({ sentence }) => sentence),
  )}${part('Mind', cautions)}</dl>${wholeMethod}</details>`;
}

function findingsHtml(analysis: AnalysisResult, limit: number | undefined): string {
  const told = analysis.findings
    .slice(0, limit)
    .map(
      ({ sentence, caution }) =>
        `<li>${paragraph(sentence)}${caution ? paragraph(caution, 'soft') : ''}</li>`,
    );
  const untold = analysis.unavailable.map(({ sentence }) => `<li>${paragraph(sentence, 'soft')}</li>`);
  const items = [...told, ...untold];
  return items.length > 0
    ? `<ul class="findings">${items.join('')}</ul>`
    : paragraph('There is nothing to report here.', 'soft');
}

function resultHtml(entry: Entry, state: EntryState, cohort: string, reading: Reading): string {
  const { result, status, message } = state;
  if (status !== 'done' || !result) {
    return paragraph(`${entry.name} was not worked out${message ? `: ${message}` : ''}.`, 'soft');
  }
  if (entry.kind === 'choice') {
    return `<p><span class="soft">${safe(entry.body.label)}:</span> <strong>${safe(choiceWords(entry, state, reading.lengths))}</strong></p>`;
  }
  if (entry.kind === 'query' && result.kind === 'query') {
    return `<details><summary>The query ${safe(entry.name)} (${formatNumber(result.table.rowCount)} rows)</summary><pre>${safe(entry.source.trimEnd())}</pre></details>`;
  }
  if (entry.kind === 'question') return paragraph(entry.body.ask);
  if (entry.kind === 'samples') return '';
  if (entry.kind === 'column') return paragraph(`${entry.name} = ${entry.body.expression}`, 'soft');
  if (entry.kind === 'analysis' && result.kind === 'analysis') return notesHtml(result.analysis, reading);
  if (entry.kind === 'findings' && result.kind === 'findings')
    return findingsHtml(result.analysis, entry.body.limit);
  if (entry.kind === 'chart' && result.kind === 'data')
    return chartHtml(entry, result.views, cohort, reading);
  const view = result.kind === 'data' && entry.kind === 'table' ? result.views[entry.body.of] : undefined;
  if (!view || entry.kind !== 'table') return '';
  const words = entry.body.caption ?? view.title;
  return tableHtml(
    view,
    shownColumns(view, entry.body.columns),
    sortedRows(view.table, entry.body.sort),
    cohort ? `${words} (${cohort})` : words,
    reading,
  );
}

function entryHtml(
  entry: Entry,
  { runtime, cohort }: DocumentSide,
  isTwo: boolean,
  reading: Reading,
): string {
  try {
    return resultHtml(entry, runtime.state(entry.name).peek(), isTwo ? cohort : '', reading);
  } catch (error) {
    return paragraph(
      `${entry.name} cannot be shown: ${error instanceof Error ? error.message : error}`,
      'soft',
    );
  }
}

/** A page as it stands, as one HTML file that holds everything and runs nothing. Needs a DOM. */
export function pageDocument({
  page,
  sides,
  records,
  made,
  cautions,
  lengths = 'mm',
  methodText = () => null,
}: DocumentOptions): string {
  const reading = { lengths, methodText };
  const isTwo = sides.length > 1;
  const blocks = page.blocks.map((block) => {
    if (block.type === 'text') return `<div class="text">${renderMarkdown(block.markdown)}</div>`;
    if (block.type === 'broken') return `<pre>${safe(block.source)}</pre>`;
    const { entry } = block;
    const shown = entry.kind === 'choice' ? sides.slice(0, 1) : sides;
    const parts = shown.map((side) => `<div class="entry">${entryHtml(entry, side, isTwo, reading)}</div>`);
    return parts.length > 1 ? `<div class="sides">${parts.join('')}</div>` : parts.join('');
  });
  const cohorts = sides.map(({ cohort }) => cohort).join('; beside it ');
  const title = safe(page.front.title);
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src data:">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>${title}</title>
<style>${STYLE}</style>
</head>
<body${isTwo ? ' class="two"' : ''}>
<header><h1>${title}</h1>${page.front.summary ? paragraph(page.front.summary, 'soft') : ''}
${paragraph(`${records}. Looking at ${cohorts}. Made on ${made}.`, 'soft')}</header>
<main>
${blocks.join('\n')}
</main>
${cautions.length > 0 ? `<aside class="cautions"><h2>Before you act on this page</h2><ul>${cautions.map((each) => `<li>${safe(each)}</li>`).join('')}</ul></aside>` : ''}
</body>
</html>
`;
}
