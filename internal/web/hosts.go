package web

import (
	"net"
	"net/netip"
	"strings"

	"github.com/labstack/echo/v4"
)

// hosts is the allow-list of the names that a request may be addressed to.
type hosts struct {
	names map[string]bool
	open  bool
}

func newHosts(names []string, open bool) hosts {
	h := hosts{map[string]bool{"localhost": true}, open}
	for _, n := range names {
		h.names[hostName(n)] = true
	}
	return h
}

// allow says whether the server answers to the Host of a request. An IP address cannot be rebound:
// the page that names it came from it, so with open any is allowed; 0.0.0.0 is none.
func (h hosts) allow(host string) bool {
	name := hostName(host)
	if h.names[name] {
		return name != ""
	}
	ip, err := netip.ParseAddr(name)
	if err != nil {
		return false
	}
	ip = ip.Unmap()
	return ip.IsLoopback() || h.open && !ip.IsUnspecified()
}

// hostName is a host without its port, in lower case, without brackets or the dot of the root.
func hostName(host string) string {
	if name, _, err := net.SplitHostPort(host); err == nil {
		host = name
	}
	host = strings.TrimSuffix(strings.TrimPrefix(host, "["), "]")
	return strings.ToLower(strings.TrimSuffix(host, "."))
}

func (s *Server) checkHost(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		if host := c.Request().Host; !s.hosts.allow(host) {
			return Refuse("wrong-host", "This server does not answer to the name "+short(host)+".",
				"Open the address that the server printed at its start, or add the name to the hosts of the plant's settings.")
		}
		return next(c)
	}
}

// short is what a client wrote, quoted and bounded for a sentence.
func short(s string) string {
	const most = 80
	if r := []rune(s); len(r) > most {
		s = string(r[:most]) + "…"
	}
	return "“" + strings.ToValidUTF8(s, "�") + "”"
}
