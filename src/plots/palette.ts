export type ChartTheme = 'light' | 'dark' | 'print';

/** How one series looks: colour never stands alone, so shape, dash and hatch differ with it. */
export interface SeriesLook {
  readonly colour: string;
  readonly symbol: 'circle' | 'triangle' | 'square' | 'diamond' | 'cross' | 'star' | 'wye' | 'times';
  readonly dash: string;
}

export interface Inks {
  readonly ink: string;
  readonly soft: string;
  readonly line: string;
  readonly paper: string;
  readonly main: string;
  readonly warn: string;
  readonly series: readonly SeriesLook[];
}

// Okabe M, Ito K (2008): Color Universal Design. How to make figures and presentations that are friendly to
// colorblind people. Their eight hues in an order of their own; black gives way to the ink. Where one of their colours has less than
// 3:1 against the page (WCAG 2.2, 1.4.11), the same hue stands here darker on paper, lighter in the dark.
const ON_PAPER = [
  '#0072B2',
  '#D55E00',
  '#009E73',
  '#B45F8C',
  'ink',
  '#A86F00',
  '#3A8FC4',
  '#857A00',
] as const;
const IN_THE_DARK = [
  '#3A8FC4',
  '#D55E00',
  '#009E73',
  '#CC79A7',
  'ink',
  '#E69F00',
  '#56B4E9',
  '#F0E442',
] as const;
const SYMBOLS = ['circle', 'triangle', 'square', 'diamond', 'cross', 'star', 'wye', 'times'] as const;
const DASHES = ['', '7 3', '2 3', '9 3 2 3', '12 4', '1 4', '5 2 1 2', '3 6'] as const;

const BASE = {
  light: {
    ink: '#22262b',
    soft: '#5a626c',
    line: '#e3dfd6',
    paper: '#ffffff',
    main: '#0072B2',
    warn: '#D55E00',
  },
  dark: {
    ink: '#e8e5df',
    soft: '#a9adb3',
    line: '#3a3f46',
    paper: '#22252a',
    main: '#56B4E9',
    warn: '#E69F00',
  },
  print: {
    ink: '#000000',
    soft: '#444444',
    line: '#cccccc',
    paper: '#ffffff',
    main: '#000000',
    warn: '#D55E00',
  },
} as const;

export function inksOf(theme: ChartTheme): Inks {
  const base = BASE[theme];
  const hues = theme === 'dark' ? IN_THE_DARK : ON_PAPER;
  const series = hues.map((colour, at) => ({
    colour: colour === 'ink' ? base.ink : colour,
    symbol: SYMBOLS[at]!,
    dash: DASHES[at]!,
  }));
  return { ...base, series };
}

/** The look of the series at a place. Past the eighth the shapes and dashes shift, so that no pair repeats. */
export function seriesLook(inks: Inks, at: number): SeriesLook {
  const { series } = inks;
  const first = series[at % series.length]!;
  const shifted = series[(at + Math.floor(at / series.length)) % series.length]!;
  return { colour: first.colour, symbol: shifted.symbol, dash: shifted.dash };
}
