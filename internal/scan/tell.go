package scan

import (
	"fmt"
	"reflect"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/tags"
)

// Tell says what happened in an event, as the history of a thing shows it: one sentence, in which {Field}
// is what the event's body says there, and what stands in [ ] is left out where its fields are empty. Who,
// when and where stand beside it.
func Tell(e event.Event, lang Lang, u bar.Units) string {
	t, ok := tellings[e.Body.Kind()]
	if !ok {
		return e.Body.Kind().String()
	}
	text := t[0]
	if lang == Spanish {
		text = t[1]
	}
	return telling{reflect.ValueOf(e.Body), lang, u}.fill(text)
}

// tellings are the sentences of all kinds, in English and Spanish.
var tellings = map[event.Kind][2]string{
	1:  {"The store was opened for plant {Plant}.", "Se abrió el registro de la planta {Plant}."},
	2:  {"The settings changed.", "Cambió la configuración."},
	3:  {"The store came back from a backup.", "El registro volvió de un respaldo."},
	10: {"Job {Job} was set[: {Name}].", "Se fijó la obra {Job}[: {Name}]."},
	11: {"Taken from bar list {Job} / {List}: {Mark}, {Pieces} pieces of {Length}, {Steel}.", "Tomado de la lista {Job} / {List}: {Mark}, {Pieces} piezas de {Length}, {Steel}."},
	12: {"Bar list {Job} / {List} was taken: {Lines} lines[, revision {Revision}].", "Se tomó la lista {Job} / {List}: {Lines} renglones[, revisión {Revision}]."},
	13: {"The bar list was revised: {Taken}.", "Se revisó la lista: {Taken}."},
	14: {"The line was withdrawn[ by revision {Revision}][: {Reason}].", "Se retiró el renglón[ por la revisión {Revision}][: {Reason}]."},
	15: {"Decided after the revision: {Fate}[: {Reason}].", "Decidido tras la revisión: {Fate}[: {Reason}]."},
	20: {"Received as lot {Lot}: {Bars} bars of {Length}, {Steel}, {Mill}[, heat {Heats}].", "Recibido como lote {Lot}: {Bars} barras de {Length}, {Steel}, {Mill}[, colada {Heats}]."},
	21: {"The heats of lot {Lot} were corrected: {Mill}[ {Heats}]: {Reason}.", "Se corrigieron las coladas del lote {Lot}: {Mill}[ {Heats}]: {Reason}."},
	22: {"A cert of {Mill} {Heat} was filed[: {Text}].", "Se archivó un certificado de {Mill} {Heat}[: {Text}]."},
	23: {"The cert of record {Cert} was reviewed[: {Note}].", "Se revisó el certificado del registro {Cert}[: {Note}]."},
	24: {"{Text} stands for {Number}.", "{Text} equivale a {Number}."},
	25: {"Received as lot {Lot}: {Mass} of coil, {Steel}[, {Mill}][, heat {Heats}].", "Recibido como lote {Lot}: {Mass} de rollo, {Steel}[, {Mill}][, colada {Heats}]."},
	26: {"Lot {Lot} is expected: {Steel}, {Mill}[, heat {Heats}][, {Bars} bars of {Length}][, {Mass}][, on {Date}].", "Se espera el lote {Lot}: {Steel}, {Mill}[, colada {Heats}][, {Bars} barras de {Length}][, {Mass}][, el {Date}]."},
	27: {"Lot {Lot} came[: {Bars} bars][: {Mass}][ at {Place}].", "Llegó el lote {Lot}[: {Bars} barras][: {Mass}][ en {Place}]."},
	28: {"Lot {Lot} was counted[: {Bars} bars][, the record had {Record}][: {Mass}].", "Se contó el lote {Lot}[: {Bars} barras][, el registro tenía {Record}][: {Mass}]."},
	30: {"Lot {Lot} was laid on feed {Feed} of {Station}.", "Se puso el lote {Lot} en el alimentador {Feed} de {Station}."},
	31: {"Feed {Feed} of {Station} was emptied[ of lot {Lot}].", "Se vació el alimentador {Feed} de {Station}[ del lote {Lot}]."},
	32: {"A charge at {Station} was mended[, lot {Lot}]: {Reason}.", "Se corrigió una carga de alimentador en {Station}[, lote {Lot}]: {Reason}."},
	40: {"Cutting started at {Station}[, into pocket {Pocket}][, from {Lots}].", "Empezó el corte en {Station}[, a la casilla {Pocket}][, de {Lots}]."},
	41: {"Cutting started in run {Run}[, into pocket {Pocket}][, from {Lots}].", "Empezó el corte en la corrida {Run}[, a la casilla {Pocket}][, de {Lots}]."},
	42: {"Its card was shown at {Station}.", "Se mostró su tarjeta en {Station}."},
	43: {"{Bundle}: {Pieces} pieces cut, of {Asked}[; the other {Owed} are {Rest}][; the run closed: {Closed}].", "{Bundle}: {Pieces} piezas cortadas, de {Asked}[; las otras {Owed} son {Rest}][; se cerró la corrida: {Closed}]."},
	44: {"{Step} started at {Station}.", "Empezó {Step} en {Station}."},
	45: {"{Step} done at {Station}: {Pieces} pieces.", "Se hizo {Step} en {Station}: {Pieces} piezas."},
	46: {"{Bundle}: {Pieces} pieces cut from coil, of {Asked}[; the other {Owed} are {Rest}]: {Closed}.", "{Bundle}: {Pieces} piezas cortadas de rollo, de {Asked}[; las otras {Owed} son {Rest}]: {Closed}."},
	48: {"{Bundle}: {Step} part done at {Station}[: {Pieces} pieces more][; the run closed: {Closed}].", "{Bundle}: {Step} en parte en {Station}[: {Pieces} piezas más][; se cerró la corrida: {Closed}]."},
	49: {"{Bundle}: {Pieces} pieces lost ({Why})[: {Note}][; {Rest} replaces {Owed}].", "{Bundle}: {Pieces} piezas perdidas ({Why})[: {Note}][; {Rest} repone {Owed}]."},
	50: {"{Bundle} was voided: {Reason}.", "{Bundle} fue anulado: {Reason}."},
	51: {"Copy {Copy} of the tag was printed.", "Se imprimió la copia {Copy} de la etiqueta."},
	52: {"Record {Seq} was taken back: {Reason}[; the run closed: {Closed}].", "Se deshizo el registro {Seq}: {Reason}[; se cerró la corrida: {Closed}]."},
	53: {"{Bundle} was split[ into {Into}][: {Reason}].", "{Bundle} se dividió[ en {Into}][: {Reason}]."},
	54: {"{From} were tied into {Into}, which has {Pieces} pieces[: {Reason}].", "{From} se amarraron en {Into}, que tiene {Pieces} piezas[: {Reason}]."},
	55: {"{Bundle} is bars as they came: {Closed}.", "{Bundle} son barras como llegaron: {Closed}."},
	56: {"{Bundle} was given to line {Line}[, in place of {Instead}]: {Reason}.", "{Bundle} se pasó al renglón {Line}[, en lugar de {Instead}]: {Reason}."},
	57: {"{Bundle} got the route {Route}[: {Reason}].", "{Bundle} recibió la ruta {Route}[: {Reason}]."},
	58: {"The tag was reported lost, up to copy {Copy}[: {Reason}].", "La etiqueta se reportó perdida, hasta la copia {Copy}[: {Reason}]."},
	59: {"{Bundle} was bought ready made: {Mill} {Heats} by {Paper}, lot {Lot}.", "{Bundle} se compró hecho: {Mill} {Heats} según {Paper}, lote {Lot}."},
	60: {"Place {Name} was made.", "Se creó el lugar {Name}."},
	61: {"Badge {Person} was made.", "Se creó el gafete {Person}."},
	62: {"Place {Place} was opened.", "Se abrió el lugar {Place}."},
	63: {"{Number} was put down at {Place}.", "{Number} se dejó en {Place}."},
	64: {"{Person} joined the crew of {Station}.", "{Person} entró a la cuadrilla de {Station}."},
	65: {"{Person} left the crew of {Station}.", "{Person} salió de la cuadrilla de {Station}."},
	70: {"Load {Load} was planned[ for {Date}][ on {Truck}].", "Se planeó la carga {Load}[ para {Date}][ en {Truck}]."},
	71: {"Load {Load} was opened.", "Se abrió la carga {Load}."},
	72: {"{Bundle} went onto load {Load}.", "{Bundle} subió a la carga {Load}."},
	73: {"{Bundle} was taken off load {Load}.", "{Bundle} se bajó de la carga {Load}."},
	74: {"Load {Load} left with {Bundles} bundles.", "La carga {Load} salió con {Bundles} atados."},
	75: {"{Bundle} was staged for load {Load}[ at {Place}].", "{Bundle} se preparó para la carga {Load}[ en {Place}]."},
	76: {"Load {Load} was planned[ for {Date}][ {Leaves}][ on {Truck}][, trailer {Trailer}].", "Se planeó la carga {Load}[ para {Date}][ {Leaves}][ en {Truck}][, remolque {Trailer}]."},
	77: {"Load {Load} was weighed: {Gross} gross, {Tare} tare[, ticket {Ticket}].", "Se pesó la carga {Load}: {Gross} bruto, {Tare} tara[, boleto {Ticket}]."},
	78: {"Load {Load} was handed over on {Date}[, stop {Stop}][; signed {Signed}].", "La carga {Load} se entregó el {Date}[, parada {Stop}][; firmó {Signed}]."},
	79: {"{Bundle}: {Pieces} pieces came back from load {Load}[ as {Part}][ to {Place}]: {Reason}.", "{Bundle}: {Pieces} piezas volvieron de la carga {Load}[ como {Part}][ a {Place}]: {Reason}."},
	80: {"{Target} was held: {Reason}.", "{Target} se retuvo: {Reason}."},
	81: {"The hold on {Target} was lifted: {Reason}.", "Se levantó la retención de {Target}: {Reason}."},
	82: {"The site claims {Pieces} pieces {What} of load {Load}[, says {Who}][: {Note}].", "La obra reclama {Pieces} piezas {What} de la carga {Load}[, dice {Who}][: {Note}]."},
	83: {"The claim of record {Claim} was answered: {Answer}[: {Reason}][; {Rest} replaces {Owed}].", "Se respondió el reclamo del registro {Claim}: {Answer}[: {Reason}][; {Rest} repone {Owed}]."},
	84: {"{From} came back from load {Load}[, {Step} done][, as {Into}][ to {Place}].", "{From} volvieron de la carga {Load}[, {Step} hecho][, como {Into}][ a {Place}]."},
	90: {"A scan[ of {Number}][ of {Text}] was not taken.", "No se aceptó un escaneo[ de {Number}][ de {Text}]."},
	91: {"A late scan[ of {Number}][ of {Text}] is disputed.", "Un escaneo tardío[ de {Number}][ de {Text}] está en disputa."},
	93: {"A scan[ of {Number}] was noted, and changed nothing.", "Se anotó un escaneo[ de {Number}], sin cambiar nada."},
	92: {"Record {Seq} was settled: {Reason}.", "Se resolvió el registro {Seq}: {Reason}."},
}

// telling fills the sentence of one event.
type telling struct {
	body reflect.Value
	lang Lang
	u    bar.Units
}

func (t telling) fill(text string) string {
	var out strings.Builder
	for {
		open := strings.IndexByte(text, '[')
		if open < 0 {
			said, _ := t.gaps(text)
			out.WriteString(said)
			return out.String()
		}
		end := strings.IndexByte(text, ']')
		said, _ := t.gaps(text[:open])
		out.WriteString(said)
		if said, empty := t.gaps(text[open+1 : end]); !empty {
			out.WriteString(said)
		}
		text = text[end+1:]
	}
}

// gaps fills the gaps of a text, and says whether one of them is empty.
func (t telling) gaps(text string) (said string, empty bool) {
	var out strings.Builder
	for {
		open := strings.IndexByte(text, '{')
		if open < 0 {
			out.WriteString(text)
			return out.String(), empty
		}
		end := strings.IndexByte(text, '}')
		out.WriteString(text[:open])
		v := t.body.FieldByName(text[open+1 : end])
		empty = empty || v.IsZero() || v.Kind() == reflect.Slice && v.Len() == 0
		out.WriteString(t.value(v))
		text = text[end+1:]
	}
}

func (t telling) value(v reflect.Value) string {
	switch x := v.Interface().(type) {
	case tags.Number:
		return x.String()
	case bar.Length:
		return x.Text(t.u)
	case bar.Mass:
		return x.Text(t.u)
	case bar.Steel:
		return x.String()
	case event.Target:
		if x.Number != 0 {
			return x.Number.String()
		}
		return x.Mill + " " + x.Heat
	case event.LineTaken:
		return fmt.Sprintf("%s / %s %s, %d x %s, %s", x.Job, x.List, x.Mark, x.Pieces, x.Length.Text(t.u), x.Steel)
	case event.Part:
		return fmt.Sprintf("%v (%d)", x.Number, x.Pieces)
	case event.BackPart:
		return fmt.Sprintf("%v (%d)", x.Number, x.Pieces)
	case event.RunClosed:
		return t.closed(x)
	case event.CoilClosed:
		return t.coil(x)
	}
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return ""
		}
		return t.value(v.Elem())
	case reflect.Slice:
		var out []string
		for i := range v.Len() {
			out = append(out, t.value(v.Index(i)))
		}
		return strings.Join(out, ", ")
	}
	text := fmt.Sprint(v.Interface())
	if t.lang == Spanish {
		if w, ok := words[text]; ok {
			return w
		}
	}
	return text
}

// closed says what a run drew and left.
func (t telling) closed(c event.RunClosed) string {
	var out []string
	for _, d := range c.Draws {
		out = append(out, fmt.Sprintf("%d x %v", d.Bars, d.Lot))
	}
	for _, r := range c.Remnants {
		out = append(out, t.say("remnant", "sobrante")+fmt.Sprintf(" %v: %d x %s", r.Lot, r.Bars, r.Length.Text(t.u)))
	}
	if c.Scrap != 0 {
		out = append(out, t.say("scrap", "chatarra")+" "+c.Scrap.Text(t.u))
	}
	if c.Missing != 0 {
		out = append(out, t.say("missing", "faltan")+" "+c.Missing.Text(t.u))
	}
	return strings.Join(out, ", ")
}

func (t telling) coil(c event.CoilClosed) string {
	var out []string
	for _, d := range c.Draws {
		out = append(out, fmt.Sprintf("%s %v", d.Mass.Text(t.u), d.Lot))
	}
	if c.Scrap != 0 {
		out = append(out, t.say("scrap", "chatarra")+" "+c.Scrap.Text(t.u))
	}
	if c.Missing != 0 {
		out = append(out, t.say("missing", "faltan")+" "+c.Missing.Text(t.u))
	}
	return strings.Join(out, ", ")
}

func (t telling) say(english, spanish string) string {
	if t.lang == Spanish {
		return spanish
	}
	return english
}
