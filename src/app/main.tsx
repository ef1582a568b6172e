import './theme.css';
import './app.css';
import './everyone.css';
import './parts/keeping.css';
import type { Stage } from './rpc.ts';
import { openHerdWorker, startHerd } from './worker-client.ts';

// The engine is by far the largest part: it is asked for before anything is drawn.
let tell: (stage: Stage) => void = () => undefined;
let goOn: () => void = () => undefined;
const asked = new Promise<void>((resolve) => {
  goOn = resolve;
});
const herd = openHerdWorker();
const ready = startHerd(herd, (stage) => {
  goOn();
  tell(stage);
});
// A failure is heard by whatever first needs the engine.
ready.then(goOn, goOn);

import('./shell.tsx').then(
  ({ openShell }) => {
    tell = openShell(herd, ready, asked);
  },
  (error: Error) => {
    const told = document.createElement('p');
    told.className = 'warning';
    told.textContent = `This page could not be loaded whole: ${error.message}`;
    document.querySelector('.opening')?.append(told);
  },
);
