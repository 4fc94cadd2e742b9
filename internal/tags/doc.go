// Package tags knows the numbers that things carry, the texts that their tags hold, and what a
// scanner types when it reads a tag, ours or a mill's.
//
// # Numbers
//
// A number is 14 digits, K PPP NNNNNNNN CC:
//
//	K         kind: 1 bundle, 2 stock lot or remnant, 3 assembly, 4 load, 5 place, 6 person
//	PPP       plant, 001 to 999
//	NNNNNNNN  serial within kind and plant, 00000001 to 99999999
//	CC        check digits, 02 to 98, by ISO/IEC 7064 MOD 97-10 over the twelve digits before
//
// The check digits are 98 less the remainder by 97 of the twelve digits followed by 00; a number is
// right when its 14 digits leave the remainder 1. One wrong digit is always found, and so are two
// digits that changed places. People see the digits as 1-001-00000042-05; Code 128 carries them bare.
//
// # QR text
//
// The QR code of a tag holds a URL that says everything without a network:
//
//	HTTPS:// HOST /T/ NUMBER [/C copy] [/J job] [/L list] [/M mark] [/S size] [/N count] {/H heat}
//
// NUMBER is the 14 digits. HOST is a host name or IPv4 address in capitals, with :PORT where there
// is one. The fields stand in this order, each at most once but for H, of which there is one a heat.
// Empty fields are left out. Which fields are legal depends on the kind of number:
//
//	bundle, assembly     C J L M S N H
//	stock                C S N H
//	load, place, person  C
//
// Copy (1 to 9999) and count (1 to 999999) are digits without leading zeros. The other values are
// printable text of 1 to 64 bytes of UTF-8, of which the characters 0-9 A-Z $ * + - . : stand for
// themselves and every other byte is written %XX with capital digits, so a small letter too. So the
// text uses only the 45 characters of QR's alphanumeric mode, is a URL, and is at most 1000
// characters long. At most 40 heats are named.
//
// Parse accepts exactly what Format prints: every accepted text is printed back byte for byte.
//
// An example: copy 2 of bundle 1-001-00000042-05, job 24-118, bar list 3, mark B1204, forty #5 bars
// of the heats H12345 and 01E5:
//
//	HTTPS://TAGS.EXAMPLE/T/10010000004205/C2/J24-118/L3/MB1204/S%235/N40/HH12345/H01E5
//
// # What a scanner types
//
// Read takes a scan apart: the symbology identifier of ISO/IEC 15424 in front (]C0, ]Q1), our
// number, our QR text, a mill's data by ISO/IEC 15434 and ANSI MH10.8.2, or plain text. A Reader also
// has patterns, for the mills of a plant that follow no standard. Where a keyboard layout has spoiled
// punctuation or case, exactly one valid number in the text still counts.
package tags
