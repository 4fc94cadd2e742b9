// What a scan alone tells, where no server can be asked.

/** @typedef {{ number: string, mark: string, pieces: string, size: string, kind: string }} Told */

/**
 * Reads a tag's QR text, or the bare number of its Code 128.
 * @param {string} code as the scanner typed it
 * @returns {Told} number as it is shown, '' for what is not known; kind is the number's first digit
 */
export function told(code) {
  code = code.replace(/^\][a-z][a-z\d]/i, ''); // the identifier of the symbology (ISO/IEC 15424)
  const qr = /\/T\/(\d{14})((?:\/[^/]+)*)/i.exec(code);
  const digits = qr?.[1] ?? /(?<!\d)\d{14}(?!\d)/.exec(code)?.[0] ?? code.match(/(?<!\d)(\d)-(\d{3})-(\d{8})-(\d\d)(?!\d)/)?.slice(1).join('') ?? '';
  /** @type {Record<string, string>} */
  const fields = {};
  for (const field of (qr?.[2] ?? '').split('/')) {
    try { if (field) fields[field.charAt(0).toUpperCase()] ??= decodeURIComponent(field.slice(1)); } catch { /* spoiled by a keyboard */ }
  }
  return {
    number: digits.replace(/^(.)(...)(.{8})(..)$/, '$1-$2-$3-$4'),
    mark: fields.M ?? '', pieces: fields.N ?? '', size: fields.S ?? '', kind: digits.charAt(0),
  };
}
