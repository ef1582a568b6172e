/**
 * `npx tsx tests/bench/scale.ts --practices 50 --memory 2GB --room /tmp`: more rows than memory holds, a million a
 * practice, read as the audit reads a folder and asked as pages ask. Prints each step's time, by the clock and of the
 * processor (all threads, without what others on the machine take), and the peak of memory so far. With --keep they are
 * kept in docs/scale.json and told in docs/scale.md.
 */
import {
  copyFileSync,
  existsSync,
  linkSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  rmSync,
  statSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { DuckDBInstance } from '@duckdb/node-api';
import { writeBenchmark } from '../../data/benchmark-files.ts';
import { countHerd, type HerdTables, loadHerdInParts } from '../../src/analyses/load-herd.ts';
import { Books } from '../../src/batch/books.ts';
import { partsOfFolder } from '../../src/batch/hive-folder.ts';
import { readRecord } from '../../src/batch/read-record.ts';
import { civilDay } from '../../src/core/civil-day.ts';
import { openNativeEngine } from '../../src/engine/native-engine.ts';
import { literal } from '../../src/engine/sql-text.ts';
import { HERD_CATALOG } from '../../src/herd/herd-names.ts';
import { writeDocuments } from './documents.ts';
import { keepFolderRecord, type Step } from './folder-record.ts';

const { values } = parseArgs({
  options: {
    practices: { type: 'string', default: '50' },
    rows: { type: 'string', default: '1000000' },
    memory: { type: 'string', default: '2GB' },
    room: { type: 'string', default: tmpdir() },
    keep: { type: 'boolean', default: false },
  },
});
const practices = Number(values.practices);
const rows = Number(values.rows);
const room = mkdtempSync(join(values.room, 'growout-scale-'));
const begun = performance.now();
let last = begun;
let lastProcessor = processorSeconds();
const steps: Step[] = [];

const tenths = (value: number): number => Math.round(10 * value) / 10;

function processorSeconds(): number {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1e6;
}

function say(what: string): void {
  const now = performance.now();
  const processor = processorSeconds();
  const peak = process.resourceUsage().maxRSS / 2 ** 20;
  const step = {
    what,
    seconds: tenths((now - last) / 1000),
    processorSeconds: tenths(processor - lastProcessor),
    peakGB: Math.round(100 * peak) / 100,
  };
  steps.push(step);
  console.log(
    `| ${what} | ${step.seconds} | ${step.processorSeconds} | ${((now - begun) / 1000).toFixed(0)} | ${step.peakGB} |`,
  );
  last = now;
  lastProcessor = processor;
}

/** Invented rows by practice and year; the files of all practices are the same ones. */
async function makeRecord(): Promise<string> {
  const source = join('data/generated', values.rows);
  if (!existsSync(join(source, 'horses.parquet'))) await writeBenchmark(rows, source);
  const record = join(room, 'record');
  const instance = await DuckDBInstance.create(':memory:');
  const native = await instance.connect();
  await native.run(
    `COPY (SELECT *, 'P01' AS practice, year(visit_date::DATE) AS year FROM read_parquet(${literal(join(source, 'visits.parquet'))}))
     TO ${literal(record)} (FORMAT parquet, PARTITION_BY (practice, year))`,
  );
  native.closeSync();
  instance.closeSync();
  const first = join(record, 'practice=P01');
  mkdirSync(join(first, 'horses'));
  copyFileSync(join(source, 'horses.parquet'), join(first, 'horses', 'horses.parquet'));
  for (let k = 2; k <= practices; k++) {
    const folder = join(record, `practice=P${String(k).padStart(2, '0')}`);
    for (const name of readdirSync(first, { recursive: true }).map(String)) {
      if (statSync(join(first, name)).isDirectory()) mkdirSync(join(folder, name), { recursive: true });
      else linkSync(join(first, name), join(folder, name));
    }
  }
  return record;
}

async function* told(parts: AsyncIterable<HerdTables>): AsyncGenerator<HerdTables> {
  let k = 0;
  for await (const part of parts) {
    yield part;
    say(`practice ${++k}`);
  }
}

const PAGE_SQL: Readonly<Record<string, string>> = {
  'share of feet affected by month and ground': `SELECT date_trunc('month', visit_date)::DATE AS month, terrain, count(*) AS n,
      avg((separation_grade >= 1)::INTEGER) AS separated, avg((fungal_frog_grade >= 1)::INTEGER) AS infected
    FROM foot_visit GROUP BY ALL ORDER BY ALL`,
  'median regrowth by breed type and ground': `SELECT breed_type, terrain, count(*) AS n, median(toe_regrowth_mm * 30 / days) AS mm
    FROM trim_cycle WHERE flag IS NULL GROUP BY ALL ORDER BY ALL`,
  'spells of separation, counted': `SELECT present, count(*) AS n, avg(visits) AS visits FROM spell
    WHERE problem = 'separation' GROUP BY ALL ORDER BY ALL`,
  'all visits of one horse': `SELECT * FROM foot_visit WHERE horse_id = (SELECT max(horse_id) FROM foot_visit)
    ORDER BY visit_date, foot`,
  'the latest 200 rows in order':
    'SELECT * FROM foot_visit ORDER BY visit_date DESC, horse_id, foot LIMIT 200',
};

try {
  const record = await makeRecord();
  console.log('| step | s | processor, s | s in all | peak, GB |\n|---|---|---|---|---|');
  say('files written');
  const engine = await openNativeEngine({
    onDisk: HERD_CATALOG,
    memoryLimit: values.memory,
    temporary: room,
  });
  const books = new Books();
  const parts = readRecord(await partsOfFolder(record), null, civilDay(2026, 11, 1)!, books);
  await loadHerdInParts(engine, told(parts), { hemisphere: 'north' });
  say('trim cycles built');
  const { rowsRead, admitted, setAside } = books.report;
  console.log(`${rowsRead} rows read = ${admitted} admitted + ${setAside} set aside`);
  const counts = await countHerd(engine);
  say('counts of horses, feet, visits, cycles');
  for (const [what, sql] of Object.entries(PAGE_SQL)) {
    await engine.query(sql);
    say(what);
  }
  await engine.close();
  if (values.keep) {
    const { horses, feet, cycles } = counts;
    const day = new Date().toISOString().slice(0, 10);
    keepFolderRecord({
      day,
      practices,
      memory: values.memory,
      rowsRead,
      admitted,
      setAside,
      horses,
      feet,
      cycles,
      steps,
    });
    writeDocuments();
  }
} finally {
  rmSync(room, { recursive: true, force: true });
}
