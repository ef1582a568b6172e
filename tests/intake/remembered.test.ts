import { describe, expect, it } from 'vitest';
import { chooseDateOrder, chooseFoot, chooseUnit, retarget } from '../../src/intake/choices.ts';
import {
  type MappedColumn,
  type Mapping,
  mappingProblems,
  type RememberedMapping,
  rememberMapping,
} from '../../src/intake/mapping.ts';
import { inspectFile } from '../../src/intake/open.ts';
import { proposeMapping } from '../../src/intake/propose.ts';
import { applyRemembered, recallMapping } from '../../src/intake/remembered.ts';
import { bytesOf, mappingOf } from './admit.ts';

const AS_CHOSEN = 'as you chose for a file with these headers';
const kept = (mapping: Mapping): RememberedMapping => JSON.parse(JSON.stringify(rememberMapping(mapping)));
const at = ({ columns }: Mapping, source: string): number => columns.findIndex((c) => c.source === source);
const named = (mapping: Mapping, source: string): MappedColumn =>
  mapping.columns[at(mapping, source)] as MappedColumn;
const table = (headers: string, ...rows: string[]): string =>
  `horse,date,foot,${headers}\n${rows.map((r, i) => `h${i},2026-03-09,LF,${r}`).join('\n')}\n`;

describe('targets and feet', () => {
  it('come back for the same headers, in another order and case', async () => {
    const first = await mappingOf('horse,date,foot,Länge,Colour\na,2026-03-09,LF,8.1,bay\n');
    const stored = kept(retarget(first, at(first, 'Länge'), 'toe_before_mm'));
    const again = applyRemembered(
      await mappingOf('Colour,HORSE,foot,date,Länge\nbay,b,RF,2026-03-10,8.4\n'),
      stored,
    );
    expect(named(again, 'Länge')).toMatchObject({
      target: 'toe_before_mm',
      unit: 'cm',
      confidence: 'user',
      why: AS_CHOSEN,
    });
    expect(mappingProblems(again)).toEqual([]);
  });

  it('are said to be chosen only where they were', async () => {
    const wide = 'horse,date,LF toe,RF toe,notes\na,2026-03-09,80,81,x\n';
    const first = await mappingOf(wide);
    const stored = kept(chooseFoot(retarget(first, at(first, 'notes'), null), at(first, 'RF toe'), 'RH'));
    const again = applyRemembered(await mappingOf(wide), stored);
    expect(again.columns.map((c) => [c.target, c.foot, c.why.includes(AS_CHOSEN)])).toEqual([
      ['horse_id', null, false],
      ['visit_date', null, false],
      ['toe_before_mm', 'LF', false],
      ['toe_before_mm', 'RH', true],
      [null, null, true],
    ]);
    // And a third time, though nothing was changed the second.
    expect(applyRemembered(await mappingOf(wide), kept(again))).toEqual(again);
  });

  it('take a target from the column it was proposed for', async () => {
    const text = table('toe,gizmo', '80,81');
    const first = await mappingOf(text);
    const stored = kept(retarget(retarget(first, 3, null), 4, 'toe_before_mm'));
    const unsaid = {
      ...stored,
      columns: stored.columns.map((c) => (c.source === 'toe' ? { ...c, chosen: [] } : c)),
    };
    const again = applyRemembered(await mappingOf(text), unsaid);
    expect(again.columns.slice(3).map((c) => [c.target, c.why])).toEqual([
      [null, '“gizmo” already gives it'],
      ['toe_before_mm', AS_CHOSEN],
    ]);
  });

  it('of a record from before choices were told apart count as chosen where they differ', async () => {
    const first = await mappingOf(table('gizmo,notes', '81,x'));
    const { dateChosen: _, columns, ...rest } = kept(retarget(first, 3, 'toe_before_mm'));
    const old = { ...rest, columns: columns.map(({ chosen: __, ...c }) => c) };
    const again = applyRemembered(first, old);
    expect(again.columns.slice(3).map((c) => [c.target, c.chosen ?? []])).toEqual([
      ['toe_before_mm', ['target']],
      ['notes', []],
    ]);
  });

  it('leave a file with other headers alone', async () => {
    const other = await mappingOf(table('toe', '81'));
    expect(applyRemembered(other, kept(await mappingOf(table('heel', '31'))))).toBe(other);
  });
});

describe('a remembered unit', () => {
  const headers = 'toe before,toe after,sep height';
  const inches = table(headers, '3.46,3.15,0.39', '3.5,3.15,0.39');
  const millimetres = table(headers, '88,80,10', '89,80,10');

  it('gives way to the values of the next file, with a warning', async () => {
    const again = applyRemembered(await mappingOf(millimetres), kept(await mappingOf(inches)));
    expect(again.columns.slice(3).map((c) => [c.unit, c.warning])).toEqual(
      ['mm', 'mm', 'mm'].map((unit) => [
        unit,
        'an earlier file with these headers was read in inches, but these values look like millimetres',
      ]),
    );
    expect(again.columns.some((c) => `${c.why}${c.unitWhy}`.includes('you chose'))).toBe(false);
  });

  it('gives way also where the user had chosen it, and where the toe tells', async () => {
    const first = await mappingOf(inches);
    const stored = kept(chooseUnit(chooseUnit(first, 3, 'in'), 5, 'in'));
    const again = applyRemembered(await mappingOf(millimetres), stored);
    expect(again.columns.slice(3).map((c) => c.unit)).toEqual(['mm', 'mm', 'mm']);
    for (const column of [again.columns[3], again.columns[5]]) {
      expect(column?.warning).toBe(
        'you chose inches for a file with these headers, but these values look like millimetres',
      );
    }
  });

  it('says nothing where the values agree', async () => {
    const first = await mappingOf(inches);
    expect(applyRemembered(await mappingOf(inches), kept(first))).toEqual(first);
  });

  it('decides where the values leave it open', async () => {
    const heel = table('heel', '1.5', '2');
    const first = await mappingOf(heel);
    expect(first.columns[3]?.unit).toBeNull();
    const again = applyRemembered(await mappingOf(heel), kept(chooseUnit(first, 3, 'in')));
    expect(again.columns[3]).toMatchObject({ unit: 'in', unitWhy: `unit ${AS_CHOSEN}`, warning: null });
    // 31 as inches is a heel of 787 mm.
    const other = applyRemembered(
      await mappingOf(table('heel', '31', '33')),
      kept(chooseUnit(first, 3, 'in')),
    );
    expect(other.columns[3]).toMatchObject({
      unit: 'mm',
      warning: expect.stringContaining('you chose inches'),
    });
  });

  it('of a mass comes back: values do not tell pounds', async () => {
    const horses = 'horse,breed,weight\na,Shire,1150\n';
    const first = await mappingOf(horses);
    expect(first.columns[2]).toMatchObject({ unit: 'kg', unitWhy: 'taken as kg: the header names no unit' });
    const again = applyRemembered(await mappingOf(horses), kept(chooseUnit(first, 2, 'lb')));
    expect(again.columns[2]).toMatchObject({ unit: 'lb', unitWhy: `unit ${AS_CHOSEN}` });
  });
});

describe('a remembered order of dates', () => {
  const dated = (date: string) => mappingOf(`horse,date,foot\na,${date},LF\n`);

  it('decides where both readings fit, and says whether it was chosen', async () => {
    const chosen = applyRemembered(
      await dated('2/4/2026'),
      kept(chooseDateOrder(await dated('9/3/2026'), 'day-first')),
    );
    expect([chosen.dateOrder, chosen.dateWhy]).toEqual(['day-first', AS_CHOSEN]);
    const proved = applyRemembered(await dated('2/4/2026'), kept(await dated('25/3/2026')));
    expect([proved.dateOrder, proved.dateWhy]).toEqual([
      'day-first',
      'as in an earlier file with these headers',
    ]);
  });

  it('yields to dates that prove the other', async () => {
    const again = applyRemembered(
      await dated('3/25/2026'),
      kept(chooseDateOrder(await dated('9/3/2026'), 'day-first')),
    );
    expect(again.dateOrder).toBe('month-first');
  });

  it('is none where the earlier dates had one reading', async () => {
    expect(applyRemembered(await dated('2/4/2026'), kept(await dated('2026-03-09'))).dateOrder).toBe('ask');
  });

  it('holds for a column that was chosen as the date', async () => {
    const text = (date: string) => `horse,When,foot\na,${date},LF\n`;
    const first = retarget(await mappingOf(text('9/3/2026')), 1, 'visit_date');
    const again = applyRemembered(
      await mappingOf(text('2/4/2026')),
      kept(chooseDateOrder(first, 'month-first')),
    );
    expect([again.dateOrder, again.dateEvidence.both]).toEqual(['month-first', 1]);
  });
});

describe('recallMapping', () => {
  const open = (text: string) => inspectFile({ name: 'x.csv', bytes: bytesOf(text) });
  const text = 'Horse,Breed,Date\na,Shire,2026-03-09\n';

  it('brings back the kind of rows with the columns for it', async () => {
    const { source, mapping } = await open(text);
    const stored = kept(proposeMapping(source, 'horses'));
    const recalled = recallMapping(source, mapping, [stored]);
    expect([mapping.kind, recalled.mapping.kind, recalled.remembered]).toEqual(['visits', 'horses', true]);
    expect(recalled.mapping.columns.map((c) => c.target)).toEqual(['horse_id', 'breed', null]);
  });

  it('claims nothing where the user had changed nothing', async () => {
    const { source, mapping } = await open(table('toe', '81'));
    expect(recallMapping(source, mapping, [kept(mapping)])).toEqual({ mapping, remembered: false });
    expect(recallMapping(source, mapping, [])).toEqual({ mapping, remembered: false });
  });
});
