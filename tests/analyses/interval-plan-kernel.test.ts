import { describe, expect, it } from 'vitest';
import type { HorseNow } from '../../src/analyses/interval-plan/data.ts';
import { dueHorse, isLapsed, roundByClient } from '../../src/analyses/interval-plan/due.ts';
import {
  longestWithin,
  longestWithinRising,
  plannedInterval,
} from '../../src/analyses/interval-plan/kernel.ts';
import { optionsSchema, type PlannedProblem } from '../../src/analyses/interval-plan/options.ts';
import { type PlanModels, planner } from '../../src/analyses/interval-plan/plan.ts';
import { boundWords, standingWords, weeksAndDays, whyWords } from '../../src/analyses/interval-plan/words.ts';
import { lengthWords } from '../../src/analyses/lengths.ts';
import { type CivilDay, dayFromIso } from '../../src/core/civil-day.ts';
import { unavailable } from '../../src/core/outcome.ts';

const MM = lengthWords('mm');
const MANY = 1e9;

/** Two horses: on paper, each foot grows evenly and each risk climbs evenly. */
function horse(id: string, client: string | null, lastVisit: string, separated = false): HorseNow {
  const foot = (name: string) => ({
    key: `${id} ${name}`,
    foot: name,
    state: {
      separation: separated ? 1 : 0,
      frog_infection: 0,
      wall_infection: 0,
    },
    groups: { breed_type: 'draft', terrain: 'soft', moisture: 'wet' },
  });
  return {
    id,
    name: null,
    client,
    lastVisit: dayFromIso(lastVisit)!,
    feet: [foot('LF'), foot('RF')],
    usualDays: 42,
    nCycles: 20,
  };
}

/** mm a day and their spread; risks a day, expected and at most. */
const GROWTH: Record<string, readonly [number, number]> = {
  'A LF': [0.3, 0.02],
  'A RF': [0.25, 0.02],
  'B LF': [0.2, 0.01],
  'B RF': [0.18, 0.01],
};
const RISKS: Record<PlannedProblem, readonly [number, number]> = {
  separation: [0.0015, 0.002],
  frog_infection: [0.001, 0.0012],
  wall_infection: [0.0004, 0.0005],
};

const models: PlanModels = {
  growth: {
    foot: (key) => {
      const [rate, spread] = GROWTH[key]!;
      return {
        regrowth: (_, days) => ({
          mm: rate * days,
          sd: spread * days,
          sdMeasured: 0,
          sdRecorded: 0,
          degrees: MANY,
        }),
      };
    },
    rate: () => null,
    counts: { horses: 2, feet: 4, cycles: 40 },
    nCyclesOf: () => 10,
    isOwn: () => true,
    where: 'TRUE',
  },
  risks: new Map(
    Object.entries(RISKS).map(([problem, [risk, upper]]) => [
      problem as PlannedProblem,
      () => ({ risk: (day: number) => risk * day, upper: (day: number) => upper * day }),
    ]),
  ),
};

const A = horse('A', 'Hill yard', '2024-03-01');
const B = horse('B', 'Mill yard', '2024-03-11');
const planned = (which: HorseNow, options: object = {}) =>
  planner(optionsSchema.parse({ tolerance_mm: 10, ...options }), models)(which)!;

describe('a plan worked out on paper', () => {
  it('ends where the fastest foot would pass the tolerance', () => {
    // z(0.8) = 0.841621: LF 0.3 + 0.841621 × 0.02 = 0.316832 a day; 31 days 9.8218, 32 days 10.1386. RF 37 days.
    // Separation 0.002 a day: 50 days to 0.1. Infection 83 and 200 days: beyond 10 weeks.
    const plan = planned(A);
    expect(plan.days).toBe(31);
    expect(plan.binding).toMatchObject({ key: 'toe', days: 31, isReached: true });
    expect(plan.toes.map(({ foot, days }) => [foot.foot, days])).toEqual([
      ['LF', 31],
      ['RF', 37],
    ]);
    expect(plan.risks.map(({ key, days, isReached }) => [key, days, isReached])).toEqual([
      ['separation', 50, true],
      ['frog_infection', 70, false],
      ['wall_infection', 70, false],
    ]);
    expect(boundWords(plan)).toBe('toe length, LF');
    expect(whyWords(plan, optionsSchema.parse({ tolerance_mm: 10 }), MM).replaceAll('\u00a0', ' ')).toBe(
      'LF is expected to grow 9.0 mm per 30 days; after 31 days the chance that it is past 10 mm is above 20 %.',
    );
    expect(whyWords(plan, optionsSchema.parse({ tolerance_mm: 10 }), lengthWords('in'))).toContain(
      'past 0.39\u00a0in',
    );
  });

  it('ends where a risk could pass its limit, where that is sooner', () => {
    // B: 0.2 + 0.008416 a day, 47 days to 10 mm (9.7956; 48 days 10.0040); separation at most 0.05: 25 days, so 4 weeks.
    const plan = planned(B, { risk_separation: 0.08 });
    expect(plan).toMatchObject({ days: 40, isSooner: false, binding: { key: 'separation' } });
    const sooner = planned(B, { risk_separation: 0.05 });
    expect(sooner).toMatchObject({ days: 28, isSooner: true, binding: { key: 'separation', days: 25 } });
    expect(
      whyWords(sooner, optionsSchema.parse({ tolerance_mm: 10, risk_separation: 0.05 }), MM).replaceAll(
        '\u00a0',
        ' ',
      ),
    ).toBe(
      'By your limits sooner than 4 weeks, the least allowed. For a clear foot of such a horse (draft, soft ground, wet) the risk of separation by the next visit is an expected 4.2 % at this interval; after 25 days it may, at the confidence asked for, be over 5 %.',
    );
    expect(planned(B)).toMatchObject({ days: 47, binding: { key: 'toe', foot: { foot: 'LF' } } });
  });

  it('is the most allowed where no limit is reached, and at confidence one half and more the wider the surer', () => {
    const plan = planned(B, { tolerance_mm: 30, risk_separation: 0.2 });
    expect(plan).toMatchObject({ days: 70, binding: null, isSooner: false });
    expect(whyWords(plan, optionsSchema.parse({ tolerance_mm: 10 }), MM)).toBe(
      'No limit is reached within 10 weeks, the longest allowed.',
    );
    // z(0.95) = 1.644854: 0.332897 a day, 30 days 9.9869.
    expect(planned(A, { confidence: 0.95 }).days).toBe(30);
  });

  it('weighs no risk of a problem that every foot has, and says so', () => {
    const plan = planned(horse('A', null, '2024-03-01', true), { tolerance_mm: 30 });
    expect(plan.risks.map(({ key }) => key)).toEqual(['frog_infection', 'wall_infection']);
    expect(plan.untold).toEqual(['no foot is clear of separation']);
    expect(standingWords(plan.horse)).toBe('separation LF, RF');
  });

  it('is none where nothing can be told', () => {
    const nothing: PlanModels = {
      growth: unavailable('no-rows', 'none.'),
      risks: new Map([['separation', () => null]]),
    };
    expect(planner(optionsSchema.parse({ tolerance_mm: 10 }), nothing)(A)).toBeNull();
  });
});

describe('the round of two horses', () => {
  const today = dayFromIso('2024-04-20')!;
  // A: 1 March and 31 days is 1 April, 19 days over. B: 11 March and 47 days is 27 April, in 7 days.
  const due = [planned(A), planned(B)].map((plan) => dueHorse(plan, today));

  it('is due the planned days after the last visit', () => {
    expect(due.map(({ dueOn, daysOver }) => [dueOn, daysOver])).toEqual([
      [dayFromIso('2024-04-01'), 19],
      [dayFromIso('2024-04-27'), -7],
    ]);
  });

  it('is one row a client, the horses due within the days asked for, the longest overdue first', () => {
    const shown = (roundDays: number) =>
      roundByClient([...due].reverse(), roundDays).map(({ client, due: d, overdue, horses }) => [
        client,
        d.length,
        overdue,
        horses.length,
      ]);
    expect(shown(7)).toEqual([
      ['Hill yard', 1, 1, 1],
      ['Mill yard', 1, 0, 1],
    ]);
    expect(shown(6)).toEqual([
      ['Hill yard', 1, 1, 1],
      ['Mill yard', 0, 0, 1],
    ]);
  });

  it('ends for a horse unseen for over half a year', () => {
    expect(isLapsed((today - 183) as CivilDay, today)).toBe(false);
    expect(isLapsed((today - 184) as CivilDay, today)).toBe(true);
  });
});

describe('the kernel', () => {
  it('stops at the first day past a limit, though a later day keeps it again', () => {
    const bound = (day: number): number => (day === 20 ? 2 : day / 100);
    expect(longestWithin('x', bound, 1, 70)).toEqual({ key: 'x', days: 19, isReached: true });
    expect(longestWithin('x', () => 2, 1, 70)).toEqual({ key: 'x', days: 0, isReached: true });
    expect(longestWithin('x', () => 1, 1, 70)).toEqual({ key: 'x', days: 70, isReached: false });
  });

  it('finds by halving what looking at every day finds', () => {
    for (let limit = 0; limit < 12; limit += 0.37) {
      for (const rate of [0.01, 0.16, 0.31, 15]) {
        const bound = (day: number): number => rate * day;
        expect(longestWithinRising('x', bound, limit, 70)).toEqual(longestWithin('x', bound, limit, 70));
      }
    }
  });

  it('takes the first of two limits that tie, and none of a limit that is not reached', () => {
    const limit = (key: string, days: number, isReached = true) => ({ key, days, isReached });
    expect(plannedInterval([limit('a', 40), limit('b', 40)], 28, 70)?.binding?.key).toBe('a');
    expect(plannedInterval([limit('a', 70, false)], 28, 70)).toEqual({
      days: 70,
      binding: null,
      isSooner: false,
    });
    expect(plannedInterval([limit('a', 27)], 28, 70)).toMatchObject({ days: 28, isSooner: true });
    expect(plannedInterval([], 28, 70)).toBeNull();
  });

  it('says days in weeks and days', () => {
    expect([0, 1, 7, 8, 41].map(weeksAndDays)).toEqual([
      '0 days',
      '1 day',
      '1 week',
      '1 week 1 day',
      '5 weeks 6 days',
    ]);
  });
});

describe('options', () => {
  it('are refused where the least is above the most', () => {
    expect(optionsSchema.safeParse({ least_weeks: 9, most_weeks: 8 }).success).toBe(false);
    expect(optionsSchema.safeParse({ least_weeks: 8, most_weeks: 8 }).success).toBe(true);
  });
});
