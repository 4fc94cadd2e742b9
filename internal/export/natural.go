package export

import "strings"

// Natural compares marks as people order them: runs of digits by their value, so that 4F9 comes
// before 4F10, everything else byte by byte. It is 0 for equal texts only: 4F09 and 4F9 differ.
func Natural(a, b string) int {
	x, y := a, b
	for x != "" && y != "" {
		m, n := digits(x), digits(y)
		if m == 0 || n == 0 {
			if x[0] != y[0] {
				return sign(int(x[0]) - int(y[0]))
			}
			x, y = x[1:], y[1:]
			continue
		}
		v, w := strings.TrimLeft(x[:m], "0"), strings.TrimLeft(y[:n], "0")
		if len(v) != len(w) {
			return sign(len(v) - len(w))
		}
		if v != w {
			return strings.Compare(v, w)
		}
		x, y = x[m:], y[n:]
	}
	if x != y { // one of them is at its end
		return sign(len(x) - len(y))
	}
	return strings.Compare(a, b)
}

// digits is how many digits s begins with.
func digits(s string) int {
	n := 0
	for n < len(s) && '0' <= s[n] && s[n] <= '9' {
		n++
	}
	return n
}

func sign(n int) int { return min(1, max(-1, n)) }
