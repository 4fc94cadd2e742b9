// The device's own id of a scan: sent again under it, it is the same scan.

/** A UUID of version 7 (RFC 9562), whose order is that of time. randomUUID exists over https only. */
export function newKey(now = Date.now()) {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  for (let i = 0; i < 6; i++) bytes[i] = Math.floor(now / 2 ** (40 - 8 * i)) % 256;
  bytes[6] = (/** @type {number} */ (bytes[6]) & 0x0f) | 0x70;
  bytes[8] = (/** @type {number} */ (bytes[8]) & 0x3f) | 0x80;
  const hex = [...bytes].map((b) => b.toString(16).padStart(2, '0')).join('');
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, '$1-$2-$3-$4-');
}
