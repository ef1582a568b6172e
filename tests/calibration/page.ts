export interface PageFacts {
  /** Markdown of the table. */
  readonly table: string;
  readonly herds: number;
  readonly seed: number;
  readonly spells: number;
  readonly program: string;
  readonly node: string;
  /** ISO 8601. */
  readonly date: string;
}

/**
 * docs/calibration.md: the table with what is needed to make it again, and the reading of it. The reading names
 * quantities, not figures, so that it cannot disagree with the table; whoever remakes the table reads it again.
 */
export function calibrationPage({ table, herds, seed, spells, program, node, date }: PageFacts): string {
  return `# How often the intervals hold the truth

Simulated herds whose truth is known go through the engine, the analyses' own SQL and the shipped analyses; counted is in how
many of them the 95 % interval holds the truth. The herds are those of the maker of the demo herd (\`data/\`, described
in \`data/README.md\`): ${herds} herds of 120 horses at twelve yards, four years each, none of them the demo herd.
Late yards are mostly the wet ones, so that who books late is mixed up with ground and moisture. None of this is evidence
about real horses.

| | |
|---|---|
| made by | \`npm run calibration\` (12 minutes on two cores shared with other work; \`npm run calibration -- 20\` takes 20 herds and only prints) |
| herds, seed | ${herds}; the maker's seed ${seed.toLocaleString('en-GB')}, herds 1 to ${herds} of its stream (herd 0 is the demo herd) |
| versions | Growout ${program}, Node ${node} |
| date | ${date} |

${table}

*bias*: mean of estimate less truth, with its Monte-Carlo standard error. *mean SE* beside *SD of estimates*: what the
program thinks of its error beside what it is (–: an interval only). *coverage*: with the Wilson 95 % interval that
chance alone leaves over so many herds. Where the truth differs from herd to herd (growth at the herd's own mix of
ground, the risk over its own mix of cycles, each horse's rate), the mean is shown and the SD is that of the error.

## What is asked of it

92 to 98 % for growth by breed type, season, the interval exponent, and onset and clearing. The rows below 92 % are spoken of
one by one: season with ground not held, the crude exponent, the regression on onsets seen, clearing of frog
infection on mixed moisture, and return by 90 days with unseen ones counted. With ${herds} herds an interval
that is exactly right falls outside 92–98 % about once in twenty quantities: read the Monte-Carlo interval as well.

- **Growth, season, spreads, each horse's own rate**: the model of the analysis is that of the herd, but for rounding to half a
  millimetre, cells missing by chance, and ground taken from the visit before where it was not noted.
- **Season, ground not held**: what the growth analysis shows of all horses where nothing is held alike. In these herds the
  ground changes with the season and wears the wall, so its rise and fall is that of growth *and* ground together: another
  question than the truth beside it, and its interval never holds that truth here. With ground held, as the growth page and
  the audit ask it, it does.
- **Interval exponent, adjusted and within-horse**: the exact form with the clock set to 0 at each trim. It takes one
  rate of clearing for all feet, where the truth has several (breed type, moisture, relief): that and the
  skewness of an exponent may be why it is a little high; which of them was not taken apart.
- **Crude exponent**: misses by design. It lays at the interval's door what the wet yards do; it is shown in the app beside the
  adjusted one for that reason, and stands here to show how far off it is.
- **Regression on onsets seen**: too low, because onsets that clear again before the next visit are never seen. It is
  the check beside the exact form, not the answer.
- **Cracks** by the shipped analysis of onset and clearing; a few cracks follow an injury and begin at a visit, which its model
  does not know. **Frog infection** by the same estimator with treatment among the terms of clearing. Because one
  of its figures fell below 92 % in these herds, it was measured again alone in 400 further ones (201 to 600 of the stream).
  There that figure (clearing, mixed) was held in 95.3 % and another, the ratio when treated, in 91.5 % (88.4 to 93.9).
  Over all 600 herds the seven lie between 92.7 % (the ratio; 90.3 to 94.5) and 96.0 %: within what is asked, but for the
  ratio probably a point or two short of 95, its standard error being a little too small.
- **Return of separation, seen at visits**: the truth is the share of clear spells whose next separation *found at a visit* had
  begun by that day, by its true dates, over all ${spells.toLocaleString('en-GB')} spells of all herds. An onset is likelier to be found the nearer it lies to
  the visit, which the method cannot know and which may be the small bias upwards at 90 days. The band holds the bounds
  between which the visits leave the share, so that it is wider than sampling alone would make it.
- **Return with unseen ones counted**: the truth is the first onset at all. The two-state model takes a steady rate where
  the truth starts afresh at each trim, so it is too high at 90 days, where its coverage falls short of 92 %, and near the truth later.
  It is shown beside the first for scale, not in its place.

Smaller simulations that vary the number of horses and how alike their feet are stand beside this one:
\`npx tsx tests/calibration/two-state.ts\` and \`npx tsx tests/calibration/time-to-return.ts\`.
`;
}
