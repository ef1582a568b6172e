/**
 * Where the herd's own tables stand: a database in memory that the engine may compress; pages keep theirs in databases
 * beside it.
 */
export const HERD_CATALOG = 'herd_record';
export const HERD = `${HERD_CATALOG}.main`;

/** One row a foot a visit as kept; `foot_visit_all` and `visit_row` are views of it. */
export const FOOT_ROW = `${HERD}.foot_row`;
/** One row a trim cycle as kept; `trim_cycle_all` is a view of it. */
export const CYCLE_ROW = `${HERD}.cycle_row`;
