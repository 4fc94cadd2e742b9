// Package api is the public contract of tagd: the JSON that goes over the wire under /api/v1, the
// OpenAPI 3.1 document that describes it (openapi.json), and a small client.
//
// # Conventions
//
//   - A number of a thing (bundle, lot, load, place, person) is written as people see it,
//     "1-001-00000042-05". Requests may also give its 14 bare digits.
//   - A length is given twice: in millimetres as a number (length_mm) and as the plant writes it
//     (length: 11'-6"). In requests it is text with its unit, so that nothing is guessed.
//   - A weight is given twice likewise: in kilograms (weight_kg) and as text (weight). It is nominal,
//     from the tables of the bar's standard, unless it says otherwise.
//   - A time is RFC 3339 in UTC. A day is 2026-11-25 in the plant's time zone.
//   - A list comes in pages: at most limit things (100 unless asked, 1,000 at most), and next, to be
//     given back as after for the following page. No next is the end. Where a list is filtered, a page
//     may hold fewer things than limit, or none, and still have a next.
//   - Every error is a problem (RFC 9457, application/problem+json): see Problem. A scan that was
//     refused is no error but an answer, with status 200.
//   - A request that changes something may carry a key, in the body or as the header
//     Idempotency-Key: the same request sent again under it counts once and gets the first receipt.
//     Another request under a used key is a problem with the code key-reused.
package api
