/** As in package.json; written into study files. */
export const PROGRAM_VERSION = '0.1.0';
