export const MM_PER_INCH = 25.4; // exact, international inch (1959)
export type LengthUnit = 'mm' | 'cm' | 'in';

const MM_PER: Record<LengthUnit, number> = { mm: 1, cm: 10, in: MM_PER_INCH };

export function toMm(value: number, unit: LengthUnit): number {
  return value * MM_PER[unit];
}

export function fromMm(mm: number, unit: LengthUnit): number {
  return mm / MM_PER[unit];
}
