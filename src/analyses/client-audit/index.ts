import { isUnavailable, type Unavailable } from '../../core/outcome.ts';
import { CASE_DEFINITION, problemLabel } from '../../herd/problems.ts';
import type { Analysis, AnalysisResult } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { cycleTable } from '../cycle-table.ts';
import { gradedCycles } from '../graded-cycles.ts';
import { countOf, type Grouping } from '../groups.ts';
import { pacer } from '../pacing.ts';
import { type Recorded, recordedInCycles } from '../recorded.ts';
import { tidyTable } from '../tidy.ts';
import type { ClientAnswer } from './answer.ts';
import { type ClientRows, clientAsk, clientWhere, gatherClients } from './data.ts';
import { expectations } from './expected.ts';
import { clientFindings } from './findings.ts';
import { moveOf } from './move.ts';
import { type ClientOptions, heldGroupings, LARGEST, optionsSchema } from './options.ts';
import { clientEstimates, clientsTable, funnelTable, moveTable, smallTable } from './tables.ts';

/**
 * Each client's new cases, seen at the next visit of feet left clear, over those expected from the records of the other
 * clients for feet alike in breed type, ground, moisture, season and days between visits. Never an order of merit.
 */
export const clientAudit: Analysis<ClientOptions> = {
  name: 'client-audit',
  title: 'Clients, observed and expected',
  question:
    'Does a client have more or fewer new problems than its mix of horses, ground and season would have?',
  options: optionsSchema,
  async run(options, context) {
    const { signal, progress } = context;
    const asked: Grouping[] = options.adjust.filter((name) => name !== 'client_id');
    const recorded = await recordedInCycles(
      context,
      gradedCycles(options.problem),
      clientWhere(options.problem, []),
      ['client_id', ...asked],
    );
    const adjust = recorded.kept.filter((name) => name !== 'client_id');
    const rows = gatherClients(await cycleTable(context, clientAsk(options, adjust)));
    const pause = pacer(signal, 0);
    progress(0.3, 'Reckoning what each client’s records would be expected to show');
    await pause();
    const held = heldGroupings({ ...options, adjust });
    const expected = expectations(rows, held, options);
    if (isUnavailable(expected)) {
      const why = {
        ...expected,
        sentence: `clients and ${problemLabel(options.problem)}: ${expected.sentence}`,
      };
      return {
        ...frame(rows),
        tables: [tidyTable('client-audit', 'Clients', [])],
        findings: [],
        unavailable: [...recorded.notes, why],
        assumes: [],
      };
    }
    progress(0.7, 'Reckoning another interval');
    await pause();
    const at = chosen(rows, options.client);
    const move = at < 0 ? null : moveOf(rows, adjust, at, options.weeks);
    const answer: ClientAnswer = {
      options,
      adjust,
      held,
      counts: frame(rows).counts,
      expected,
      move,
      client: rows.client.levels[at] ?? null,
    };
    return present(answer, rows, recorded);
  },
};

/** The client asked for; −1 where there is none of that name. */
function chosen(rows: ClientRows, client: string): number {
  if (client !== LARGEST) return rows.client.levels.indexOf(client);
  const horses = rows.atRisk.map((own) => new Set(own.map((row) => rows.horse[row])).size);
  return horses.indexOf(Math.max(...horses));
}

function frame(rows: ClientRows): Pick<AnalysisResult, 'analysis' | 'cautions' | 'method' | 'counts'> {
  return {
    analysis: 'client-audit',
    cautions: [CAUTIONS.record, CAUTIONS.small_numbers, CAUTIONS.own_scale, CAUTIONS.foot_first],
    method: {
      name: 'Indirect standardisation by complementary log-log regression without the client, funnel limits with overdispersion; the two-state model for another interval',
      source: 'Spiegelhalter 2005, Stat Med 24:1185–1202; McCullagh & Nelder 1989, Generalized Linear Models',
      doc: 'docs/methods/client-audit.md',
    },
    counts: countOf(rows.horse, rows.foot, rows.atRisk.flat()),
  };
}

function present(answer: ClientAnswer, rows: ClientRows, recorded: Recorded): AnalysisResult {
  return {
    ...frame(rows),
    tables: [
      clientEstimates(answer),
      clientsTable(answer),
      smallTable(answer),
      funnelTable(answer),
      moveTable(answer),
    ],
    findings: [...clientFindings(answer), ...recorded.leftOut],
    unavailable: [...recorded.notes, ...refusals(answer)],
    assumes: [
      CASE_DEFINITION,
      'A case is new where a foot clear after a trim has the problem at the next visit; what came and went between is in neither number.',
      'What is expected comes from the other clients’ records; where a client is much of the whole, little is left to expect from, and its interval is wider for it.',
      'What the records do not hold (riding, feed, care between visits, how strictly one grades) may be behind a difference.',
      'The feet of one horse are alike: counts vary more than chance alone would have them.',
      'Another interval: the risk of onset starts afresh at each trim, and the plan is kept for long.',
    ],
  };
}

function refusals({ move, client, options }: ClientAnswer): Unavailable[] {
  if (move === null) {
    const who = options.client === LARGEST ? '' : ` of a client ${options.client}`;
    return [{ unavailable: 'no-rows', sentence: `no trim cycles${who} are on record here.` }];
  }
  if (!isUnavailable(move)) return [];
  const why =
    move.unavailable === 'one-cluster' ? 'there are too few horses in these records to say.' : move.sentence;
  return [{ ...move, sentence: `another interval at ${client}: ${why}` }];
}
