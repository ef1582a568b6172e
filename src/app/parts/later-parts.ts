// Parts that the first page can be read without, each loaded when it is wanted.

export const cohortBar = () => import('./cohort-bar.tsx').then(({ CohortBar }) => CohortBar);
export const keepingPanel = () => import('./keeping-panel.tsx').then(({ KeepingPanel }) => KeepingPanel);
export const mappingSheet = () => import('./mapping-sheet.tsx').then(({ MappingSheet }) => MappingSheet);
export const pageHost = () => import('./page-host.tsx').then(({ PageHost }) => PageHost);
export const recordsSheet = () => import('./records-sheet.tsx').then(({ RecordsSheet }) => RecordsSheet);
export const rowsPanel = () => import('./rows-panel.tsx').then(({ RowsPanel }) => RowsPanel);
export const sheetPlace = () => import('./sheet-place.tsx').then(({ SheetPlace }) => SheetPlace);
export const studyQuestion = () => import('./study-question.tsx').then(({ StudyQuestion }) => StudyQuestion);
