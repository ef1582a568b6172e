import type { Foot } from '../../herd/vocabularies.ts';
import { byFoot, type FootVisit, numberAt } from './data.ts';

/** One end of a trim: the toe before it or after it. Points of one `run` are joined, in order. */
interface SawPoint {
  readonly foot: Foot;
  readonly footKey: string;
  readonly day: number;
  readonly when: 'before the trim' | 'after the trim';
  readonly mm: number;
  readonly run: string;
}

/**
 * The toe as it grows and is cut: before and after each trim in time. Where a reading is missing the line breaks:
 * nothing is drawn across what was not measured.
 */
export function sawTooth(rows: readonly FootVisit[]): SawPoint[] {
  return byFoot(rows).flatMap((visits) => {
    let run = 0;
    const points: SawPoint[] = [];
    visits.forEach((visit, k) => {
      const { foot, footKey, day } = visit;
      for (const [column, when] of [
        ['toe_before_mm', 'before the trim'],
        ['toe_after_mm', 'after the trim'],
      ] as const) {
        const mm = numberAt(visit, column);
        // A first visit has no growth before it to lead to its reading.
        if (mm !== null) points.push({ foot, footKey, day, when, mm, run: `${foot} ${run}` });
        else if (k > 0 || when === 'after the trim') run += 1;
      }
    });
    return points;
  });
}
