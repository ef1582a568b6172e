import type { FootRow } from './foot-row.ts';
import type { Horse } from './horses.ts';
import { drawNote } from './notes.ts';
import { type FootProblems, problemsBefore, runProblems } from './problems.ts';
import type { Draw } from './random.ts';
import { chooseRelief, drawSeparation, type SeparationSpell } from './separation-spell.ts';
import { type BreedType, type Foot, type Grade, type Protection, seasonDays, TRUTH } from './truth.ts';
import type { Visit } from './visits.ts';
import { type WallCycle, wallCycle } from './wall-breaking.ts';

/** What one horse brings to all its feet; written to truth.json. */
export interface HorseEffects {
  readonly growthMmPer30d: number;
  readonly driftDegPer30d: number;
  readonly tenderness: number;
  readonly wallMm: number;
  readonly soleMm: number;
  readonly toeMm: number;
  readonly angleDeg: number;
}

export interface FootHistory {
  readonly rows: FootRow[];
  readonly problems: FootProblems;
  /** The foot's own departure of growth from its horse, mm per 30 days. */
  readonly growthMmPer30d: number;
  /** From each recorded visit but the first: the trim before it, and what became of the wall. */
  readonly wallCycles: readonly WallCycle[];
}

const TOE_MM: Readonly<Record<BreedType, number>> = {
  draft: 97,
  warmblood: 88,
  light: 83,
  pony: 73,
  donkey: 71,
};
const WALL_MM: Readonly<Record<BreedType, number>> = {
  draft: 12.5,
  warmblood: 10,
  light: 9.5,
  pony: 9,
  donkey: 10,
};

export function drawHorseEffects(horse: Horse, draw: Draw): HorseEffects {
  return {
    growthMmPer30d: draw.normal(0, TRUTH.growth.horseSdMmPer30d),
    driftDegPer30d: draw.normal(0, TRUTH.angle.horseSdDegPer30d),
    tenderness: draw.normal(0, TRUTH.tenderness.horseSd),
    wallMm: draw.normal(WALL_MM[horse.breedType], 0.7),
    soleMm: draw.normal(12.5, 1.8),
    toeMm: draw.normal(TOE_MM[horse.breedType], 3),
    angleDeg: draw.normal(51, 1.5),
  };
}

const half = (mm: number) => Math.round(mm * 2) / 2;

/** One foot from its first visit to its last. */
export function footHistory(
  horse: Horse,
  effects: HorseEffects,
  foot: Foot,
  visits: readonly Visit[],
  draw: Draw,
  breaking: Draw,
): FootHistory {
  const { growth, angle } = TRUTH;
  const own = draw.normal(0, growth.footSdMmPer30d);
  const fore = foot === 'LF' || foot === 'RF';
  const toeTarget = effects.toeMm + draw.normal(0, 1);
  const heelTarget = toeTarget * (fore ? 0.42 : 0.45);
  const angleTarget = effects.angleDeg + (fore ? 0 : 1.5) + draw.normal(0, 0.8);
  const footSole = effects.soleMm + (fore ? 0 : 0.5) + draw.normal(0, 0.7);
  const barUsual = draw.between(2, 8);

  const rows: FootRow[] = [];
  if (visits.length === 0) throw new Error(`visits of ${horse.row.horse_id} must not be empty: 0`);
  const first = visits[0]!;
  const problems = problemsBefore(horse, first, draw);
  let previous: Visit = { ...first, day: first.day - horse.yard.meanDays };
  let toe = toeTarget;
  let heel = heelTarget;
  let angleNow = angleTarget;
  let sole = footSole;
  let relief: FootRow['relief'] = 'none';
  let treated = false;
  let protection: Protection = 'bare';
  let separation: SeparationSpell | null = problems.separation.present
    ? drawSeparation(effects.wallMm, draw)
    : null;
  let separationSpells = problems.separation.spells.length;
  let marker: { id: string; mm: number } | null = null;
  let markers = 0;
  const carriesMarkers = draw.chance(0.15);
  const wallCycles: WallCycle[] = [];
  let broken = false;

  for (const [i, visit] of visits.entries()) {
    const months = (visit.day - previous.day) / 30;
    const season =
      (growth.seasonAmplitudeMmPer30d / 30) * seasonDays(previous.day, visit.day, growth.seasonPeakDay);
    const gross = months * (growth.grossMmPer30d[horse.breedType] + effects.growthMmPer30d + own) + season;
    const net = gross - months * growth.wearMmPer30d[visit.terrain];
    const injured =
      i === 0
        ? draw.chance(0.005)
        : runProblems(problems, horse, { day: previous.day, relief, treated }, visit, draw);

    // What the trim before left is judged before this visit changes it.
    const wall = wallCycle(separation, relief, visit.day - previous.day, breaking);
    const lookedFor = !breaking.chance(TRUTH.wallBreaking.notLookedFor);
    broken ||= wall.broken;

    // Arrival.
    const toeBefore = toe + net;
    const heelBefore = heel + net * growth.heelShareOfToe;
    const angleBefore =
      angleNow +
      months * (angle.driftDegPer30d[visit.terrain] + effects.driftDegPer30d) +
      draw.normal(0, 0.3);
    const toeBeforeRead = half(toeBefore + draw.normal(0, growth.toeErrorSdMm));
    const heelBeforeRead = half(heelBefore + draw.normal(0, growth.toeErrorSdMm));
    if (marker) marker.mm += gross;
    if (marker && marker.mm > toeBefore) marker = null;
    if (!problems.separation.present) separation = null;
    else if (problems.separation.spells.length > separationSpells || separation === null) {
      separation = drawSeparation(effects.wallMm, draw);
    } else {
      const change = TRUTH.separation.heightChangeMmPer30d[relief];
      separation.heightMm = Math.max(1, separation.heightMm + months * change + draw.normal(0, 1));
    }
    separationSpells = problems.separation.spells.length;
    const tender = drawTenderness(sole, visit, protection, effects.tenderness, draw);

    // The trim, and what is decided at it.
    toe = Math.min(toeTarget + draw.normal(0, 1.2), toeBefore - 1);
    heel = Math.min(heelTarget + draw.normal(0, 1.2), heelBefore - 0.5);
    angleNow = angleTarget + draw.normal(0, 0.8);
    sole = footSole + 0.6 * (sole - footSole) + draw.normal(0, 1.1);
    relief = separation ? chooseRelief(separation, draw) : 'none';
    const infected = problems.frog.present || problems.wall.present;
    treated = draw.chance(infected ? 0.55 : 0.03);
    protection = chooseProtection(horse, sole, visit, tender, draw);
    if (carriesMarkers && !marker && i > 0 && visit.recorded && draw.chance(0.3)) {
      markers += 1;
      marker = { id: `${foot}-${markers}`, mm: draw.between(1, 4) };
    }

    const row: FootRow = {
      horse_id: horse.row.horse_id,
      client_id: horse.row.client_id,
      practitioner_id: visit.practitioner,
      visit_date: visit.day,
      foot,
      terrain: visit.terrain,
      moisture: visit.moisture,
      toe_before_mm: toeBeforeRead,
      // A reading longer than before the cut would be read again.
      toe_after_mm: Math.min(toeBeforeRead, half(toe + draw.normal(0, growth.toeErrorSdMm))),
      heel_before_mm: heelBeforeRead,
      heel_after_mm: Math.min(heelBeforeRead, half(heel + draw.normal(0, growth.toeErrorSdMm))),
      angle_before_deg: half(angleBefore + draw.normal(0, angle.errorSdDeg)),
      angle_after_deg: half(angleNow + draw.normal(0, angle.errorSdDeg)),
      new_growth_angle_deg: half(angleTarget + 2.5 + draw.normal(0, 1)),
      sole_depth_mm: half(Math.max(4, sole + draw.normal(0, 1))),
      wall_thickness_mm: half(effects.wallMm + draw.normal(0, 0.5)),
      bar_height_mm: half(Math.max(0, barUsual + months * 2 + draw.normal(0, 1.5))),
      separation_grade: gradeOf(problems.separation.present, draw),
      separation_site: separation?.site ?? null,
      separation_to_white_line_mm:
        separation?.toWhiteLineMm == null
          ? null
          : half(Math.max(0.5, separation.toWhiteLineMm + draw.normal(0, 0.5))),
      separation_height_mm: separation ? half(Math.max(1, separation.heightMm + draw.normal(0, 0.8))) : null,
      wall_broken: rows.length > 0 && lookedFor ? broken : null,
      fungal_frog_grade: gradeOf(problems.frog.present, draw),
      fungal_wall_grade: gradeOf(problems.wall.present, draw),
      crack_grade: gradeOf(problems.crack.present, draw),
      crack_origin: problems.crack.present ? problems.crackOrigin : null,
      coronet_injury: injured,
      marker_mm: marker ? half(Math.max(0.5, marker.mm + draw.normal(0, growth.markerErrorSdMm))) : null,
      marker_id: marker?.id ?? null,
      bevel_mm: drawBevel(visit.practitioner, draw),
      relief,
      protection,
      antifungal: treated,
      sensitivity: tender as Grade,
      notes: drawNote(draw),
    };
    if (visit.recorded) {
      if (rows.length > 0) wallCycles.push(wall);
      rows.push(row);
      broken = false;
    }
    previous = visit;
  }
  return { rows, problems, growthMmPer30d: own, wallCycles };
}

function gradeOf(present: boolean, draw: Draw): Grade {
  if (!present) return 0;
  const u = draw.uniform();
  return u < 0.55 ? 1 : u < 0.87 ? 2 : 3;
}

function drawTenderness(
  soleMm: number,
  visit: Visit,
  protection: Protection,
  horseEffect: number,
  draw: Draw,
): Grade {
  const { base, perMmSole, terrain, protected: protectedBy } = TRUTH.tenderness;
  const logit =
    base +
    perMmSole * (soleMm - 12) +
    terrain[visit.terrain] +
    (protection === 'bare' ? 0 : protectedBy) +
    horseEffect;
  return gradeOf(draw.chance(1 / (1 + Math.exp(-logit))), draw);
}

function chooseProtection(
  horse: Horse,
  soleMm: number,
  visit: Visit,
  tender: number,
  draw: Draw,
): Protection {
  const rule = TRUTH.protectionRule;
  const enough = soleMm >= (horse.breedType === 'draft' ? rule.draftBareFromSoleMm : rule.bareFromSoleMm);
  const bareByRule = enough && visit.terrain !== 'rocky' && tender === 0;
  const bare = draw.chance(rule.departures) ? !bareByRule : bareByRule;
  return bare ? 'bare' : draw.weighted({ boot: 60, cast: 20, pad: 20 });
}

/** Each practitioner bevels its own way; null where none was recorded. */
function drawBevel(practitioner: string, draw: Draw): number | null {
  if (practitioner === 'Ashe') return half(Math.max(1, draw.normal(8, 1.5)));
  if (practitioner === 'Rowan') return draw.chance(0.2) ? null : half(Math.max(1, draw.normal(5, 1.2)));
  return draw.chance(0.35) ? null : half(Math.max(1, draw.normal(3.5, 1)));
}
