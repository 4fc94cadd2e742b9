package rest

import (
	"errors"
	"fmt"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/web"
)

// What the floor says no with, and what a client is told.
func TestProblemOfTheFloor(t *testing.T) {
	for _, tt := range []struct {
		err    error
		status int
		code   string
		field  string
	}{
		{floor.ErrOtherRequest, 422, "key-reused", ""},
		{floor.ErrBusy, 503, "busy", ""},
		{floor.ErrNotRecorded, 503, "busy", ""},
		{floor.ErrStopped, 503, "unhealthy", ""},
		{floor.ErrClosing, 503, "closing", ""},
		{fmt.Errorf("%w: disk", floor.ErrStopped), 503, "unhealthy", ""},
		{&event.Refusal{Field: "bars", Says: "is 0"}, 422, "invalid", "bars"},
		{&floor.RowError{Row: 3, Err: &event.Refusal{Field: "bars", Says: "is 0"}}, 422, "invalid", "[3].bars"},
		{missing("Lot %d is not here.", 1), 404, "not-found", ""},
		{errors.New("a secret of the disk"), 500, "fault", ""},
	} {
		p := web.ProblemOf(problem(tt.err))
		require.Equal(t, []any{tt.status, tt.code}, []any{p.Status, p.Code}, "%v", tt.err)
		require.NotContains(t, p.Detail, "secret")
		if tt.field != "" {
			require.Equal(t, tt.field, p.Errors[0].Location)
		}
	}
}

func TestSnake(t *testing.T) {
	for in, want := range map[string]string{"ShipTo": "ship_to", "SHA256": "sha256", "UUID": "uuid", "PO": "po", "Job": "job", "K": "k"} {
		require.Equal(t, want, snake(in))
	}
}

// A key comes back as it was given, whatever it was stored as.
func TestKeyText(t *testing.T) {
	u := uuid.MustParse("0190a6e0-0000-7000-8000-000000000001")
	require.Equal(t, u.String(), keyText(u[:]))
	for _, k := range []string{"", "k1", "sixteen letters!", "clé", "a longer key than a UUID would be"} {
		require.Equal(t, k, keyText([]byte(k)))
	}
}
