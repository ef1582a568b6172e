import { audit } from './audit.ts';

process.exitCode = await audit(process.argv.slice(2), console.log, console.error);
