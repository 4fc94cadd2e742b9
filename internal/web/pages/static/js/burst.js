// Was it a scanner or a person who typed?

/** Keys of a scanner follow each other within this; a person is slower. */
export const quick = 40; // ms
/** Fewer keys than this are no scan: the shortest number that is scanned has more. */
const least = 6;

/** A burst of keys: what a scanner types at once. */
export class Burst {
  text = '';
  last = -Infinity;

  /**
   * A character that was typed.
   * @param {string} c
   * @param {number} at in ms
   * @returns {boolean} it begins a burst
   */
  typed(c, at) {
    const begins = at - this.last > quick;
    this.text = begins ? c : this.text + c;
    this.last = at;
    return begins;
  }

  /**
   * A key that ends a scan.
   * @param {number} at in ms
   * @returns {string} the scan; '' when a person typed
   */
  ended(at) {
    const scan = at - this.last <= quick && this.text.length >= least ? this.text : '';
    this.text = '';
    return scan;
  }
}
