// Finds a real Chromium for tests and pictures: an installed one, else the one that comes packed in a dependency.
import { existsSync } from 'node:fs';

const INSTALLED = {
  linux: [
    '/usr/bin/chromium',
    '/usr/bin/chromium-browser',
    '/usr/bin/google-chrome',
    '/usr/bin/google-chrome-stable',
    '/snap/bin/chromium',
  ],
  darwin: [
    '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
    '/Applications/Chromium.app/Contents/MacOS/Chromium',
  ],
  win32: [
    'C:\\Program Files\\Google\\Chrome\\Application\\chrome.exe',
    'C:\\Program Files (x86)\\Google\\Chrome\\Application\\chrome.exe',
  ],
};

/** Path of a Chromium. `GROWOUT_CHROMIUM` names one to use; `packed` asks for the packed one. */
export async function chromiumPath() {
  const named = process.env.GROWOUT_CHROMIUM;
  if (named && named !== 'packed') return named;
  const installed = (INSTALLED[process.platform] ?? []).find((path) => existsSync(path));
  if (installed && named !== 'packed') return installed;
  if (process.platform !== 'linux') {
    throw new Error('the browser tests need Chrome or Chromium: install one, or name it in GROWOUT_CHROMIUM');
  }
  // The package unpacks the shared libraries Chromium needs only where it takes the machine for its usual host.
  process.env.CODEBUILD_BUILD_IMAGE ??= 'nodejs20';
  const { default: packed } = await import('@sparticuz/chromium');
  return packed.executablePath();
}

/** Nothing leaves the machine, and nothing that would try is left on. */
export const CHROMIUM_ARGUMENTS = [
  '--no-sandbox',
  '--disable-gpu',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  '--disable-quic',
  '--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost',
];
