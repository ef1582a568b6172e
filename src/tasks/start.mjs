// `npm start`: install if need be, build, serve on this machine only, open the browser.
import { install, ROOT } from './install.mjs';

install({ everything: false });
const { build, preview } = await import('vite');
const configFile = `${ROOT}/vite.config.ts`;
await build({ configFile, logLevel: 'warn' });
const open = !process.env.CI && process.env.BROWSER !== 'none';
// Where the port is taken the next free one is used.
const server = await preview({ configFile, preview: { host: '127.0.0.1', port: 4173, open } });
console.log('\nGrowout is open on the demo herd (invented horses) at:');
server.printUrls();
console.log('Everything stays on this machine. Stop with Ctrl+C.');
