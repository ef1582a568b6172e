import { describe, expect, it } from 'vitest';
import { chooseDateOrder, chooseFoot, chooseUnit, retarget } from '../../src/intake/choices.ts';
import { type MappedColumn, type Mapping, mappingProblems } from '../../src/intake/mapping.ts';
import { mappingOf } from './admit.ts';

function table(headers: string, ...rows: string[]): string {
  const lines = rows.map((cells, i) => `h${i};2026-03-09;LF;${cells}`);
  return `horse;date;foot;${headers}\n${lines.join('\n')}\n`;
}

const at = ({ columns }: Mapping, source: string): number => columns.findIndex((c) => c.source === source);
const column = (mapping: Mapping, source: string): MappedColumn =>
  mapping.columns[at(mapping, source)] as MappedColumn;
function aimed(mapping: Mapping, source: string, target: MappedColumn['target']): MappedColumn {
  return column(retarget(mapping, at(mapping, source), target), source);
}

describe('a column that the user reads as a length', () => {
  it.each([
    ['inches by size', ['3.37', '3.55', '3.62'], 'in'],
    ['inches by fractions', ['3 3/8', '3½', '3'], 'in'],
    ['centimetres', ['8,4', '9,1', '7,9'], 'cm'],
    ['millimetres', ['84', '91', '79'], 'mm'],
  ])('has its unit from its values: %s', async (_, cells, unit) => {
    const mapping = await mappingOf(table('Reading', ...cells));
    expect(column(mapping, 'Reading')).toMatchObject({ target: null, unit: null });
    const toe = aimed(mapping, 'Reading', 'toe_before_mm');
    expect([toe.unit, toe.why, toe.chosen]).toEqual([unit, 'as you chose', ['target']]);
  });

  it('has the unit its header names, with a warning where the values do not fit it', async () => {
    const mapping = await mappingOf(table('Reading (in);Other (in)', '82;3.2', '91;3.4'));
    const wrong = aimed(mapping, 'Reading (in)', 'toe_before_mm');
    expect([wrong.unit, wrong.warning]).toEqual(['in', expect.stringMatching(/look like millimetres/)]);
    expect(aimed(mapping, 'Other (in)', 'toe_before_mm')).toMatchObject({
      unit: 'in',
      unitWhy: 'inches in the header',
      warning: null,
    });
  });

  it('has none where the values do not tell, and the file is not read before it is chosen', async () => {
    const mapping = await mappingOf(table('Reading', '1.5', '2'));
    const open = retarget(mapping, 3, 'heel_before_mm');
    expect(open.columns[3]?.unit).toBeNull();
    expect(mappingProblems(open)).toEqual(['“Reading”: say whether mm, cm or inches.']);
    const chosen = chooseUnit(open, 3, 'in');
    expect(chosen.columns[3]).toMatchObject({ unit: 'in', unitWhy: 'unit as you chose' });
    expect(mappingProblems(chosen)).toEqual([]);
  });

  it('has none where no evidence was kept with the mapping', async () => {
    const mapping = await mappingOf(table('Reading;toe', '3.3;3.4', '3.5;3.6'));
    const columns = mapping.columns.map(({ seen: _, ...rest }) => rest);
    const read = retarget({ ...mapping, columns }, 3, 'heel_before_mm');
    expect(read.columns.slice(3).map((c) => c.unit)).toEqual([null, 'in']);
  });

  it('lends its unit to lengths that were left open, not to those chosen', async () => {
    const mapping = await mappingOf(table('heel;bevel;Reading', '1.5;0.4;3.3', '2;0.3;3.5'));
    expect(mapping.columns.slice(3, 5).map((c) => c.unit)).toEqual([null, null]);
    const read = retarget(chooseUnit(mapping, 4, 'cm'), 5, 'toe_before_mm');
    expect(read.columns.slice(3).map((c) => c.unit)).toEqual(['in', 'cm', 'in']);
  });

  it('loses a unit chosen for what it was read as before', async () => {
    const mapping = chooseUnit(await mappingOf(table('toe', '84', '91')), 3, 'in');
    const again = retarget(mapping, 3, 'toe_after_mm');
    expect(again.columns[3]).toMatchObject({ unit: 'mm', chosen: ['target'] });
  });
});

describe('a column that the user reads otherwise', () => {
  it('takes the foot that its header names where a row holds four', async () => {
    const mapping = await mappingOf('horse,date,LF toe,NH gizmo\na,2026-03-09,80,81\n');
    expect(aimed(mapping, 'NH gizmo', 'toe_before_mm')).toMatchObject({
      foot: 'LH',
      unit: 'mm',
      why: 'as you chose; left hind',
    });
    const long = await mappingOf('horse,date,foot,NH gizmo\na,2026-03-09,LF,81\n');
    expect(aimed(long, 'NH gizmo', 'toe_before_mm').foot).toBeNull();
    expect(aimed(mapping, 'NH gizmo', 'terrain')).toMatchObject({ foot: null, unit: null });
  });

  it('is asked for its order of day and month once it holds the dates', async () => {
    const mapping = await mappingOf('horse,When,Paid,foot\na,8/2/2026,9/2/2026,LF\nb,9/3/2026,9/3/2026,LF\n');
    expect(mapping.dateOrder).toBe('iso');
    const dated = retarget(mapping, 1, 'visit_date');
    expect([dated.dateOrder, dated.dateEvidence.both]).toEqual(['ask', 2]);
    expect(mappingProblems(dated)).toEqual(['The dates can be read day-first or month-first; say which.']);
    const chosen = chooseDateOrder(dated, 'month-first');
    expect([chosen.dateWhy, mappingProblems(chosen)]).toEqual(['as you chose', []]);
    expect(retarget(dated, 1, null).dateOrder).toBe('iso');
  });

  it('says “as you chose” of that column and that choice only', async () => {
    const mapping = await mappingOf('horse,date,LF toe,RF toe\na,2026-03-09,80,81\n');
    const changed = chooseFoot(mapping, 3, 'RH');
    const before = 'taken as before the trim, as it does not say after';
    expect(changed.columns.slice(2).map((c) => [c.why, c.chosen ?? []])).toEqual([
      [`${before}; left fore`, []],
      [`${before}; right hind, as you chose`, ['foot']],
    ]);
  });
});
