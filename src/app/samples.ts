import demoHorses from '../../data/demo-horses.csv?url';
import demoVisits from '../../data/demo-visits.csv?url';
import firstHorses from '../../data/learning/first-horses.parquet?url';
import firstVisits from '../../data/learning/first-visits.parquet?url';
import secondHorses from '../../data/learning/second-horses.parquet?url';
import secondVisits from '../../data/learning/second-visits.parquet?url';

/** A herd that comes with the program. */
export interface Sample {
  /** As the head of the page names it. */
  readonly title: string;
  files(): Promise<readonly File[]>;
}

/** The sample that stands in for records of one's own. */
export const DEMO = 'demo';

const sample = (title: string, files: Readonly<Record<string, string>>): Sample => ({
  title,
  files: () => Promise.all(Object.entries(files).map(([name, address]) => fetchedFile(address, name))),
});

/** Invented herds by name: none is evidence about horses. */
export const SAMPLES: Readonly<Record<string, Sample>> = {
  [DEMO]: sample('Demo herd (invented horses)', {
    'demo-visits.csv': demoVisits,
    'demo-horses.csv': demoHorses,
  }),
  'learning-first': sample('First learning herd (invented horses)', {
    'first-visits.parquet': firstVisits,
    'first-horses.parquet': firstHorses,
  }),
  'learning-second': sample('Second learning herd (invented horses)', {
    'second-visits.parquet': secondVisits,
    'second-horses.parquet': secondHorses,
  }),
};

/** A file of our own origin, as if the user had chosen it. */
async function fetchedFile(address: string, name: string): Promise<File> {
  const response = await fetch(address);
  if (!response.ok) throw new Error(`${name} could not be opened (${response.status}): load this page again`);
  return new File([await response.blob()], name);
}
