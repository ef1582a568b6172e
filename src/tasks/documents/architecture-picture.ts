import { houseOf, type SourceFile } from './imports.ts';

/** What each folder is for, in a few words; the order in which folders that could change places stand. */
const FOLDERS: Readonly<Record<string, string>> = {
  app: 'the shell, its worker, what is kept',
  batch: 'the audit command',
  tasks: 'npm’s scripts, plugins of the build',
  pages: 'page format, runtime, how entries show',
  plots: 'finished numbers in, drawings out',
  sheet: 'the grid over a table',
  intake: 'files to rows admitted and set aside',
  analyses: 'one question a folder',
  stats: 'estimators; not one horse word',
  herd: 'data dictionary, relations in SQL',
  engine: 'the database behind an interface',
  core: 'days, lengths, tables, outcomes',
};

/** Imports are told in classes, so that the picture changes with the structure and not with every line. */
const CLASSES = [
  { from: 1, radius: 4, says: 'under 10 imports' },
  { from: 10, radius: 7, says: '10 to 49' },
  { from: 50, radius: 10, says: '50 and more' },
] as const;

const LEFT = 330;
const TOP = 24;
const STEP_X = 80;
const STEP_Y = 46;
const BOX = { width: 74, height: 28 };

const STYLE = `
    text { font: 14px system-ui, sans-serif; fill: #1f2328 }
    .for { fill: #57606a; font-size: 13px }
    .name { font-weight: 600; font-size: 13px; text-anchor: middle }
    .paper { fill: #ffffff }
    .box { fill: #e8f0ec; stroke: #3d6b5a; stroke-width: 1.5 }
    .line { fill: none; stroke: #8c959f; stroke-width: 1.25 }
    .head, .dot { fill: #24604a }
    @media (prefers-color-scheme: dark) {
      text { fill: #e6edf3 } .for { fill: #a5adb7 } .paper { fill: #0d1117 }
      .box { fill: #1b2f27; stroke: #6fb597 } .line { stroke: #6e7681 } .head, .dot { fill: #7fcfae }
    }`;

interface Arrow {
  readonly from: string;
  readonly to: string;
  readonly imports: number;
}

/** How many import statements lead from each folder of `src` to each other one. */
export function folderArrows(files: readonly SourceFile[]): Arrow[] {
  const counts = new Map<string, number>();
  for (const { path, imports } of files) {
    for (const { target, isPackage } of imports) {
      const [from, to] = [houseOf(path), isPackage ? null : houseOf(target)];
      if (from && to && from !== to) counts.set(`${from} ${to}`, (counts.get(`${from} ${to}`) ?? 0) + 1);
    }
  }
  return [...counts].map(([pair, imports]) => {
    const [from = '', to = ''] = pair.split(' ');
    return { from, to, imports };
  });
}

/** Folders so that each stands before all that it imports; throws where they import one another in a ring. */
export function inOrder(names: readonly string[], arrows: readonly Arrow[]): string[] {
  const left = [...names];
  const order: string[] = [];
  while (left.length > 0) {
    const next = left.findIndex((name) => !arrows.some(({ from, to }) => to === name && left.includes(from)));
    if (next < 0) throw new Error(`folders import one another in a ring: ${left.join(', ')}`);
    order.push(...left.splice(next, 1));
  }
  return order;
}

/**
 * `docs/architecture.svg`: folders as boxes down a diagonal, each import as a line that leaves its folder to the right
 * and ends in an arrow above what is imported, with a dot at the turn, the larger the more imports.
 */
export function architecturePicture(files: readonly SourceFile[]): string {
  const arrows = folderArrows(files);
  const present = new Set(files.map(({ path }) => houseOf(path)));
  const untold = [...present].filter((name) => name === null || !(name in FOLDERS));
  if (untold.length > 0) throw new Error(`say what the folder is for: ${untold.join(', ')}`);
  const order = inOrder(
    Object.keys(FOLDERS).filter((name) => present.has(name)),
    arrows,
  );
  const x = (name: string): number => LEFT + order.indexOf(name) * STEP_X + BOX.width / 2;
  const y = (name: string): number => TOP + order.indexOf(name) * STEP_Y + BOX.height / 2;
  const width = LEFT + (order.length - 1) * STEP_X + BOX.width + 24;
  const height = TOP + order.length * STEP_Y + 30;
  const rows = order.flatMap((name) => {
    const out = arrows.filter(({ from }) => from === name);
    const into = arrows.filter(({ to }) => to === name);
    const farthest = Math.max(...out.map(({ to }) => x(to)));
    const first = Math.min(...into.map(({ from }) => y(from)));
    const top = y(name) - BOX.height / 2;
    return [
      out.length ? `<path class="line" d="M${x(name)} ${y(name)}H${farthest}"/>` : '',
      into.length ? `<path class="line" d="M${x(name)} ${first}V${top - 6}"/>` : '',
      into.length ? `<path class="head" d="M${x(name)} ${top - 1}l-5 -9h10z"/>` : '',
    ];
  });
  const dots = arrows
    .toSorted((a, b) => y(a.from) - y(b.from) || x(a.to) - x(b.to))
    .map(
      ({ from, to, imports }) =>
        `<circle class="dot" cx="${x(to)}" cy="${y(from)}" r="${radius(imports)}"><title>${from} imports ${to}: ${said(imports)}</title></circle>`,
    );
  const boxes = order.map((name) => {
    const left = x(name) - BOX.width / 2;
    return `<text class="for" x="16" y="${y(name) + 5}">${FOLDERS[name]}</text>
  <rect class="box" x="${left}" y="${y(name) - BOX.height / 2}" width="${BOX.width}" height="${BOX.height}" rx="5"/>
  <text class="name" x="${x(name)}" y="${y(name) + 4.5}">${name}</text>`;
  });
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img" aria-label="Folders of src and which imports which">
  <style>${STYLE}
  </style>
  <rect class="paper" width="${width}" height="${height}"/>
  ${[...rows.filter((row) => row !== ''), ...dots, ...boxes, ...key(height - 16)].join('\n  ')}
</svg>
`;
}

const classOf = (imports: number) => CLASSES.findLast(({ from }) => imports >= from) ?? CLASSES[0];
const radius = (imports: number): number => classOf(imports).radius;
const said = (imports: number): string => classOf(imports).says;

function key(y: number): string[] {
  return CLASSES.flatMap(({ radius: r, says }, k) => [
    `<circle class="dot" cx="${30 + k * 180}" cy="${y - 5}" r="${r}"/>`,
    `<text class="for" x="${46 + k * 180}" y="${y}">${says}</text>`,
  ]);
}
