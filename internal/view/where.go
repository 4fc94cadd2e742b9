package view

import (
	"fmt"

	"tagd/internal/scan"
)

// Where says in English where a bundle is.
func Where(p *Past, b scan.Bundle, l *scan.Line) string { return Lies(p, b, l).English }

// Lies says in words where a bundle is: "cut done, S1", "on load ...", "left on load ...".
func Lies(p *Past, b scan.Bundle, l *scan.Line) Say {
	say := func(english, spanish string, args ...any) Say {
		return Say{fmt.Sprintf(english, args...), fmt.Sprintf(spanish, args...)}
	}
	place := Say{}
	if name, ok := p.Place(b.Place); ok {
		place = say(", %s", ", %s", name)
	}
	at := say("%s", "%s", b.Station)
	if b.Pocket != "" {
		at = say("%s pocket %s", "%s casilla %s", b.Station, b.Pocket)
	}
	// Where nobody put it down since, it is at the station that worked on it last.
	last := place
	if last.English == "" {
		last = Say{", " + at.English, ", " + at.Spanish}
	}
	step := scan.Step(b.Next(l))
	switch {
	case b.Into() != 0:
		return say("merged into %v", "amarrado en %v", b.Into())
	case b.Voided && b.Lost() > 0:
		return Say{"all lost", "todo perdido"}
	case b.Voided:
		return Say{"voided", "anulado"}
	case b.Shipped:
		return sent(p, b)
	case b.Load != 0:
		return say("on load %v", "en la carga %v", b.Load)
	case b.Started:
		return Say{string(step) + " started, " + at.English, step.Spanish() + ": empezado, " + at.Spanish}
	case b.Staged() != 0:
		return Say{fmt.Sprintf("staged for load %v", b.Staged()) + place.English, fmt.Sprintf("preparado para la carga %v", b.Staged()) + place.Spanish}
	case b.Made > 0:
		return Say{fmt.Sprintf("%s part done, %d of %d", step, b.Made, b.Pieces) + last.English, fmt.Sprintf("%s: en parte, %d de %d", step.Spanish(), b.Made, b.Pieces) + last.Spanish}
	case b.Done > 0:
		done := scan.Step(b.Steps(l)[b.Done-1])
		return Say{string(done) + " done" + last.English, done.Spanish() + ": hecho" + last.Spanish}
	}
	if step == "" && len(b.Runs) > 0 {
		return Say{"ready" + place.English, "listo" + place.Spanish}
	}
	return Say{"not begun" + place.English, "sin empezar" + place.Spanish}
}

// sent says where a bundle went that left.
func sent(p *Past, b scan.Bundle) Say {
	l, _ := p.Load(b.Load)
	if at := p.StopOf(l, b); at >= 0 && at < len(l.Stops) {
		switch s := l.Stops[at]; {
		case s.Processor != "":
			return Say{fmt.Sprintf("away at %s, load %v", s.Processor, b.Load), fmt.Sprintf("con %s, carga %v", s.Processor, b.Load)}
		case s.Delivered != 0:
			return Say{fmt.Sprintf("delivered, load %v", b.Load), fmt.Sprintf("entregado, carga %v", b.Load)}
		}
	}
	return Say{fmt.Sprintf("left on load %v", b.Load), fmt.Sprintf("salió en la carga %v", b.Load)}
}
