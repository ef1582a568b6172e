import { isoFromDay, partsOfDay } from '../../src/core/civil-day.ts';
import { formatInches } from '../../src/intake/values/length-value.ts';

/** Exports as people really have them; every horse and yard is invented. Seeded: the same bytes every time. */

/** Park–Miller minimal standard generator (Commun ACM 31:1192–1201, 1988). */
function seeded(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state * 48_271) % 2_147_483_647;
    return state / 2_147_483_647;
  };
}

export interface BadRow {
  /** Physical line in the file. */
  readonly line: number;
  readonly reason: RegExp;
}

export interface MessyExport {
  readonly text: string;
  readonly rows: number;
  readonly bad: readonly BadRow[];
}

const HORSES = [
  ['Zoé', 'Moor Farm', 'Shetland'],
  ['Flöckchen', 'Moor Farm', 'Haflinger'],
  ['Señor Lobo', 'Hill End', 'Andalusian'],
  ['Brí', 'Hill End', 'Connemara'],
  ['Duchess', 'Hill End', 'Clydesdale'],
  ['Old Tom', 'Long Acre', 'Irish cob'],
  ['Çelik', 'Long Acre', 'Arab'],
  ['Pip', 'Long Acre', 'Welsh Section C'],
  ['Marigold', 'Ford House', 'Shire'],
  ['Ångström', 'Ford House', 'Danish Warmblood'],
  ['Bramble', 'Ford House', 'Exmoor'],
  ['Quill', 'Ford House', 'Thoroughbred'],
  ['Tansy', 'Moor Farm', 'Warmblood'],
  ['Ned', 'Moor Farm', 'Donkey'],
  ['Maïa', 'Long Acre', 'Selle français'],
  ['Rook', 'Hill End', 'Friesian'],
  ['Juno', 'Ford House', 'Hanoverian'],
  ['Biscuit', 'Long Acre', 'Cob x'],
  ['Fen', 'Moor Farm', 'Fell'],
  ['Sable', 'Hill End', 'Trakehner'],
] as const;

const FEET = ['near fore', 'off fore', 'near hind', 'off hind'] as const;
const GRADES = ['none', 'none', 'none', '+', 'slight', '++', 'moderate'] as const;
const FIRST_DAY = 20_150; // 2025-03-03

function dayFirst(day: number, year: 2 | 4): string {
  const parts = partsOfDay(day);
  const two = (n: number): string => String(n).padStart(2, '0');
  return `${parts.dayOfMonth}/${two(parts.month)}/${String(parts.year).slice(-year)}`;
}

/** Inches the way different hands write them: `3 3/8`, `3-3/8"`, `3½`. */
function inches(mm: number, hand: number): string {
  const text = formatInches(mm);
  if (hand < 0.3) return text;
  if (hand < 0.6) return `${text.replace(' ', '-')}"`;
  return text.replace(' 1/2', '½').replace(' 1/4', '¼').replace(' 3/4', '¾');
}

function quoted(cell: string): string {
  return /[";\n]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell;
}

const HEADER =
  'Horse;Yard;Breed;Date;Foot;Toe (in);Toe after (in);Heel (in);Toe angle;Sole depth (mm);Thrush;Wall separation;Ground;Moisture;Left in;Treated;Notes;Colour';

/** One row per foot: semicolons, day-first dates, inches with fractions, decimal commas, near and off, one bad row in fifty. */
export function messyExport(): MessyExport {
  const random = seeded(20_261_125);
  const lines = [HEADER];
  const bad: BadRow[] = [];
  let physical = 2;
  let rows = 0;
  const push = (cells: readonly string[]): void => {
    const line = cells.map(quoted).join(';');
    lines.push(line);
    physical += line.split('\n').length;
    rows++;
  };
  HORSES.forEach(([horse, yard, breed], h) => {
    let day = FIRST_DAY + Math.floor(random() * 30);
    for (let visit = 0; visit < 5; visit++) {
      FEET.forEach((foot, f) => {
        const toe = 78 + (h % 5) * 4 + random() * 8;
        const cells = [
          horse,
          yard,
          breed,
          dayFirst(day, h % 3 === 0 ? 2 : 4),
          foot,
          inches(toe, random()),
          inches(toe - 5 - random() * 3, random()),
          inches(32 + random() * 8, random()),
          (48 + random() * 7).toFixed(1).replace('.', ','),
          (9 + random() * 6).toFixed(1).replace('.', ','),
          GRADES[Math.floor(random() * GRADES.length)] as string,
          GRADES[Math.floor(random() * GRADES.length)] as string,
          ['grass', 'hard', 'stony', 'mixed'][h % 4] as string,
          ['dry', 'wet', 'muddy'][Math.floor(random() * 3)] as string,
          ['barefoot', 'boots', 'bare'][Math.floor(random() * 3)] as string,
          random() < 0.2 ? 'x' : '',
          note(visit, f, random()),
          ['bay', 'grey', 'chestnut'][h % 3] as string,
        ];
        if (rows % 50 === 49) spoil(cells, Math.floor(rows / 50), bad, physical);
        push(cells);
      });
      day += 30 + Math.floor(random() * 40);
    }
  });
  return { text: `${lines.join('\r\n')}\r\n`, rows, bad };
}

function note(visit: number, foot: number, chance: number): string {
  if (visit === 1 && foot === 0) return 'heel soft; see again';
  if (visit === 2 && foot === 1) return 'said "tender"\non gravel';
  return chance < 0.1 ? 'flare at the quarter' : '';
}

/** Spoils a row in one of eight ways and notes it. */
function spoil(cells: string[], way: number, bad: BadRow[], line: number): void {
  const set = (at: number, cell: string, reason: RegExp): void => {
    cells[at] = cell;
    bad.push({ line, reason });
  };
  const ways: readonly (() => void)[] = [
    () => set(3, '31/02/2026', /no such day/),
    () => set(5, 'long', /not a length/),
    () => set(4, 'middle', /not one of the words for foot/),
    () => set(11, '9', /no such grade/),
    () => set(0, '', /horse is missing/),
    () => set(3, '14/05/2203', /in the future/),
    () => set(9, '85', /outside 1 to 40 mm/),
    () => {
      cells.push('one cell too many');
      bad.push({ line, reason: /too many cells/ });
    },
  ];
  ways[way % ways.length]?.();
}

export interface WideExport {
  readonly text: string;
  readonly rows: number;
  readonly footRows: number;
  readonly emptyFeet: number;
}

/** One row per visit, four feet in columns, centimetres, ISO dates; some feet not measured. */
export function wideExport(): WideExport {
  const random = seeded(7_919);
  const feet = ['LF', 'RF', 'LH', 'RH'];
  const header = [
    'Horse ID',
    'Client',
    'Visit date',
    ...feet.map((f) => `${f} toe (cm)`),
    ...feet.map((f) => `${f} toe after (cm)`),
    ...feet.map((f) => `thrush_${f.toLowerCase()}`),
    'Terrain',
    'Comments',
  ];
  const lines = [header.join(',')];
  let rows = 0;
  let footRows = 0;
  let emptyFeet = 0;
  for (let h = 0; h < 12; h++) {
    let day = FIRST_DAY + h;
    for (let visit = 0; visit < 6; visit++) {
      const seen = feet.map(() => random() > 0.06);
      if (!seen.includes(true)) seen[0] = true;
      const toes = seen.map((yes) => (yes ? 7.6 + (h % 4) * 0.6 + random() : null));
      lines.push(
        [
          `W${String(h + 1).padStart(2, '0')}`,
          `yard ${1 + (h % 3)}`,
          isoFromDay(day),
          ...toes.map((toe) => toe?.toFixed(1) ?? ''),
          ...toes.map((toe) => (toe === null ? '' : (toe - 0.6).toFixed(1))),
          ...seen.map((yes) => (yes ? String(Math.floor(random() * 3)) : '')),
          ['soft', 'firm', 'rocky'][h % 3],
          '',
        ].join(','),
      );
      rows++;
      footRows += seen.filter(Boolean).length;
      emptyFeet += seen.filter((yes) => !yes).length;
      day += 35 + Math.floor(random() * 30);
    }
  }
  return { text: `${lines.join('\n')}\n`, rows, footRows, emptyFeet };
}

/** Windows-1252 for text whose characters are all in its Latin-1 part. Throws on others. */
export function windows1252(text: string): Uint8Array {
  return Uint8Array.from(text, (c) => {
    const code = c.codePointAt(0) as number;
    if (code > 0xff || (code >= 0x80 && code < 0xa0)) throw new Error(`not in Latin-1: ${c}`);
    return code;
  });
}
