package pages_test

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/tags"
)

// A form that cannot be read is a fault of what was sent, at each page that takes forms.
func TestABrokenForm(t *testing.T) {
	b, _ := open(t)
	load, err := tags.New(tags.Load, 1, 1)
	require.NoError(t, err)
	for _, path := range []string{
		"/bundle/1-001-00000001-31/undo", "/stock/count", "/loads", "/loads/" + load.String() + "/move", "/loads/plan", "/loads/" + load.String() + "/weigh", "/claims/1/answer",
		"/open/1/resolve", "/station/S1/runs", "/holds", "/holds/lift",
	} {
		r := httptest.NewRequest(http.MethodPost, path, strings.NewReader("key=%zz"))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		require.Equal(t, http.StatusBadRequest, b.do(r), "%s: %s", path, b.page)
		b.sees("The form cannot be read")
	}
}
