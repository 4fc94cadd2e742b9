package floor

import "tagd/internal/journal"

// Errors of Do that a caller may answer by sending the command again.
var (
	// ErrBusy is a full queue: nothing was recorded; ask again a little later.
	ErrBusy = journal.ErrBusy
	// ErrClosing is a command after Close: nothing was recorded.
	ErrClosing = journal.ErrClosed
)
