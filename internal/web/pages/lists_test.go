package pages_test

import (
	"html"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// sendList sends the form of a new file.
func (b *browser) sendList(name, text string, fields ...string) int {
	return b.postFile("/lists", name, text, fields...)
}

var hidden = regexp.MustCompile(`type="hidden" name="(\w+)" value="([^"]*)"`)

// onward is the form with which the page of a looked at file goes on.
func (b *browser) onward(fields ...string) []string {
	_, form, _ := strings.Cut(b.page, `action="/lists"`)
	form, _, _ = strings.Cut(form, "</form>")
	for _, m := range hidden.FindAllStringSubmatch(form, -1) {
		fields = append(fields, m[1], html.UnescapeString(m[2]))
	}
	return fields
}

func TestListsWithoutScript(t *testing.T) {
	b, _ := open(t)
	require.Equal(t, 200, b.get("/"))
	b.sees(`href="/lists"`)
	require.Equal(t, 200, b.get("/lists"))
	require.Equal(t, 200, b.sendList("", "", "job", "26-014"))
	b.sees("Refused", "choose the bar list")

	require.Equal(t, 200, b.sendList("bad.csv", "mark,size,length,pieces\nA,#5,12',4\nB,10,12',x\n", "job", "26-014", "list", "1"))
	b.sees("faults: nothing would be taken", "write which", "size: ", `<tr class="fault">`, "Mend the file", "Download the faults")
	require.NotContains(t, b.page, "is no number of a badge")
	require.NotContains(t, b.page, `value="take"`)
	require.Equal(t, 200, b.postFile("/lists/faults", "", "", b.onward()...))
	b.sees("row,column,it is,what is said\r\n", "3,size,fault,", "3,pieces,fault,")
	require.Equal(t, 200, b.get("/lists?job=26-014"))
	b.sees(`name="job" size="31" value="26-014"`)

	const first = "mark,size,spec,grade,length,pieces\n<A>,#5,A615,60,12',4\nB,#5,A615,60,10',6\n"
	require.Equal(t, 200, b.sendList("first.csv", first, "job", "26-014", "list", "1"))
	b.sees("&lt;A&gt;", "12′-0″", "Take the list: 2 rows", "113 <span") // 4 x 12 ft and 6 x 10 ft at 1.043 lb/ft (ASTM A615 Table 1)
	take := b.onward("do", "take")
	require.Equal(t, 200, b.sendList("", "", append(take, "badge", "12")...))
	b.sees("is no number of a badge")
	require.Equal(t, 200, b.sendList("", "", take...))
	b.sees("Accepted", "2 lines, 2 bundles", "New job", "first.csv", `href="/tags?job=26-014&amp;list=1"`)
	require.Equal(t, 200, b.sendList("", "", take...))
	b.sees("2 lines, 2 bundles")

	// The first is cut, and then the list is revised.
	const bundle = "1-001-00000001-31"
	require.Equal(t, 200, b.get("/at/S1"))
	require.Equal(t, 200, b.scan("S1", bundle, "pieces", "4"))
	const second = "mark,size,spec,grade,length,pieces\n<A>,#5,A615,60,13',4\nC,#5,A615,60,10',6\n"
	require.Equal(t, 200, b.sendList("second.csv", second, "job", "26-014", "list", "1"))
	b.sees("Refused", "name the revision of this one")
	look := b.onward("do", "look", "revision", "A")
	require.Equal(t, 200, b.sendList("", "", look...))
	b.sees("changed", "<del>12′-0″</del> <ins>13′-0″</ins>", "1 cut (4)", "added", "withdrawn", "1 not begun (6)", "1 bundle is still to be decided about",
		`type="radio" name="decide-`+bundle+`" value="`+bundle+`=scrap">`, "make a job that is the shop&#39;s own stock", "<del>113</del> 117", `id="show-act" checked`)
	require.Equal(t, 200, b.sendList("", "", b.onward("do", "take", "revision", "A", "decide", "")...))
	b.sees("Refused", "say what becomes of bundles that are begun", bundle)
	b.lang = "es"
	require.Equal(t, 200, b.sendList("", "", b.onward("do", "look", "revision", "A", "decide-"+bundle, bundle+"=scrap", "show", "all")...))
	b.sees("cambiada", "1 cortado (4)", `=scrap" checked`, "está hecho según lo que la lista decía antes", `id="show-all" checked`)
	require.Equal(t, 200, b.sendList("", "", b.onward("do", "look", "revision", "A", "decide", "all=deliver")...))
	b.sees(`=deliver" checked`)
	b.lang = "en"
	require.Equal(t, 200, b.sendList("", "", b.onward("do", "take", "revision", "A", "reason", "drawing 7", "decide", bundle+"=scrap")...))
	b.sees("Accepted", "2 lines, 2 bundles")
	require.Equal(t, 200, b.get("/bundle/"+bundle))
	b.sees("Decided after the revision: scrap", "pieces lost")
	require.Equal(t, 200, b.get("/at/S1"))
	require.Equal(t, 200, b.scan("S1", "1-001-00000002-28"))
	b.sees("list 1 was revised, and asks for no more of these")
	require.Equal(t, 200, b.sendList("second.csv", second, "job", "26-014", "list", "1"))
	b.sees("Take the list: 2 rows")
}
