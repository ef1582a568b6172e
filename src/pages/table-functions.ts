/**
 * Functions of the engine that stand where a table stands. Those that only make or list rows may be used; all others
 * read files or memory, run text as SQL, change how the engine works, or only wait, and a page may come from anyone.
 */
const HARMLESS: ReadonlySet<string> = new Set([
  'range',
  'generate_series',
  'unnest',
  'repeat',
  'histogram',
  'histogram_values',
]);

const REFUSED: ReadonlySet<string> = new Set(
  `arrow_scan arrow_scan_dumb checkpoint delta_scan disable_logging disable_profiling
   duckdb_approx_database_count duckdb_columns duckdb_connection_count duckdb_constraints duckdb_coordinate_systems
   duckdb_databases duckdb_dependencies duckdb_extensions duckdb_external_file_cache duckdb_functions duckdb_indexes
   duckdb_keywords duckdb_log_contexts duckdb_logs duckdb_logs_parsed duckdb_memory duckdb_optimizers
   duckdb_prepared_statements duckdb_profiling_settings duckdb_schemas duckdb_secret_types duckdb_secrets
   duckdb_sequences duckdb_settings duckdb_table_sample duckdb_tables duckdb_temporary_files duckdb_types
   duckdb_variables duckdb_views enable_logging enable_profiling force_checkpoint from_substrait glob iceberg_scan
   json_execute_serialized_sql mysql_query parquet_scan postgres_query pragma_collations pragma_database_size
   pragma_metadata_info pragma_platform pragma_show pragma_storage_info pragma_table_info pragma_user_agent
   pg_sleep pragma_version query query_table read_blob read_csv read_csv_auto read_duckdb read_json read_json_auto
   read_ndjson read_ndjson_auto read_parquet read_text repeat_row seq_scan setseed sleep_ms sniff_csv sqlite_scan summary
   test_all_types test_vector_types truncate_duckdb_logs which_secret write_log`.split(/\s+/),
);

/** Whether a page's SQL may call a function of this name. */
export function mayCall(name: string): boolean {
  const plain = name.toLowerCase();
  if (HARMLESS.has(plain)) return true;
  return (
    !REFUSED.has(plain) && !/^(read|scan|duckdb|pragma|enable|disable|sniff|parquet|copy|write)_/.test(plain)
  );
}
