package pages

import "tagd/internal/scan"

// words are the texts of the pages, English first, then Spanish.
var words = map[string][2]string{
	"accepted":     {"Accepted", "Aceptado"},
	"check":        {"Check", "Atención"},
	"refused":      {"Refused", "Alto: no aceptado"},
	"ready":        {"Ready", "Listo"},
	"scan":         {"Scan", "Escanee"},
	"any number":   {"any number", "cualquier número"},
	"enter":        {"Enter", "Entrar"},
	"pieces":       {"Pieces", "Piezas"},
	"length":       {"Length", "Largo"},
	"size, grade":  {"Size, grade", "Calibre, grado"},
	"mark":         {"Mark", "Marca"},
	"job":          {"Job", "Obra"},
	"list":         {"List", "Lista"},
	"bundle":       {"Bundle", "Atado"},
	"heat":         {"Heat", "Colada"},
	"heats":        {"Heats", "Coladas"},
	"bring":        {"Bring", "Traiga"},
	"bars":         {"bars", "barras"},
	"keep":         {"keep", "guardar"},
	"scrap":        {"scrap", "chatarra"},
	"stock bar":    {"stock bar", "barra de"},
	"on the feeds": {"On the feeds", "En los alimentadores"},
	"nothing":      {"nothing", "nada"},
	"feed":         {"Feed", "Alimentador"},
	"pocket":       {"Pocket", "Casilla"},
	"coil":         {"coil", "rollo"},
	"gauge":        {"Gauge", "Tope"},
	"out":          {"out", "hacia afuera"},
	"first stop":   {"shorter than the first stop", "más corto que el primer tope"},
	"too far":      {"farther than the table moves", "más de lo que se mueve la mesa"},
	"count":        {"Pieces, if not all", "Piezas, si no son todas"},
	"empty":        {"Take off the feed", "Quitar del alimentador"},
	"unload":       {"Unload", "Descargar"},
	"ship":         {"The load leaves", "La carga sale"},
	"gone":         {"The truck has gone already", "El camión ya salió"},
	"why":          {"Reason, where one is asked for", "Motivo, si se pide"},
	"show":         {"Only show", "Solo mostrar"},
	"place":        {"Place", "Lugar"},
	"search":       {"Search", "Buscar"},
	"search what":  {"number, heat, mark, list, job, cert", "número, colada, marca, lista, obra, certificado"},
	"stations":     {"Stations", "Estaciones"},
	"load":         {"Load", "Carga"},
	"loads":        {"Loads", "Cargas"},
	"weight":       {"Weight", "Peso"},
	"limit":        {"Limit", "Límite"},
	"on":           {"On the truck", "En el camión"},
	"where":        {"Where", "Dónde"},
	"certainty":    {"Certainty", "Certeza"},
	"certain":      {"certain", "segura"},
	"one of":       {"one of", "una de"},
	"declared":     {"declared", "declarada"},
	"unknown":      {"unknown", "desconocida"},
	"held":         {"held", "retenido"},
	"stock":        {"Stock", "Material"},
	"on hand":      {"On hand", "Existencia"},
	"received":     {"Received", "Recibido"},
	"mill":         {"Mill", "Acería"},
	"certs":        {"Mill certs", "Certificados"},
	"none":         {"none", "ninguno"},
	"no cert":      {"no cert on file", "sin certificado"},
	"found":        {"Found", "Encontrado"},
	"not found":    {"Nothing here goes by that name.", "Nada aquí se llama así."},
	"shape":        {"Shape", "Forma"},
	"history":      {"History", "Historia"},
	"route":        {"Route", "Ruta"},
	"correct it":   {"Correct it", "Corregir"},
	"own route":    {"Set its route", "Fijar su ruta"},
	"steps":        {"Steps, with commas between them", "Pasos, separados por comas"},
	"reason":       {"Reason", "Motivo"},
	"undo":         {"Undo the newest progress", "Deshacer el último avance"},
	"void":         {"Void it: it is not made", "Anularlo: no se hace"},
	"from":         {"from", "de"},
	"open banner":  {"This server is open to the network and nobody signs on: whoever reaches it can record.", "Este servidor está abierto a la red y nadie se identifica: quien llegue a él puede registrar."},
	"caution": {"Cautions: shears, benders and hoisted bundles maim and kill. Follow the machine's rules, lock out before reaching in, keep from under loads. tagd informs; it controls no machine.",
		"Precaución: cizallas, dobladoras y atados izados hieren y matan. Siga las reglas de la máquina, bloquéela antes de meter la mano, no pase bajo cargas. tagd informa; no controla ninguna máquina."},
	"step": {"Next step", "Paso siguiente"},
	"done": {"all done", "todo hecho"},
	"run":  {"Run", "Corrida"},

	"cut": {"cut", "cortar"}, "bend": {"bend", "doblar"}, "cut and bend": {"cut and bend", "cortar y doblar"}, "saw": {"saw", "aserrar"},
	"thread": {"thread", "roscar"}, "head": {"head", "cabecear"}, "coat": {"coat", "recubrir"}, "tie": {"tie", "amarrar"},
}

// word is a text of the pages in a language; one that is not in the table stays as it is.
func word(lang scan.Lang, key string) string {
	w, ok := words[key]
	switch {
	case !ok:
		return key
	case lang == scan.Spanish:
		return w[1]
	}
	return w[0]
}
