import type { Column, Table } from '../core/table.ts';
import { type IntakeReport, makeReport } from '../intake/report.ts';
import type { ReadFiles } from './read-files.ts';

/** The books of a record that is read in parts: what was read, admitted and set aside, and the rows set aside. */
export class Books {
  private readonly reports: IntakeReport[] = [];
  private readonly notices: string[] = [];
  private readonly setAsides: Table[] = [];

  /** `whose` stands before what is worth knowing of this part; nothing does where it is empty. */
  enter({ report, setAside, empty }: Pick<ReadFiles, 'report' | 'setAside' | 'empty'>, whose: string): void {
    this.reports.push(report);
    const said = [...empty, ...report.notices];
    this.notices.push(...said.map((notice) => (whose === '' ? notice : `${whose}: ${notice}`)));
    this.setAsides.push(setAside);
  }

  get report(): IntakeReport {
    return makeReport(
      this.reports.flatMap(({ files }) => files),
      this.notices,
    );
  }

  /** One table of all; `set_aside_row` counts on from part to part. */
  get setAside(): Table {
    const [first, ...rest] = this.setAsides;
    if (!first || rest.length === 0) return first ?? { rowCount: 0, columns: {} };
    let counted = 0;
    const numbered = this.setAsides.map((table) => {
      const rows = (table.columns.set_aside_row as Column & { type: 'number' }).values;
      const values = rows.map((row) => row + counted);
      counted = values.at(-1) ?? counted;
      return { ...table.columns, set_aside_row: { type: 'number', values } } as Table['columns'];
    });
    return {
      rowCount: this.setAsides.reduce((sum, { rowCount }) => sum + rowCount, 0),
      columns: Object.fromEntries(
        Object.keys(first.columns).map((name) => [
          name,
          oneUnderOther(numbered.map((c) => c[name] as Column)),
        ]),
      ),
    };
  }
}

function oneUnderOther(columns: readonly Column[]): Column {
  const values = columns.flatMap((column) => [...column.values] as unknown[]);
  const { type } = columns[0] as Column;
  return type === 'number' || type === 'day'
    ? { type, values: Float64Array.from(values as number[]) }
    : ({ type, values } as Column);
}
