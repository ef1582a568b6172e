import { z } from 'zod';

/**
 * Imported before anything else: zod otherwise probes for `Function` as soon as a schema is made, which the
 * content-security policy forbids and reports.
 */
z.config({ jitless: true });
