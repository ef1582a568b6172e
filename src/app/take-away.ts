import type { ShownLength } from '../analyses/lengths.ts';
import { formatNumber } from '../core/format-value.ts';
import { chartInLengths, namedByUnit } from '../pages/shown-lengths.ts';
import type { TakeAway } from '../pages/take-away.ts';
import { chartPicture, type Picture } from '../plots/chart-picture.ts';
import type { HerdMethods, TableFormat, TakenTable } from './herd-service.ts';
import type { Caller } from './rpc.ts';
import { saveFile } from './save-file.ts';
import type { Scene } from './scenes.ts';

const FILES: Readonly<Record<TableFormat, { readonly ending: string; readonly type: string }>> = {
  csv: { ending: 'csv', type: 'text/csv' },
  parquet: { ending: 'parquet', type: 'application/vnd.apache.parquet' },
  arrow: { ending: 'arrows', type: 'application/vnd.apache.arrow.stream' },
};

/** Saves a table as a file and says what was done. */
export async function saveTable(herd: Caller<HerdMethods>, stem: string, what: TakenTable): Promise<string> {
  const { bytes, rowCount, defused } = await herd.call('takeAway', what);
  const { ending, type } = FILES[what.format];
  saveFile(`${stem}.${ending}`, bytes, type);
  const rows = `Saved ${formatNumber(rowCount)} ${rowCount === 1 ? 'row' : 'rows'}.`;
  if (defused === 0) return rows;
  const cells = defused === 1 ? '1 cell begins' : `${formatNumber(defused)} cells begin`;
  return `${rows} ${cells} as a formula would: an apostrophe was put in front, so that no spreadsheet runs it.`;
}

/** Twice as many dots as points: it is printed, too. */
const DENSITY = 2;

/** An SVG file painted as PNG. */
async function pictureAsPng({ svg, width, height }: Picture): Promise<Blob> {
  const address = URL.createObjectURL(new Blob([svg], { type: 'image/svg+xml' }));
  try {
    const image = new Image();
    image.src = address;
    await image.decode();
    const canvas = document.createElement('canvas');
    canvas.width = width * DENSITY;
    canvas.height = height * DENSITY;
    const brush = canvas.getContext('2d');
    if (!brush) throw new Error('this browser paints no pictures');
    brush.drawImage(image, 0, 0, canvas.width, canvas.height);
    return await new Promise((resolve, reject) =>
      canvas.toBlob(
        (blob) => (blob ? resolve(blob) : reject(new Error('the picture is too large'))),
        'image/png',
      ),
    );
  } finally {
    URL.revokeObjectURL(address);
  }
}

interface TakeAwayParts {
  readonly herd: Caller<HerdMethods>;
  readonly scene: () => Scene;
  /** Goes before the caption of a picture: the cohort in words. */
  readonly cohort: () => string;
  /** The unit in which the page gives lengths. */
  readonly lengths: () => ShownLength;
}

/** Takes tables and charts of a page away, as they stand in its scene. */
export function pageTakeAway({ herd, scene, cohort, lengths }: TakeAwayParts): TakeAway {
  return {
    async table(name, view, format) {
      const isQuery = !name.includes('.');
      const { table, hasLengths } = namedByUnit(view);
      const of = isQuery
        ? ({ kind: 'entry', scene: scene(), name } as const)
        : ({ kind: 'table', table } as const);
      const said = await saveTable(herd, name.replace('.', '-'), { format, of });
      return hasLengths && lengths() === 'in' ? `${said} Lengths in the file are in mm, as stored.` : said;
    },
    async picture(name, spec, views, format) {
      const told = chartInLengths(spec, views, lengths());
      const picture = chartPicture(told.spec, told.views, { before: cohort() });
      if (format === 'svg') saveFile(`${name}.svg`, picture.svg, 'image/svg+xml');
      else {
        const png = await pictureAsPng(picture);
        saveFile(`${name}.png`, new Uint8Array(await png.arrayBuffer()), 'image/png');
      }
      return null;
    },
  };
}
