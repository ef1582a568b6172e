import type { Foot, Grade, Moisture, Protection, Relief, Terrain } from './truth.ts';

/** One row of the visits file: one foot at one visit. Null is an empty cell. */
export interface FootRow {
  horse_id: string;
  client_id: string;
  practitioner_id: string;
  /** Days since 1970-01-01. */
  visit_date: number;
  foot: Foot;
  terrain: Terrain | null;
  moisture: Moisture | null;
  toe_before_mm: number | null;
  toe_after_mm: number | null;
  heel_before_mm: number | null;
  heel_after_mm: number | null;
  angle_before_deg: number | null;
  angle_after_deg: number | null;
  new_growth_angle_deg: number | null;
  sole_depth_mm: number | null;
  wall_thickness_mm: number | null;
  bar_height_mm: number | null;
  separation_grade: Grade | null;
  separation_site: 'white_line' | 'within_wall' | null;
  separation_to_white_line_mm: number | null;
  separation_height_mm: number | null;
  wall_broken: boolean | null;
  fungal_frog_grade: Grade | null;
  fungal_wall_grade: Grade | null;
  crack_grade: Grade | null;
  crack_origin: 'ground' | 'coronet' | null;
  coronet_injury: boolean | null;
  marker_mm: number | null;
  marker_id: string | null;
  bevel_mm: number | null;
  relief: Relief | null;
  protection: Protection | null;
  antifungal: boolean | null;
  sensitivity: Grade | null;
  notes: string | null;
}

type Kind = 'text' | 'day' | 'mm' | 'whole' | 'boolean';

/** Columns of the visits file in their order; column names are the data dictionary's own. */
export const VISIT_COLUMNS: Readonly<Record<keyof FootRow, Kind>> = {
  horse_id: 'text',
  client_id: 'text',
  practitioner_id: 'text',
  visit_date: 'day',
  foot: 'text',
  terrain: 'text',
  moisture: 'text',
  toe_before_mm: 'mm',
  toe_after_mm: 'mm',
  heel_before_mm: 'mm',
  heel_after_mm: 'mm',
  angle_before_deg: 'mm',
  angle_after_deg: 'mm',
  new_growth_angle_deg: 'mm',
  sole_depth_mm: 'mm',
  wall_thickness_mm: 'mm',
  bar_height_mm: 'mm',
  separation_grade: 'whole',
  separation_site: 'text',
  separation_to_white_line_mm: 'mm',
  separation_height_mm: 'mm',
  wall_broken: 'boolean',
  fungal_frog_grade: 'whole',
  fungal_wall_grade: 'whole',
  crack_grade: 'whole',
  crack_origin: 'text',
  coronet_injury: 'boolean',
  marker_mm: 'mm',
  marker_id: 'text',
  bevel_mm: 'mm',
  relief: 'text',
  protection: 'text',
  antifungal: 'boolean',
  sensitivity: 'whole',
  notes: 'text',
};

export const HORSE_COLUMNS = {
  horse_id: 'text',
  horse_name: 'text',
  client_id: 'text',
  breed: 'text',
  breed_type: 'text',
  birth_year: 'whole',
  sex: 'text',
  body_mass_kg: 'mm',
} as const satisfies Record<string, Kind>;

export type Columns = Readonly<Record<string, Kind>>;
export type Cell = string | number | boolean | null;
