import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { spreadOf } from './measure.ts';
import { markdownTable, whole } from './words.ts';

export interface Step {
  readonly what: string;
  readonly seconds: number;
  /** Of all threads. */
  readonly processorSeconds: number;
  /** The most memory that the process has held so far. */
  readonly peakGB: number;
}

/** What `scale.ts` measured of a record in a folder: a step for each practice (`practice 1`), then the others in order. */
export interface FolderRecord {
  /** ISO 8601 date. */
  readonly day: string;
  readonly practices: number;
  readonly memory: string;
  readonly rowsRead: number;
  readonly admitted: number;
  readonly setAside: number;
  readonly horses: number;
  readonly feet: number;
  readonly cycles: number;
  readonly steps: readonly Step[];
}

const FILE = 'docs/scale.json';
const PRACTICE = /^practice \d+$/;
const BUILT = 'trim cycles built';
const MADE = 'files written';

export function readFolderRecord(): FolderRecord | null {
  return existsSync(FILE) ? (JSON.parse(readFileSync(FILE, 'utf8')) as FolderRecord) : null;
}

export function keepFolderRecord(record: FolderRecord): void {
  const { steps, ...about } = record;
  const lines = steps.map((step) => `  ${JSON.stringify(step)}`).join(',\n');
  writeFileSync(FILE, `${JSON.stringify(about).slice(0, -1)},\n "steps": [\n${lines}\n ]}\n`);
}

/** Seconds to two digits below ten, whole from there on. */
const seconds = (value: number): string => (value < 10 ? value.toFixed(1) : whole(Math.round(value)));

/** As Markdown: each step's times and memory, and how the last practice compares with the first. Throws without practices. */
export function folderRecordText(record: FolderRecord): string {
  const practices = record.steps.filter(({ what }) => PRACTICE.test(what));
  const [first, last] = [practices[0], practices.at(-1)];
  if (!first || !last) throw new Error('steps must hold a practice');
  const line = ({ what, processorSeconds, seconds: byClock, peakGB }: Step): string[] => [
    what,
    seconds(processorSeconds),
    seconds(byClock),
    peakGB.toFixed(1),
  ];
  const spread = (of: (step: Step) => number): string => {
    const { median, least, most } = spreadOf(practices.map(of));
    return `${seconds(median)} (${seconds(least)}–${seconds(most)})`;
  };
  const sum = (of: (step: Step) => number): number => practices.reduce((total, step) => total + of(step), 0);
  const { rowsRead, admitted, setAside, horses, feet, cycles, memory } = record;
  const others = record.steps
    .filter(({ what }) => !PRACTICE.test(what) && what !== MADE)
    .map((step) =>
      step.what === BUILT
        ? {
            ...step,
            what: `\`trim_cycle\` and \`foot_visit\` built: ${whole(cycles)} cycles of ${whole(feet)} feet, ${whole(horses)} horses`,
          }
        : step,
    );
  const table = markdownTable(
    ['step', 'processor, s', 'by the clock, s', 'peak memory so far, GB'],
    [
      line({ ...first, what: 'the first practice read, judged and brought in' }),
      [
        `each of the ${practices.length}: median (least to most)`,
        spread((step) => step.processorSeconds),
        spread((step) => step.seconds),
        last.peakGB.toFixed(1),
      ],
      line({
        ...last,
        what: `all ${practices.length}: ${whole(rowsRead)} rows read = ${whole(admitted)} admitted + ${whole(setAside)} set aside`,
        processorSeconds: sum((step) => step.processorSeconds),
        seconds: sum((step) => step.seconds),
      }),
      ...others.map(line),
    ],
  );
  const growthMB = (1000 * (last.peakGB - first.peakGB)) / (practices.length - 1);
  return `${table}
Measured on ${record.day}. The last practice took ${seconds(last.processorSeconds)} s of the processor, the first ${seconds(first.processorSeconds)} s; peak memory
grew by ${Math.round(growthMB)} MB a practice, with the engine allowed ${memory}.
`;
}
