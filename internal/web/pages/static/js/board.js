// The board: its figures stay live, and so does its clock.

import { follow, refresh } from './live.js';
import { showTime } from './clock.js';

follow();
setInterval(showTime, 5_000);
setInterval(() => void refresh(), 60_000); // an hour begins, and a truck is late, when nothing happens too
