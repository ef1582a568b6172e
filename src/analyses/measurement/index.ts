import { isUnavailable, type Outcome, type Unavailable, unavailable } from '../../core/outcome.ts';
import type { Analysis, AnalysisContext, AnalysisResult } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { pacer } from '../pacing.ts';
import { FEWEST_PAIRS, type MeasurementAnswer } from './answer.ts';
import { measurementEstimates } from './estimates.ts';
import { measurementFindings } from './findings.ts';
import { jumpsOf, marksUp } from './jumps.ts';
import { modelAnswer } from './model.ts';
import { nextReaders } from './next-reader.ts';
import { MEASURED, type MeasurementOptions, optionsSchema } from './options.ts';
import { readingsOf, type WrittenVisits, writtenVisits } from './readings.ts';
import { neighbours, type Repeats, refusedRepeats, repeatsOf } from './repeats.ts';
import { type Rounding, roundingOf, visitsByReader } from './rounding.ts';
import { errorsTable, jumpsTable, marksUpTable, roundEndsTable, stepsTable, twiceTable } from './tables.ts';
import { readTwice, watchedOf } from './twice.ts';

/**
 * How well feet are measured: the error of one reading (mm or °), from readings repeated and from what the growth model
 * leaves over; rounding; changes out of line; what reading twice would buy.
 */
export const measurement: Analysis<MeasurementOptions> = {
  name: 'measurement',
  title: 'Measurement',
  question: 'How well do readings of a foot repeat?',
  options: optionsSchema,
  async run(options, context) {
    const pause = pacer(context.signal, 0);
    const models: MeasurementAnswer['models'][number][] = [];
    const repeats: Repeats[] = [];
    const rounding: Rounding[] = [];
    const refused: Unavailable[] = [];
    const written = await writtenVisits(context);
    const [pairs, next] = [await neighbours(written, options, context), nextReaders(written)];
    const readers = visitsByReader(written);
    for (const [k, measured] of MEASURED.entries()) {
      context.progress(k / MEASURED.length, `Looking at ${measured.words}`);
      await pause();
      const told =
        measured.model === null ? null : await toldByModel(measured, written, next, options, context);
      if (told && isUnavailable(told)) refused.push(told);
      const fitted = told && !isUnavailable(told) ? told.model : null;
      if (told && !isUnavailable(told)) {
        models.push(told);
        refused.push(...told.model.notes);
      }
      const readings = await readingsOf(measured, written.visits, context);
      const read = repeatsOf(measured, fitted?.herdRate ?? 0, options, written, pairs, readings);
      if (read) {
        repeats.push(read);
        refused.push(...refusedRepeats(read));
      }
      rounding.push(...(await roundingOf(measured, readings, written, readers, pause)));
    }
    return present(await answerOf(options, models, repeats, rounding, refused, context), context);
  },
};

/** What the growth model tells of one measure, without the changes that it was fitted to. */
async function toldByModel(
  measured: (typeof MEASURED)[number],
  written: WrittenVisits,
  next: Int32Array,
  options: MeasurementOptions,
  context: AnalysisContext,
): Promise<Outcome<MeasurementAnswer['models'][number]>> {
  const answer = await modelAnswer(measured, written, next, context);
  if (isUnavailable(answer)) return answer;
  const { model, changes } = answer;
  const jumps = await jumpsOf(model, changes, options, context);
  return { model, jumps, watched: measured.key === 'toe' ? watchedOf(model.fit, changes.rows) : null };
}

async function answerOf(
  options: MeasurementOptions,
  models: MeasurementAnswer['models'],
  repeats: readonly Repeats[],
  rounding: readonly Rounding[],
  refused: readonly Unavailable[],
  context: AnalysisContext,
): Promise<MeasurementAnswer> {
  const ofToe = models.find(({ model: { measured } }) => measured.key === 'toe');
  const toe = ofToe?.model;
  const again = repeats.find(({ measured }) => measured.key === 'toe');
  const enough = again && again.counts.cycles >= FEWEST_PAIRS && !isUnavailable(again.sd);
  const repeated = enough && !isUnavailable(again.sd) ? again.sd.withinSd.estimate : 0;
  // Readings that all agree exactly say nothing of their error.
  const known = repeated > 0 ? repeated : null;
  const reading = known ?? toe?.errors.find(({ level }) => level === 'all')?.sd.estimate ?? null;
  const twice = toe && ofToe?.watched && reading !== null ? readTwice(toe.fit, ofToe.watched, reading) : null;
  const notes: Unavailable[] = [];
  if (repeats.length === 0)
    notes.push(
      unavailable(
        'no-rows',
        `no foot was read twice within ${options.within_days} days without a trim between, so the error of a reading is judged from growth alone.`,
      ),
    );
  if (toe && !twice)
    notes.push(
      unavailable(
        'one-level',
        'horses show no spread in growth here, so what a second reading would buy cannot be told.',
      ),
    );
  if (rounding.length === 0)
    notes.push(unavailable('no-rows', 'too few readings to tell in which steps they are written.'));
  return {
    options,
    models,
    repeats,
    rounding,
    marksUp: await marksUp(context),
    twice,
    unavailable: [...refused, ...notes],
  };
}

function present(answer: MeasurementAnswer, context: AnalysisContext): AnalysisResult {
  const counts = answer.models.map(({ model }) => model.counts);
  return {
    analysis: 'measurement',
    tables: [
      measurementEstimates(answer),
      errorsTable(answer, 'mm'),
      errorsTable(answer, '°'),
      stepsTable(answer),
      roundEndsTable(answer),
      jumpsTable(answer, 'mm'),
      jumpsTable(answer, '°'),
      marksUpTable(answer),
      twiceTable(answer),
    ],
    findings: measurementFindings(answer, context),
    unavailable: answer.unavailable,
    assumes: [
      'A change between trims carries one reading’s error from each end; whatever else makes a foot stray from its own rate is counted with it, so the error from growth is an upper figure.',
      'Season and ground are allowed for; each foot has a rate of its own.',
      'Readings of one horse may be alike; horses are independent.',
      'Were nobody drawn to round marks, every end of a number would come as often as the next. Shares are shown only where readings spread wide enough for that.',
      'A change far out of line may be a slip of the pen, another landmark or a true event; nothing is dropped.',
    ],
    cautions: [CAUTIONS.record, CAUTIONS.small_numbers],
    method: {
      name: 'Within-foot standard deviation and limits of agreement; residuals of the growth model, errors clustered by horse; share of readings on round marks against evenness',
      source:
        'Bland & Altman 1986, Lancet 327:307–310; Bland & Altman 1996, BMJ 312:1654 and 313:744; Camarda, Eilers & Gampe 2008, Stat Modelling 8:385–401',
      doc: 'docs/methods/measurement.md',
    },
    counts: counts[0] ?? { horses: 0, feet: 0, cycles: 0 },
  };
}
