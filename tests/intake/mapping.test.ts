import { describe, expect, it } from 'vitest';
import { FOOT_VISIT } from '../../src/herd/dictionary.ts';
import { headerMatches, headerWords } from '../../src/intake/header-match.ts';
import { mappingProblems } from '../../src/intake/mapping.ts';
import { inspectFile } from '../../src/intake/open.ts';
import { proposeMapping } from '../../src/intake/propose.ts';
import { bytesOf, mappingOf } from './admit.ts';

function first(header: string): unknown[] {
  const match = headerMatches(header)[0];
  return match ? [match.target, match.foot, match.unit] : [];
}

describe('a column of dates under a header that says nothing', () => {
  const rows = 'a,x12,8/2/2026,LF\nb,x13,29/3/2026,LF\n';
  const visitDate = async (text: string) =>
    (await mappingOf(text)).columns.find(({ target }) => target === 'visit_date');

  it('is the visit date where it is the only one', async () => {
    const found = await visitDate(`horse,box,Moment,foot\n${rows}`);
    expect([found?.source, found?.confidence, found?.why]).toEqual([
      'Moment',
      'guess',
      'the only column of dates',
    ]);
  });

  it('is left to the user where there are two, and in a file of horses', async () => {
    expect(await visitDate('horse,Moment,Paid,foot\na,2026-03-09,2026-03-10,LF\n')).toBeUndefined();
    expect(await visitDate('horse,breed,Moment\na,Shire,2026-03-09\n')).toBeUndefined();
  });

  it('gives way to one that is named', async () => {
    expect((await visitDate('horse,Moment,date,foot\na,2026-03-09,2026-03-10,LF\n'))?.source).toBe('date');
  });
});

describe('what stands above the header', () => {
  it('is said before the rows are read', async () => {
    const { notes } = await mappingOf('Trim book 2026,,\n,,\nhorse,date,foot\na,2026-03-09,LF\n');
    expect(notes).toEqual(['Above the header stands “Trim book 2026”: not read as rows.']);
  });
});

describe('headers', () => {
  it.each([
    ['Examined at', ['visit_date', null, null]],
    ['Patient no.', ['horse_id', null, null]],
    ['patient', ['horse_name', null, null]],
    ['Toe (in)', ['toe_before_mm', null, 'in']],
    ['Toe "', ['toe_before_mm', null, 'in']],
    ['toe length cm', ['toe_before_mm', null, 'cm']],
    ['Toe length after trim [mm]', ['toe_after_mm', null, 'mm']],
    ['pre-trim toe', ['toe_before_mm', null, null]],
    ['LF toe', ['toe_before_mm', 'LF', null]],
    ['toe_lf', ['toe_before_mm', 'LF', null]],
    ['LFToe', ['toe_before_mm', 'LF', null]],
    ['near fore heel mm', ['heel_before_mm', 'LF', 'mm']],
    ['Heel (after) - off hind (cm)', ['heel_after_mm', 'RH', 'cm']],
    ['Right front angle °', ['angle_before_deg', 'RF', 'deg']],
    ['HL thrush', ['fungal_frog_grade', 'LH', null]],
    ['Thrush (0-3)', ['fungal_frog_grade', null, null]],
    ['height of separation', ['separation_height_mm', null, null]],
    ['Date of visit', ['visit_date', null, null]],
    ['Left in', ['protection', null, null]],
    ['Weight (lbs)', ['body_mass_kg', null, 'lb']],
    ['toe length arriving', ['toe_before_mm', null, null]],
    ['Toe on leaving (in)', ['toe_after_mm', null, 'in']],
    ['LF heel on arrival', ['heel_before_mm', 'LF', null]],
    ['stretched wall', ['separation_grade', null, null]],
    ['Stretched white line LH', ['separation_grade', 'LH', null]],
    ['Zehe vorher (cm)', ['toe_before_mm', null, 'cm']],
    ['VL Zehenlänge nachher', ['toe_after_mm', 'LF', null]],
    ['Strahlfäule', ['fungal_frog_grade', null, null]],
    ['Teenlengte voor', ['toe_before_mm', null, null]],
    ['Verzenen na (mm)', ['heel_after_mm', null, 'mm']],
    ['Longueur de pince avant parage', ['toe_before_mm', null, null]],
    ['Décollement de paroi', ['separation_grade', null, null]],
    ['Longitud de pinza después', ['toe_after_mm', null, null]],
    ['Ángulo del casco antes', ['angle_before_deg', null, null]],
    ['Pferd', ['horse_id', null, null]],
    ['Fecha', ['visit_date', null, null]],
    ['Hoef', ['foot', null, null]],
    ['Shoe size', []],
    ['LF horse', []],
    ['date mm', []],
  ])('%s', (header, expected) => {
    expect(first(header)).toEqual(expected);
  });

  it('are found by every name of the dictionary, with its unit', () => {
    for (const c of FOOT_VISIT) expect(first(c.name), c.name).toEqual([c.name, null, c.unit]);
  });

  it('are parted into words at capitals, signs and accents', () => {
    expect(headerWords('LFToe_before (mm)')).toEqual(['lf', 'toe', 'before', 'mm']);
    expect(headerWords('Pié  «A»')).toEqual(['pie', 'a']);
  });

  it('give a column of the record to one of them only, the best', async () => {
    const { columns } = await mappingOf(
      'horse,horse_id,date,foot,toe_before_mm,toe\nBella,7,2026-03-09,LF,80,75\n',
    );
    const targets = columns.map((c) => c.target);
    expect(targets).toEqual([null, 'horse_id', 'visit_date', 'foot', 'toe_before_mm', null]);
    expect(columns[5]?.why).toBe('“toe_before_mm” already gives it');
  });

  it('let the name stand for the horse where nothing else does', async () => {
    const { columns } = await mappingOf('Name,date,foot\nBella,2026-03-09,LF\n');
    expect(columns[0]?.target).toBe('horse_id');
  });

  it('without a match are kept, not used', async () => {
    const { columns } = await mappingOf('horse,date,foot,Colour\na,2026-03-09,LF,bay\n');
    expect(columns[3]).toMatchObject({
      source: 'Colour',
      target: null,
      examples: ['bay'],
      confidence: 'none',
    });
  });
});

describe('kinds of file', () => {
  it('can be switched: the columns are proposed anew for that kind', async () => {
    const bytes = bytesOf('Horse,Breed,Date,thrush\na,Shire,2026-03-09,1\n');
    const { source, mapping } = await inspectFile({ name: 'x.csv', bytes });
    expect(mapping.kind).toBe('visits');
    const horses = proposeMapping(source, 'horses');
    expect([horses.kind, mappingProblems(horses)]).toEqual(['horses', []]);
    expect(horses.columns.map((c) => c.target)).toEqual(['horse_id', 'breed', null, null]);
    expect(horses.signature).toBe(mapping.signature);
  });

  it('horses have no date and no feet', async () => {
    expect((await mappingOf('horse_id,breed,born\na,Shire,2014\n')).kind).toBe('horses');
    expect((await mappingOf('horse_id,breed,date\na,Shire,2026-03-09\n')).kind).toBe('visits');
    expect((await mappingOf('horse_id,LF toe\na,80\n')).kind).toBe('visits');
  });
});

function dates(...written: string[]): string {
  return `horse,date,foot\n${written.map((d, i) => `h${i},${d},LF`).join('\n')}\n`;
}

describe('the order of day and month', () => {
  it('is proved by one date that has only one reading', async () => {
    const dayFirst = await mappingOf(dates('9/3/2026', '25/3/2026'));
    expect(dayFirst.dateOrder).toBe('day-first');
    expect(dayFirst.dateEvidence).toMatchObject({ onlyDayFirst: 1, onlyMonthFirst: 0, both: 1 });
    expect(dayFirst.dateWhy).toContain('“25/3/2026”');
    expect((await mappingOf(dates('9/3/2026', '3/25/2026'))).dateOrder).toBe('month-first');
  });

  it('is asked about where both readings fit throughout, or the proofs contradict', async () => {
    const both = await mappingOf(dates('9/3/2026', '1/2/2026'));
    expect(both.dateOrder).toBe('ask');
    expect(both.dateEvidence).toMatchObject({ both: 2, examples: { both: ['9/3/2026', '1/2/2026'] } });
    expect(mappingProblems(both)).toEqual(['The dates can be read day-first or month-first; say which.']);
    expect((await mappingOf(dates('25/3/2026', '3/25/2026'))).dateOrder).toBe('ask');
  });

  it('does not matter for dates with one reading', async () => {
    const mapping = await mappingOf(dates('2026-03-09', '9 Mar 2026', '7/7/2026'));
    expect([mapping.dateOrder, mapping.dateEvidence.sure]).toEqual(['iso', 3]);
  });

  it('stands against a slip in one of many, which is counted', async () => {
    const many = Array.from({ length: 30 }, (_, i) => `${13 + (i % 15)}/3/2026`);
    const mapping = await mappingOf(dates(...many, '3/25/2026'));
    expect(mapping.dateOrder).toBe('day-first');
    expect(mapping.dateWhy).toContain('1 only the other way');
  });

  it('is not moved by impossible dates', async () => {
    expect((await mappingOf(dates('31/02/2026', '9/3/2026'))).dateOrder).toBe('ask');
  });
});

function column(header: string, ...cells: string[]): string {
  return `horse;date;foot;${header}\n${cells.map((c, i) => `h${i};2026-03-09;LF;${c}`).join('\n')}\n`;
}

const unitOf = async (text: string): Promise<unknown[]> => {
  const mapping = await mappingOf(text);
  return mapping.columns.slice(3).map((c) => c.unit);
};

describe('units', () => {
  it.each([
    [['82', '91', '77'], 'mm'],
    [['8.2', '9.1', '7.7'], 'cm'],
    [['8,2', '9,1', '7,7'], 'cm'],
    [['3.25', '3.5', '3'], 'in'],
    [['3 1/4', '3', '4'], 'in'],
    [['3½', '3', '4'], 'in'],
  ])('of a toe of %s is seen from its size', async (cells, unit) => {
    expect(await unitOf(column('toe', ...cells))).toEqual([unit]);
  });

  it('of other lengths follow the toe where that fits, else the one that does', async () => {
    expect(await unitOf(column('toe;heel', '8.2;3.1', '9.1;4'))).toEqual(['cm', 'cm']);
    expect(await unitOf(column('toe (in);sole depth', '3 1/4;12', '3;14'))).toEqual(['in', 'mm']);
  });

  it('are asked about where several fit and no toe tells', async () => {
    const mapping = await mappingOf(column('heel', '1.5', '2'));
    expect(mapping.columns[3]?.unit).toBeNull();
    expect(mappingProblems(mapping)).toEqual(['“heel”: say whether mm, cm or inches.']);
  });

  it('of the header stand, with a warning where the values do not fit it', async () => {
    const [, , , wrong] = (await mappingOf(column('toe (in)', '82', '91', '77'))).columns;
    expect(wrong?.unit).toBe('in');
    expect(wrong?.warning).toMatch(/says inches.*look like millimetres/);
    const [, , , right] = (await mappingOf(column('toe (in)', '3 1/4', '3.5', '3'))).columns;
    expect(right?.warning).toBeNull();
    // One slip of the pen among few values is a row to mend, and no doubt about the unit.
    const [, , , slipped] = (await mappingOf(column('toe (in)', '3 1/4', '3.5', '35', '3.4'))).columns;
    expect([slipped?.unit, slipped?.warning]).toEqual(['in', null]);
  });

  it('come with a short reason', async () => {
    const mapping = await mappingOf(
      'horse;date;LF toe pre;LF toe post;LF heel (cm);LF sole;LF wall\na;2026-03-09;3 3/8;3 1/8;3,3;12;8 mm\n',
    );
    expect(mapping.columns.slice(2).map((c) => [c.why, c.unitWhy])).toEqual([
      ['left fore', 'fractions of an inch'],
      ['left fore', 'fractions of an inch'],
      ['taken as before the trim, as it does not say after; left fore', 'centimetres in the header'],
      ['left fore', 'only millimetres fit values of about 12'],
      ['left fore', 'each value says its own unit'],
    ]);
  });

  it('the ordinary decimal mark needs no words', async () => {
    expect((await mappingOf(column('toe', '8.2', '9.1'))).decimalWhy).toBe('');
    expect((await mappingOf(column('toe', '3 1/8', '3'))).decimalWhy).toBe('');
  });

  it('of many different values are told as from all of them', async () => {
    const cells = Array.from({ length: 500 }, (_, i) => (2.7 + i / 500).toFixed(3));
    expect(await unitOf(column('toe', ...cells))).toEqual(['in']);
    // 92 % of the values within 1 to 40 mm, and nothing as inches: the far ones are slips.
    const soles = Array.from({ length: 500 }, (_, i) => (i < 460 ? (4 + i / 20).toFixed(2) : '400'));
    expect(await unitOf(column('sole depth', ...soles))).toEqual(['mm']);
  });

  it('decimal marks are counted', async () => {
    expect((await mappingOf(column('toe', '8,2', '9,1', '7.7'))).decimalWhy).toMatch(
      /^2 .* comma, 1 .* point/,
    );
  });
});

describe('mappingProblems', () => {
  it('names everything that is missing or double', async () => {
    const mapping = await mappingOf('Colour,Size\nbay,9\n');
    expect(mappingProblems(mapping)).toEqual([
      'No column says which horse.',
      'No column holds the visit date.',
      'No column says which foot.',
    ]);
    const twice = await mappingOf('horse,date,foot,toe,length\na,2026-03-09,LF,80,81\n');
    const columns = twice.columns.map((c) =>
      c.source === 'length' ? { ...c, target: 'toe_before_mm' as const, unit: 'mm' as const } : c,
    );
    expect(mappingProblems({ ...twice, columns })).toEqual([
      '“toe” and “length” are both read as “Toe length before the trim”.',
    ]);
    const feet = await mappingOf('horse,date,LF toe,LF toe before\na,2026-03-09,80,81\n');
    const both = feet.columns.map((c) => ({
      ...c,
      target: c.foot || c.source === 'LF toe' ? ('toe_before_mm' as const) : c.target,
      foot: c.source.startsWith('LF') ? ('LF' as const) : null,
      unit: c.source.startsWith('LF') ? ('mm' as const) : c.unit,
    }));
    expect(mappingProblems({ ...feet, columns: both })).toEqual([
      '“LF toe” and “LF toe before” are both read as “Toe length before the trim”, left fore.',
    ]);
  });
});
