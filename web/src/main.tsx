// The page starts: settings, address, first view.
import { render } from 'preact';
import { startBusy } from './state/busy';
import { startDrafts } from './state/drafts';
import { startJob } from './state/job';
import { startLine } from './state/line';
import { startRoute } from './state/route';
import { startScreen } from './state/screen';
import { startSettings } from './state/settings';
import { App } from './views/app';
import { startJumps } from './views/keypad';

startSettings();
startDrafts();
startScreen();
startBusy();
startLine();
startJob();
startRoute();
startJumps();
render(<App />, document.getElementById('page')!);
