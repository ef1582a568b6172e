export { type SqlToken, sqlTokens } from '../core/sql-tokens.ts';
