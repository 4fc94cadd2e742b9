// The board: its figures stay live, and so does its clock.

import { follow } from './live.js';
import { showTime } from './clock.js';

follow();
setInterval(showTime, 5_000);
