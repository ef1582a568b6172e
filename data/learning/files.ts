import { isoFromDay } from '../../src/core/civil-day.ts';
import { HORSE_COLUMNS, VISIT_COLUMNS } from '../foot-row.ts';
import { oneRound } from '../herd.ts';
import { TRUTH } from '../truth.ts';
import { problemTruth } from '../truth-file.ts';
import { parquetBytes } from '../write-parquet.ts';
import { FEW_VISITS, LEARNING_PLANS, type LearningHerd } from './plans.ts';
import { learningTruths } from './truths.ts';

export const LEARNING_HERDS = Object.keys(LEARNING_PLANS) as LearningHerd[];

/** The committed files of one learning herd by name. The same on every run. */
export function learningFiles(name: LearningHerd): Record<string, string | Uint8Array> {
  const plan = LEARNING_PLANS[name];
  const histories = oneRound(plan);
  const rows = histories.flatMap((history) => history.rows);
  rows.sort((a, b) => a.visit_date - b.visit_date);
  const { seed: _seed, firstDay: _first, lastDay: _last, ...parameters } = TRUTH;
  const truth = {
    about: 'An invented herd to learn from: the values that made it. Not evidence about horses.',
    seed: plan.seed,
    firstDate: isoFromDay(plan.span.firstDay),
    lastDate: isoFromDay(plan.span.lastDay),
    rows: rows.length,
    horses: histories.length,
    asked: learningTruths(histories, FEW_VISITS[name]),
    separation: problemTruth(histories, 'separation'),
    yards: plan.yards,
    parameters,
  };
  return {
    [`${name}-visits.parquet`]: parquetBytes(rows, VISIT_COLUMNS),
    [`${name}-horses.parquet`]: parquetBytes(
      histories.map(({ horse }) => horse.row),
      HORSE_COLUMNS,
    ),
    [`${name}-truth.json`]: `${JSON.stringify(truth, null, 1)}\n`,
  };
}
