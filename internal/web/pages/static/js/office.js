// What a page of the office does beside what it shows: what is live in it stays so.

import { follow } from './live.js';

follow();
